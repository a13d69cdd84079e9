"""Forms of the day after: what was lost, who or what is out or late, what was done. Cleaning only."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django import forms

from crews.models import Crew
from jobs import models
from jobs.forms.fields import day_field
from jobs.models.cause import LOSES_TIME
from jobs.services.causes.lose_days import (
    DAY_SLOTS,
    LONGEST,
    MOST_DAYS,
    MOST_RAIN_IN,
    Lost,
)

from .fields import offer

if TYPE_CHECKING:
    from crews.models import CrewMember, Machine
    from jobs.services.storm.ours import Ours

TODAY, TOMORROW, BOTH, RANGE = "today", "tomorrow", "both", "range"
WHEN = (
    (TODAY, "today from now"),
    (TOMORROW, "tomorrow"),
    (BOTH, "today from now and tomorrow"),
    (RANGE, "the days below"),
)
EVENING = (
    (TODAY, "today, the whole day"),
    (TOMORROW, "tomorrow"),
    (BOTH, "all of today and tomorrow"),
    (RANGE, "the days below"),
)
"""The same once the day's work is over: who says in the evening that it rained means the day."""
SAYABLE = [(c.value, c.label) for c in LOSES_TIME if c != models.Cause.DRY_OUT]


class LostForm(forms.Form):
    """What was lost: when, for whom, why."""

    when = forms.ChoiceField(choices=WHEN, initial=BOTH)
    first = day_field(label="From", required=False, help_text="only for the days below")
    last = day_field(label="To", required=False, help_text="empty: one day")
    whom = forms.ChoiceField(label="For whom")
    cause = forms.ChoiceField(choices=SAYABLE, initial=models.Cause.RAIN)
    rain_in = forms.DecimalField(
        label="Rain in all",
        required=False,
        min_value=0,
        max_value=MOST_RAIN_IN,
        max_digits=5,
        decimal_places=2,
        help_text="inches; empty: half an inch a day",
    )
    why = forms.CharField(required=False, max_length=200, label="In your words")

    def __init__(self, ours: Ours, data: Any = None, *, today: date, slot: int) -> None:
        super().__init__(data, label_suffix="")
        self.today, self.slot = today, slot
        when = self.fields["when"]
        if slot > len(DAY_SLOTS) and isinstance(when, forms.ChoiceField):
            self.slot, when.choices = 1, EVENING
        jobs = models.Job.objects.filter(state__in=models.Job.OPEN)
        self.known: dict[str, models.Job | Crew] = {f"job {job.pk}": job for job in jobs}
        self.known |= {f"crew {crew.pk}": crew for crew in ours.crews}
        offer(
            self,
            "whom",
            [("all", "everybody"), *((key, str(it)) for key, it in self.known.items())],
        )

    def clean(self) -> dict[str, Any]:
        """Turn words into days."""
        told = super().clean() or {}
        when, tomorrow = told.get("when"), self.today + timedelta(days=1)
        if when == RANGE:
            self._range(told)
        elif when == TOMORROW:
            told |= {"first": tomorrow, "last": tomorrow}
        else:
            last = tomorrow if when == BOTH else self.today
            told |= {"first": self.today, "last": last, "from_slot": self.slot}
        return told

    def _range(self, told: dict[str, Any]) -> None:
        first, last = told.get("first"), told.get("last") or told.get("first")
        if first is None:
            if "first" not in self.errors:
                self.add_error("first", "Say the first day.")
            return
        told["last"] = last
        if last < first:
            self.add_error("last", "This lies before the first day: swap the two.")
        elif (last - first).days >= MOST_DAYS:
            self.add_error("last", "More than two months: pause the job instead.")
        elif abs((first - self.today).days) > LONGEST:
            self.add_error("first", "This is more than a year away: check the date.")

    def lost(self) -> Lost:
        """Return what was said, once it is clean."""
        told = self.cleaned_data
        whom = self.known.get(told["whom"])
        return Lost(
            first=told["first"],
            last=told["last"],
            from_slot=told.get("from_slot", 1),
            job=whom if isinstance(whom, models.Job) else None,
            crew=whom if isinstance(whom, Crew) else None,
            cause=told["cause"],
            why=told["why"],
            rain_in=told["rain_in"],
        )


