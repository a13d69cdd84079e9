"""The forms of figures of one's own: which, for whom, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from jobs.models import Job
from jobs.services.numbers.library import current_library
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError
from jobs.trade.overrides import FIGURES, LEAST, PACE, RATE, Own, check_own, read_triple
from jobs.trade.own_kinds import LABELLED
from jobs.trade.own_rows import check_row, figures_for, ours_now
from jobs.trade.own_values import say_value, stored

from .fields import offer

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from jobs.trade.own_kinds import Figure
    from jobs.trade.precedence import WaitKind
    from jobs.trade.templates import Template

COMPANY = "company"
USUAL_WAY = "usual"
LONGEST_NUMBER = 12
LONGEST_ENTRY = 24
THREE = ("low", "usual", "high")
WHY = "It is less than we say is safe or sound: say who allows it (a label, product data, an engineer)."

WHY_LABEL = "It is less than the label usually asks: name the product whose label says so. The label is the law."


class OwnForm(forms.Form):
    """What every figure of one's own is told with; cleaning leaves ``owns`` and ``job``."""

    whose = forms.ChoiceField(label="For")
    why = forms.CharField(required=False, max_length=200)

    def __init__(self, path: str, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, label_suffix="")
        self.path = path
        self.jobs = list(Job.objects.exclude(state=Job.State.CLOSED))
        offer(self, "whose", [(COMPANY, "all jobs"), *((job.slug, job.name) for job in self.jobs)])
        self.owns: list[Own] = []
        self.job: Job | None = None

    def clean(self) -> dict[str, Any]:
        """Find the job it is for."""
        told = super().clean() or {}
        self.job = next((job for job in self.jobs if job.slug == told.get("whose")), None)
        return told

    def ask_why(self, *, below: bool, words: str = WHY) -> None:
        """Ask who stands for a figure that is less careful than ours, unless it is said."""
        if below and not str(self.cleaned_data.get("why", "")).strip():
            self.add_error("why", words)


class EntryFigures(OwnForm):
    """Figures of one row of the library, a field each; what is left empty stays as it is."""

    def __init__(self, section: str, key: str, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(f"{section} {key}", data)
        self.section, self.key = section, key
        self.library = current_library()
        self.figures = {
            f"own_{number}": figure
            for number, figure in enumerate(figures_for(self.library, section, key))
        }
        for name, figure in self.figures.items():
            ours = say_value(figure, ours_now(self.library, section, key, figure))
            self.fields[name] = forms.CharField(
                label=figure.words, required=False, max_length=LONGEST_ENTRY, help_text=ours
            )
        self.order_fields(["whose", *self.figures, "why"])

    def clean(self) -> dict[str, Any]:
        """Read every figure that was typed, and refuse an empty form."""
        told = super().clean()
        for name, figure in self.figures.items():
            typed = str(told.get(name) or "").strip()
            if typed:
                self._read(name, figure, typed)
        if not self.owns and not self.errors:
            self.add_error(None, "Write a figure, at least one.")
        return told

    def _read(self, name: str, figure: Figure, typed: str) -> None:
        try:
            value = stored(figure, typed)
            looser = check_row(self.library, self.section, self.key, figure.name, value)
        except TradeError as error:
            self.add_error(name, say_error(error))
            return
        self.owns.append(Own(f"{self.path} {figure.name}", value))
        self.ask_why(below=looser, words=WHY_LABEL if self.key in LABELLED else WHY)


class FiguresForm(OwnForm):
    """Three figures that rise.

    Below ``floor``, the least that the library holds for sound, a reason must be given.
    """

    low = forms.CharField(required=False, max_length=LONGEST_NUMBER)
    usual = forms.CharField(required=False, max_length=LONGEST_NUMBER)
    high = forms.CharField(required=False, max_length=LONGEST_NUMBER)

    def __init__(
        self, path: str, data: Mapping[str, Any] | None = None, floor: Decimal | None = None
    ) -> None:
        super().__init__(path, data)
        self.floor = floor
        self.order_fields(["whose", *THREE, "why"])

    def clean(self) -> dict[str, Any]:
        """Read three figures that rise, or none."""
        told = super().clean()
        typed = [str(told.get(name, "")).strip() for name in THREE]
        if any(typed):
            self._three(typed)
        return told

    def what(self) -> str:
        """Return what the three figures are, as the last words of the path."""
        return FIGURES

    def _three(self, typed: list[str]) -> None:
        missing = [name for name, text in zip(THREE, typed, strict=True) if not text]
        for name in missing:
            self.add_error(name, "Give all three, the lowest first.")
        if missing or self.errors:
            return
        path = f"{self.path} {self.what()}"
        try:
            numbers = read_triple(typed, zero=self.floor is not None)
            own = Own(path, [f"{number.normalize():f}" for number in numbers])
            check_own(current_library(), own)
        except TradeError as error:
            self.add_error("usual", say_error(error))
            return
        self.owns.append(own)
        self.ask_why(below=self.floor is not None and min(numbers[:2]) < self.floor)


class TemplateFigures(FiguresForm):
    """Pace and least people of one kind of work."""

    least = forms.CharField(required=False, max_length=4, label="Least people")

    def __init__(self, template: Template, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(f"template {template.key}", data)
        self.template = template
        days = template.unit == "days"
        for name, word in zip(
            THREE, ("Short" if days else "Slow", "Usual", "Long" if days else "Fast"), strict=True
        ):
            self.fields[name].label = word
        if template.paces:
            ways = [USUAL_WAY, *(pace.way for pace in template.paces)]
            self.fields["way"] = forms.ChoiceField(choices=[(way, way) for way in ways])
        order = ("whose", "way", *THREE, "least", "why")
        self.order_fields([name for name in order if name in self.fields])

    def what(self) -> str:
        """Return which of its paces is meant."""
        way = self.cleaned_data.get("way") or USUAL_WAY
        return RATE if way == USUAL_WAY else f"{PACE} {way}"

    def clean(self) -> dict[str, Any]:
        """Read the least people besides, and refuse an empty form."""
        told = super().clean()
        least = str(told.get("least", "")).strip()
        if least:
            self._least(least)
        if not self.owns and not self.errors:
            self.add_error(None, "Write three figures, or the least people, or both.")
        return told

    def _least(self, typed: str) -> None:
        own = Own(f"{self.path} {LEAST}", int(typed) if typed.isdecimal() else typed)
        try:
            check_own(current_library(), own)
        except TradeError as error:
            self.add_error("least", say_error(error))
            return
        self.owns.append(own)
        self.ask_why(below=int(typed) < self.template.least)


class WaitFigures(FiguresForm):
    """Least, usual and most of one wait."""

    def __init__(self, wait: WaitKind, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(f"wait {wait.key}", data, wait.least)
        for name, word in zip(THREE, ("At the least", "Usual", "At the most"), strict=True):
            self.fields[name].label = word

    def clean(self) -> dict[str, Any]:
        """Refuse an empty form."""
        told = super().clean()
        if not self.owns and not self.errors:
            self.add_error(None, "Write all three figures.")
        return told
