"""Says one value that the record keeps: dates, hours, money, slugs and codes as people call them."""

from __future__ import annotations

import re
from datetime import date, time
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import TYPE_CHECKING

from jobs import models
from jobs.services.company.states import STATES, ZONES
from jobs.services.numbers.library_words import machine_name
from jobs.services.sky.climate import climates
from jobs.services.telling.speech import dollars, say_day, say_time, spoken_days

from .ties_told import HOW

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
HOUR = re.compile(r"\b\d\d:\d\d\b(?! [ap]m\b)")
"""One as tables keep it; what is told as people say it already stays."""


def say_value(name: str, value: object) -> str:
    """Return what a fact of that name says; nothing where it says nothing."""
    if value is None or value == "":
        return ""
    if isinstance(value, list):
        return ", ".join(say_value(name, one) for one in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _SAY.get(name, _plain)(str(value))


def _plain(text: str) -> str:
    """Any text, its dates and hours as people say them; what only looks like one, as it was typed."""
    return HOUR.sub(_hour, DAY.sub(_day, text))


def _day(found: re.Match[str]) -> str:
    try:
        return say_day(date.fromisoformat(found[0]))
    except ValueError:
        return found[0]


def _hour(found: re.Match[str]) -> str:
    try:
        return say_time(time.fromisoformat(found[0]))
    except ValueError:
        return found[0]


def _money(text: str) -> str:
    return dollars(Decimal(text))


def _crew_days(text: str) -> str:
    """Days a work takes; the same name holds the dates of days off, which stay as they are."""
    try:
        return spoken_days(Decimal(text))
    except InvalidOperation:
        return text


def _calendar_days(text: str) -> str:
    return "1 day" if text == "1" else f"{text} days"


def _messages(text: str) -> str:
    return "1 message" if text == "1" else f"{text} messages"


def _state(text: str) -> str:
    return dict(STATES).get(text, text)


def _clock(text: str) -> str:
    return dict(ZONES).get(text, text)


def _stage(text: str) -> str:
    return str(dict(models.Job.State.choices).get(text, text)).lower()


def _units(text: str) -> str:
    return str(dict(models.Company.Units.choices).get(text, text))


def _relation(text: str) -> str:
    return f"once the first {HOW[text]}" if text in HOW else text


def _version(text: str) -> str:
    return text or "none"


@cache
def _stations() -> Mapping[str, str]:
    return {place.station: f"{place.name}, {place.state}" for place in climates()}


def _whole(text: str) -> str:
    """The one text an entry keeps: a climate station has a name, a plan its number."""
    return _stations().get(text) or _plain(text)


_SAY: Mapping[str, Callable[[str], str]] = {
    "amount": _money,
    "a Saturday costs": _money,
    "rent a day": _money,
    "days": _crew_days,
    "least days": _calendar_days,
    "order ahead": _calendar_days,
    "messages": _messages,
    "stage": _stage,
    "state": _state,
    "zone": _clock,
    "units": _units,
    "how": _relation,
    "kind": machine_name,
    "library": _version,
    "it": _whole,
}