class OutForm(forms.Form):
    """A machine, a crew or one of its people is out for some days."""

    who = forms.ChoiceField(label="Who or what")
    first = day_field(label="From")
    last = day_field(label="To", required=False, help_text="empty: one day")
    why = forms.CharField(required=False, max_length=120, label="In your words")

    def __init__(self, ours: Ours, data: Any = None) -> None:
        super().__init__(data, label_suffix="", prefix="out")
        members = [member for crew in ours.crews for member in crew.members.all()]
        self.known: dict[str, Machine | Crew | CrewMember] = {}
        self.known |= {f"machine {m.pk}": m for m in ours.machines}
        self.known |= {f"crew {c.pk}": c for c in ours.crews}
        self.known |= {f"member {m.pk}": m for m in members}
        offer(self, "who", [(key, str(it)) for key, it in self.known.items()])

    def clean(self) -> dict[str, Any]:
        """One day where no last one is said."""
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last") or told.get("first")
        if first and last and last < first:
            self.add_error("last", "This lies before the first day: swap the two.")
        told["last"] = last
        return told


class LaterForm(forms.Form):
    """A delivery or a decision comes later than thought."""

    what = forms.ChoiceField(label="What comes later")
    day = day_field(label="Not before")
    why = forms.CharField(required=False, max_length=120, label="In your words")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", "prefix": "later", **kwargs})
        of_open = {"job__state__in": models.Job.OPEN, "activity__isnull": False}
        due = models.Delivery.objects.filter(arrived_on=None, **of_open).select_related("job")
        asked = models.Decision.objects.filter(decided_on=None, **of_open).select_related("job")
        self.known: dict[str, models.Delivery | models.Decision] = {}
        self.known |= {f"delivery {row.pk}": row for row in due}
        self.known |= {f"decision {row.pk}": row for row in asked}
        offer(self, "what", [(key, f"{row.job}: {row.name}") for key, row in self.known.items()])


class TermForm(forms.Form):
    """What must hold in the ways out: a work or a yard, a crew or a day where it names one."""

    kind = forms.ChoiceField(label="What must hold", choices=models.Term.Kind.choices)
    about = forms.ChoiceField(label="Work or yard", required=False)
    crew = forms.ChoiceField(required=False, help_text="for not by this crew")
    day = day_field(required=False, help_text="for not before, done by")

    def __init__(self, ours: Ours, data: Any = None) -> None:
        super().__init__(data, label_suffix="", prefix="term")
        works = [row.activity for row in ours.rows if row.activity.started_at is None]
        jobs, crews = list(dict.fromkeys(work.job for work in works)), ours.crews
        self.known: dict[str, Any] = {f"job {job.pk}": job for job in jobs}
        self.known |= {f"work {work.pk}": work for work in works}
        self.known |= {f"crew {crew.pk}": crew for crew in crews}
        by_yard = [(str(job), _of_yard(job, works)) for job in jobs]
        offer(self, "about", [("", "no work or yard"), *by_yard])
        offer(self, "crew", [("", "no crew"), *((f"crew {c.pk}", str(c)) for c in crews)])

    def term(self, against: models.Plan) -> models.Term:
        """Return what was said, once it is clean; what it lacks, its service says."""
        told = self.cleaned_data
        about = self.known.get(told["about"])
        return models.Term(
            kind=told["kind"],
            against=against,
            activity=about if isinstance(about, models.Activity) else None,
            job=about if isinstance(about, models.Job) else None,
            crew=self.known.get(told["crew"]),
            day=told["day"],
        )


def _of_yard(job: models.Job, works: list[models.Activity]) -> list[tuple[str, str]]:
    whole = (f"job {job.pk}", f"the whole yard, {job}")
    return [whole, *((f"work {work.pk}", work.name) for work in works if work.job == job)]
