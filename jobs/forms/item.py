"""The form of one scope item: its fields are the questions of its assembly."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from jobs.trade.scope import ZoneIn
from jobs.trade.takeoff import check_answers

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs import models
    from jobs.trade.assemblies import Ask, Assembly

UNIT_WORDS = {"ft2": "ft²", "yd3": "yd³", "each": "how many", "in": "inches", "ft": "feet"}


class ItemForm(forms.Form):
    """Answers to an assembly's questions; each wrong one is told beside its field."""

    def __init__(
        self,
        assembly: Assembly,
        zone: models.Zone,
        data: Mapping[str, Any] | None = None,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}), label_suffix="")
        self.assembly, self.zone = assembly, zone
        for ask in assembly.asks:
            self.fields[ask.key] = _field(ask, zone)

    def answers_so_far(self) -> dict[str, str]:
        """Return each answer as it stands on the page, clean or not."""
        shown = {ask: self[ask].value() or "" for ask in self.fields}
        return {ask: str(value) for ask, value in {**self.initial, **shown}.items()}

    def clean(self) -> dict[str, str]:
        """Read every answer; all faults at once."""
        told = {key: str(value).strip() for key, value in self.cleaned_data.items()}
        answers = {key: value for key, value in told.items() if value}
        zone = ZoneIn(self.zone.uid, self.zone.name, self.zone.area_ft2, self.zone.whole)
        for key, fault in check_answers(self.assembly, answers, zone).faults.items():
            self.add_error(key if key in self.fields else None, f"{fault.reason}: {fault.remedy}.")
        return answers


def _field(ask: Ask, zone: models.Zone) -> forms.Field:
    if ask.choices:
        return forms.ChoiceField(
            label=ask.name,
            choices=[(word, word) for word in ask.choices],
            initial=ask.default or ask.choices[0],
            required=False,
        )
    default = ask.default
    if ask.key == "area" and not default and zone.area_ft2:
        default = f"{zone.area_ft2:f}".rstrip("0").rstrip(".")
    field = forms.CharField(label=ask.name, initial=default, required=False, max_length=40)
    field.help_text = UNIT_WORDS.get(ask.unit, ask.unit)
    field.widget.attrs["inputmode"] = "text"
    field.widget.attrs["autocomplete"] = "off"
    return field
