"""Six answers for a rough promise. Cleaning only; nothing of it is ever saved."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from jobs.services.company.states import CHOICES

from .fields import AmountField, LengthField, day_field
from .yard import FARTHEST

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from jobs.models import Company

NO_LAWN = "no lawn to take out"
KILLS = ("sprays", "strip", "sheet mulch", "clear sheet", NO_LAWN)
MOST = 100_000


class RoughForm(forms.Form):
    """Area, how the lawn goes, slab, wall, trees, narrowest gate; from when, in which state."""

    area = AmountField(unit="ft2", most=MOST, required=True, label="Whole area", help_text="ft²")
    kill = forms.ChoiceField(label="The old lawn goes by", choices=[(w, w) for w in KILLS])
    slab = AmountField(unit="ft2", most=MOST, label="Slab", help_text="ft²; empty: none")
    wall = AmountField(unit="ft", most=2_000, label="Wall", help_text="ft; empty: none")
    trees = forms.IntegerField(
        min_value=0, max_value=200, required=False, help_text="in 24-in boxes; empty: none"
    )
    gate = LengthField(label="Narrowest gate", required=True, help_text="like 3 ft 6 in")
    start = day_field(label="If you start on")
    us_state = forms.ChoiceField(label="State", choices=CHOICES)

    def __init__(
        self, data: Mapping[str, Any] | None, *, today: date, company: Company | None
    ) -> None:
        initial = {"start": today, "us_state": company.state if company else ""}
        super().__init__(data, initial=initial, label_suffix="")
        self.today = today

    def clean_start(self) -> date:
        """Refuse days out of sight."""
        start: date = self.cleaned_data["start"]
        if abs(start - self.today) > FARTHEST:
            raise forms.ValidationError("This is more than three years away: look at the year.")
        return start
