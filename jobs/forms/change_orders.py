"""Forms of change orders: the words, what they do to the plan, who answered. Cleaning only, no saving."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms

from jobs.models import ChangeLine
from jobs.services.scope.hands import is_by_hand
from jobs.services.storm.answer_order import Signature
from jobs.services.storm.change_orders import Wording
from jobs.services.telling.speech import say_day

from .by_hand import MOST_DAYS, WorkForm
from .fields import day_field, offer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from jobs.models import Activity, ChangeOrder, Job, ScopeItem

MOST_DOLLARS = Decimal(10_000_000)
Does = ChangeLine.Does


class WordingForm(forms.Form):
    """What stands on the paper."""

    title = forms.CharField(max_length=120, help_text="a few words, as you speak of it")
    scope = forms.CharField(
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 5}),
        label="What changes",
        help_text="in the words the owner signs",
    )
    amount = forms.DecimalField(
        required=False,
        min_value=-MOST_DOLLARS,
        max_value=MOST_DOLLARS,
        max_digits=10,
        decimal_places=2,
        help_text="dollars; with a minus where it takes work out; may be empty",
    )

    def __init__(
        self, data: Mapping[str, Any] | None = None, order: ChangeOrder | None = None
    ) -> None:
        told = ("title", "scope", "amount")
        initial = {name: getattr(order, name) for name in told} if order else {}
        super().__init__(data, initial=initial, label_suffix="")

    def wording(self) -> Wording:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return Wording(" ".join(told["title"].split()), told["scope"].strip(), told["amount"])


class AddedWorkForm(WorkForm):
    """A work that comes with a change order, and the one it comes after."""

    after = forms.ChoiceField(
        required=False, help_text="what waited for that one does not wait for this"
    )

    def __init__(
        self, job: Job, works: Sequence[Activity], data: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(job, data)
        self.works = {work.uid: work for work in works}
        first = ("", "the first walk")
        offer(self, "after", [first, *((uid, work.name) for uid, work in self.works.items())])

    def line(self) -> ChangeLine:
        """Return it as a line, once it is clean."""
        work = self.work()
        return ChangeLine(
            does=Does.WORK,
            activity=self.works.get(self.cleaned_data["after"]),
            name=work.name,
            zone=work.zone,
            skill=work.skill,
            days=work.days,
            people=work.people,
        )


class MoreDaysForm(forms.Form):
    """A work that takes longer by a change order."""

    work = forms.ChoiceField(label="Which work")
    days = forms.DecimalField(
        min_value=Decimal("0.25"), max_value=MOST_DAYS, max_digits=6, decimal_places=2,
        label="Days more", help_text="of its usual crew; a quarter day is two hours",
    )  # fmt: skip

    def __init__(self, works: Sequence[Activity], data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, label_suffix="", prefix="more")
        self.works = {work.uid: work for work in works if not work.detail.get("request")}
        offer(self, "work", [(uid, work.name) for uid, work in self.works.items()])

    def line(self) -> ChangeLine:
        """Return it as a line, once it is clean."""
        told = self.cleaned_data
        return ChangeLine(does=Does.DAYS, activity=self.works[told["work"]], days=told["days"])


class LeftOutForm(forms.Form):
    """An item of the takeoff, or a work of one's own, that is left out."""

    what = forms.ChoiceField(label="What is left out")

    def __init__(
        self,
        items: Iterable[tuple[ScopeItem, str]],
        works: Iterable[Activity],
        data: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, label_suffix="", prefix="out")
        own = [work for work in works if is_by_hand(work) and work.part_of_id is None]
        rows = list(items)
        self.items = {f"item {item.uid}": item for item, _ in rows}
        self.works = {f"work {work.uid}": work for work in own}
        words = [(f"item {item.uid}", f"{name}, {item.zone}") for item, name in rows]
        words += [(key, work.name) for key, work in self.works.items()]
        offer(self, "what", words)

    def line(self) -> ChangeLine:
        """Return it as a line, once it is clean."""
        told = self.cleaned_data["what"]
        if told in self.items:
            return ChangeLine(does=Does.ITEM_OUT, item=self.items[told])
        return ChangeLine(does=Does.WORK_OUT, activity=self.works[told])


class SignatureForm(forms.Form):
    """Who answered for the owner, and when."""

    by = forms.CharField(max_length=120, label="Who answered for the owner")
    on = day_field(label="On")

    def __init__(
        self, order: ChangeOrder, today: date, data: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(data, label_suffix="", initial={"on": today}, prefix="signed")
        self.order, self.today = order, today

    def clean_on(self) -> date:
        """Nobody signs tomorrow, nor before it was asked."""
        on: date = self.cleaned_data["on"]
        if on > self.today:
            raise forms.ValidationError("That day is yet to come: write the day of the signature.")
        if on < self.order.asked_on:
            raise forms.ValidationError(
                f"It was written down on {say_day(self.order.asked_on)}: no earlier day can be right."
            )
        return on

    def signature(self) -> Signature:
        """Return what was told, once it is clean."""
        return Signature(" ".join(self.cleaned_data["by"].split()), self.cleaned_data["on"])
