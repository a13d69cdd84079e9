"""Dates, spans, quantities and cautions as people say them on a job site."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING

from jobs import clock

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime, time

UNITS = {
    "ft2": "ft²",
    "ft": "ft",
    "yd3": "yd³",
    "m2": "m²",
    "m3": "m³",
    "tons": "tons",
    "each": "",
    "risers": "risers",
    "days": "",
}
"""Units as written on a page; a count needs none, a duration is not a quantity."""
COUNTED: Mapping[str, Mapping[str, str]] = {
    "es": {"risers": "contrahuellas", "tons": "toneladas cortas", "tonnes": "toneladas"}
}
"""Units that are words, in languages other than English."""
HOURS_A_DAY = 8
MANY = 100


def counted(count: float | Decimal, one: str, many: str = "") -> str:
    """Return ``1 day``, ``3 days`` or, of a word with a plural of its own, ``2 people``."""
    return f"{count:g} {one if count == 1 else many or f'{one}s'}"


def say_people(count: int | None) -> str:
    """Return ``1 person`` or ``3 people``."""
    return counted(count or 0, "person", "people")


SKILLS = {"labour": "labor"}
"""By key, the skills that people read in another spelling than job files and tables keep."""


def say_skill(skill: str) -> str:
    """Return a skill as a contractor writes it."""
    return SKILLS.get(skill, skill)


def spoken_quantity(amount: Decimal, unit: str, language: str = "en") -> str:
    """Return ``420 ft²``, the half rounded up; empty for work that is measured in days."""
    if unit == "days":
        return ""
    whole = amount == amount.to_integral_value() or amount >= MANY
    rounded = amount.quantize(Decimal(1) if whole else Decimal("0.1"), ROUND_HALF_UP)
    number = f"{rounded:,f}"
    word = COUNTED.get(language, {}).get(unit, UNITS.get(unit, unit))
    return f"{number} {word}".strip()


def spoken_days(days: Decimal) -> str:
    """Return crew days as said: ``2 hours``, ``half a day``, ``1½ days``, ``7 days``."""
    quarters = max(1, int((days * 4).quantize(Decimal(1), ROUND_HALF_UP)))
    if quarters == 1:
        return "2 hours"
    if quarters == 2:  # noqa: PLR2004 (two quarters)
        return "half a day"
    whole, part = divmod(quarters, 4)
    number = f"{whole or ''}{('', '¼', '½', '¾')[part]}"
    return f"{number} day" if quarters <= 4 else f"{number} days"  # noqa: PLR2004 (four quarters)


def say_day(day: date) -> str:
    """Return ``Thu 12 Jun``, or ``Thu 14 Jan 2027`` where it is told in another year."""
    return f"{_short(day)}{say_year(day)}"


def say_number(day: date) -> str:
    """Return ``12 Jun`` or ``14 Jan 2027``, where the weekday stands above."""
    return f"{day.day} {day:%b}{say_year(day)}"


def say_year(day: date) -> str:
    """Return `` 2027`` for what is told in another year; nothing in its own, where it goes without saying."""
    return "" if day.year == clock.told_on().year else f" {day.year}"


def say_moved(was: date, becomes: date) -> str:
    """Return ``2 days later``, ``1 day sooner`` or ``as before``."""
    days = (becomes - was).days
    if not days:
        return "as before"
    return f"{abs(days)} day{'' if abs(days) == 1 else 's'} {'later' if days > 0 else 'sooner'}"


def say_least(changed: int, least: int | None) -> str:
    """Return how many of so many changed crew-days no plan can help changing; empty where that is none, or unknown."""
    if not least:
        return ""
    return "no plan changes fewer" if least == changed else f"at least {least} could not be helped"


def say_date(day: date) -> str:
    """Return ``Thu 12 Jun 2026``."""
    return f"{_short(day)} {day.year}"


def _short(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def say_time(moment: datetime | time) -> str:
    """Return ``6:30 am``."""
    return f"{moment.hour % 12 or 12}:{moment:%M} {'am' if moment.hour < 12 else 'pm'}"  # noqa: PLR2004 (noon)


def say_span(first: date, last: date) -> str:
    """Return ``Thu 12 Jun``, ``Thu 12 - Mon 16 Jun`` or ``Mon 29 Jun - Thu 2 Jul``; a year of both stands at the end."""
    if first == last:
        return say_day(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first:%a} {first.day} – {say_day(last)}"
    begins = _short(first) if first.year == last.year else say_day(first)
    return f"{begins} – {say_day(last)}"


def say_room(hours: float, finish: datetime, latest: datetime) -> str:
    """Return how far a work can slip, in words; empty if it has no room."""
    if hours <= 0:
        return ""
    if latest.date() <= finish.date():
        return "can slip a few hours"
    if (latest.year, latest.month) == (finish.year, finish.month):
        return f"can slip to {latest:%a} {latest.day}"
    return f"can slip to {say_day(latest)}"


def dollars(amount: Decimal | None) -> str:
    """Return ``$1,250.00`` or ``−$300.00``; nothing where nothing was agreed."""
    if amount is None:
        return ""
    return f"{'−' if amount < 0 else ''}${abs(amount):,.2f}"
