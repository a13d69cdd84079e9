"""Forms of a yard's day: what was done of a work, who came by, what was delivered, who was there. Cleaning only."""

from __future__ import annotations

from abc import abstractmethod
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from django import forms

from crews.models import Crew
from jobs.models import DayLog
from jobs.services.day.log_day import Said
from jobs.services.day.photos import Snapshot
from jobs.services.day.yard_log import Note, Present, Received, Visit
from jobs.trade.work import INSPECTION

from .by_hand import MOST_PEOPLE
from .fields import AbstractForm, day_field, offer
from .storm import SAYABLE

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from jobs.models import Activity, Job
    from jobs.services.day.yard_log import Told

MOST = Decimal(1_000_000)
NOTE = 400


class SaidForm(forms.Form):
    """What was done of one work on a day."""

    kind = forms.ChoiceField(choices=DayLog.Kind.choices[:5])
    share = forms.IntegerField(required=False, min_value=0, max_value=100)
    quantity = forms.DecimalField(
        required=False, min_value=0, max_value=MOST, max_digits=12, decimal_places=3
    )
    people = forms.IntegerField(required=False, min_value=1, max_value=MOST_PEOPLE)
    cause = forms.ChoiceField(choices=[("", "no reason given"), *SAYABLE], required=False)
    note = forms.CharField(required=False, max_length=NOTE)
    client = forms.UUIDField()
    on = day_field(required=False)

    def said(self, activity: Activity, crew: Crew | None, now: datetime) -> Said:
        """Return what was said of a work, once it is clean; today's where no day was told."""
        told = self.cleaned_data
        return Said(
            client=told["client"],
            activity=activity,
            day=told["on"] or now.date(),
            kind=told["kind"],
            at=now,
            share=told["share"],
            quantity=told["quantity"],
            crew=crew,
            people=told["people"],
            cause=told["cause"],
            note=told["note"],
        )


class LineForm(forms.Form, metaclass=AbstractForm):
    """What every form of a yard's day has; the uid is minted with it."""

    client = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self,
        job: Job,
        data: Mapping[str, Any] | None = None,
        files: Any = None,
    ) -> None:
        super().__init__(data, files, label_suffix="", prefix=self.kind)
        self.job = job
        self.fields["client"].initial = uuid4()

    kind = ""
    """Word that names it in its address and before its fields."""

    @abstractmethod
    def line(self, day: date, at: datetime) -> Told:
        """Return what was said, once it is clean."""

    def basics(self, day: date, at: datetime) -> dict[str, Any]:
        """Return what every line has."""
        told = self.cleaned_data
        return {
            "client": told["client"],
            "job": self.job,
            "day": day,
            "at": at,
            "note": told.get("note", ""),
        }


class VisitForm(LineForm):
    """Who came by, and what an inspector said."""

    kind = "visit"
    who = forms.CharField(max_length=120, label="Who came by", help_text="name, from where")
    about = forms.ChoiceField(required=False, label="To look at")
    result = forms.ChoiceField(
        required=False, choices=[("", "nothing to pass"), *DayLog.Result.choices], label="And said"
    )
    again_on = day_field(required=False, label="Comes again on")
    note = forms.CharField(required=False, max_length=NOTE, label="In your words")

    def __init__(self, job: Job, *args: Any) -> None:
        super().__init__(job, *args)
        works = job.activities.filter(retired=False, skill=INSPECTION, finished_at=None)
        self.works = {work.uid: work for work in works.order_by("order", "pk")}
        rows = [(uid, work.name) for uid, work in self.works.items()]
        offer(self, "about", [("", "the yard as a whole"), *rows])

    def line(self, day: date, at: datetime) -> Visit:
        """Return what was said, once it is clean."""
        told = self.cleaned_data
        return Visit(
            **self.basics(day, at),
            who=told["who"],
            about=self.works.get(told["about"]),
            result=told["result"],
            again_on=told["again_on"],
        )


class ReceivedForm(LineForm):
    """A delivery came, all of it or short."""

    kind = "received"
    delivery = forms.ChoiceField(label="What came")
    complete = forms.ChoiceField(
        choices=[("all", "all of it"), ("short", "not all of it")], label="How much"
    )
    rest_on = day_field(required=False, label="The rest comes", help_text="if not all of it came")
    note = forms.CharField(required=False, max_length=NOTE, label="What is missing or broken")

    def __init__(self, job: Job, *args: Any) -> None:
        super().__init__(job, *args)
        self.known = {str(row.pk): row for row in job.deliveries.filter(arrived_on=None)}
        offer(self, "delivery", [(pk, row.name) for pk, row in self.known.items()])

    def line(self, day: date, at: datetime) -> Received:
        """Return what was said, once it is clean."""
        told = self.cleaned_data
        return Received(
            **self.basics(day, at),
            delivery=self.known[told["delivery"]],
            complete=told["complete"] == "all",
            rest_on=told["rest_on"],
        )


class PresentForm(LineForm):
    """Which crew was there, with how many."""

    kind = "present"
    crew = forms.ChoiceField(label="Crew")
    people = forms.IntegerField(min_value=1, max_value=MOST_PEOPLE, label="How many people")
    note = forms.CharField(required=False, max_length=NOTE, label="In your words")

    def __init__(self, job: Job, *args: Any) -> None:
        super().__init__(job, *args)
        self.known = {crew.slug: crew for crew in Crew.objects.filter(active=True)}
        offer(self, "crew", [(slug, crew.name) for slug, crew in self.known.items()])

    def line(self, day: date, at: datetime) -> Present:
        """Return what was said, once it is clean."""
        told = self.cleaned_data
        crew = self.known[told["crew"]]
        return Present(**self.basics(day, at), crew=crew, people=told["people"])


class NoteForm(LineForm):
    """Something worth keeping."""

    kind = "note"
    note = forms.CharField(max_length=NOTE, label="Worth keeping")

    def line(self, day: date, at: datetime) -> Note:
        """Return what was said, once it is clean."""
        return Note(**self.basics(day, at))


class PhotoForm(LineForm):
    """A picture, and what it shows."""

    kind = "photo"
    file = forms.FileField(
        label="Picture",
        help_text="JPEG, PNG or WebP",
        max_length=200,
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    about = forms.ChoiceField(required=False, label="Of")
    note = forms.CharField(required=False, max_length=NOTE, label="What it shows")

    def __init__(self, job: Job, *args: Any) -> None:
        super().__init__(job, *args)
        works = job.activities.filter(retired=False).order_by("order", "pk")
        self.works = {work.uid: work for work in works}
        rows = [(uid, work.name) for uid, work in self.works.items()]
        offer(self, "about", [("", "the yard"), *rows])

    def line(self, day: date, at: datetime) -> Snapshot:
        """Return what was said, once it is clean."""
        told = self.cleaned_data
        about = self.works.get(told["about"])
        return Snapshot(**self.basics(day, at), file=told["file"].file, about=about)


FORMS: tuple[type[LineForm], ...] = (PhotoForm, VisitForm, ReceivedForm, PresentForm, NoteForm)
"""In the order in which they stand on the page."""
