"""Questions about the yard as a whole, beside those of what is built in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from jobs.services.numbers.library import library_for
from jobs.services.scope.takeoff import answer_word
from jobs.trade.soil import GROUND, LIES, SUN
from jobs.trade.unfold import EVERY_JOB

from .item import ItemForm

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.models import Job

CRANE, AREA = "crane", "area"


class YardQuestions(ItemForm):
    """What comes with every job, and whether a crane lifts over the house."""

    def __init__(self, job: Job, data: Mapping[str, Any] | None) -> None:
        whole = job.zones.get(whole=True)
        told = {key: answer_word(value) for key, value in job.options.items()}
        super().__init__(library_for(job).assemblies[EVERY_JOB], whole, data, told)
        self.told = told
        self.fields[AREA].initial = told.get(AREA, "")
        self.fields[AREA].help_text = "ft²; empty: all zones added up"
        self.kept = {key: value for key, value in told.items() if key not in self.fields}
        self.fields[CRANE] = forms.ChoiceField(
            label="A crane lifts over the house",
            choices=[("no", "no"), ("yes", "yes")],
            initial="no",
            required=False,
        )
        self.fields[GROUND] = forms.ChoiceField(
            label="Bare ground lies",
            choices=[(word, word) for word in LIES],
            initial=SUN,
            required=False,
            help_text="how long it stays wet after rain",
        )

    def clean(self) -> dict[str, str]:
        """Read every answer; defaults nobody chose stay unsaid, other words as they are."""
        crane = str(self.cleaned_data.pop(CRANE, "") or "no")
        ground = str(self.cleaned_data.pop(GROUND, "") or SUN)
        usual = {ask.key: ask.default for ask in self.assembly.asks} | {CRANE: "no", GROUND: SUN}
        answers = super().clean() | {CRANE: crane, GROUND: ground}
        chosen = {k: v for k, v in answers.items() if k in self.told or v != usual[k]}
        return self.kept | chosen
