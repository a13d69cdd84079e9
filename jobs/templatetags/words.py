"""Dates and fields as templates say them; nothing here asks the database."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms, template
from django.utils.choices import flatten_choices

from jobs.services.telling import speech
from jobs.services.telling.words import say
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from datetime import date, datetime

    from django.forms import BoundField
    from django.template import Context

register = template.Library()
LONG_HINT, LONG_CHOICE = 30, 17
"""Letters of a hint, and of what there is to choose, beyond which a field takes the room of two: no row is pushed
apart, and no choice cut off."""


@register.filter
def day(value: date | None) -> str:
    """``Thu 12 Jun``; nothing for no date."""
    return speech.say_day(value) if value else ""


@register.filter
def skill(value: str) -> str:
    """``labor``: a skill as a contractor writes it."""
    return speech.say_skill(value)


@register.filter
def full_day(value: date) -> str:
    """``Wednesday 17 June``, as a heading; with its year where it is told in another."""
    return f"{value:%A} {value.day} {value:%B}{speech.say_year(value)}"


@register.filter
def dated(value: datetime) -> str:
    """``Tue 16 Jun 2026, 6:40 pm``: the moment a page is told at, from which its other days take their year."""
    return f"{speech.say_date(value)}, {speech.say_time(value)}"


@register.filter
def moment(value: datetime | None) -> str:
    """``Tue 16 Jun, 6:40 pm``; nothing for no time."""
    return f"{speech.say_day(value)}, {speech.say_time(value)}" if value else ""


@register.simple_tag(takes_context=True)
def told(context: Context, key: str, **values: str) -> str:
    """Say a sentence of the catalogue in the page's ``language``; English where it names none."""
    return say(Sentence(key, values), str(context.get("language", "en")))


@register.inclusion_tag("parts/field.html")
def field(bound: BoundField) -> dict[str, object]:
    """Write a form field with its label, help and what is wrong with it."""
    if bound.errors:
        bound.field.widget.attrs["aria-invalid"] = "true"
        bound.field.widget.attrs["aria-describedby"] = f"{bound.auto_id}_wrong"
    wide = len(str(bound.help_text)) > LONG_HINT or _longest(bound) > LONG_CHOICE
    return {"field": bound, "wide": wide}


def _longest(bound: BoundField) -> int:
    """Letters of the longest choice of a list that opens; 0 for any other field, and for rows of a table."""
    opens = isinstance(bound.field.widget, forms.Select)
    if not opens or isinstance(bound.field, forms.ModelChoiceField):
        return 0
    rows: list[tuple[object, object]] = list(flatten_choices(bound.field.widget.choices))
    return max((len(str(told)) for _, told in rows), default=0)
