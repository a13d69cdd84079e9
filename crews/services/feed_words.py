"""What calendars themselves say, in the language of whoever reads one: what changed, that nothing is planned.

Crews have a language; a person reads that of the crew he leads or is in, everybody else English.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.models import Crew

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

ENGLISH = "en"
NOON = 12
INSTANT = timedelta(microseconds=1)
WEEKDAYS = {
    "en": ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    "es": ("lun", "mar", "mié", "jue", "vie", "sáb", "dom"),
}
MONTHS = {
    "en": ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    "es": ("ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"),
}
HALVES = {"en": ("am", "pm"), "es": ("a. m.", "p. m.")}
TO = {"en": "to", "es": "a"}
WORDS: Mapping[str, Mapping[str, str]] = {
    "en": {
        "cancelled-title": "CANCELLED - {title}",
        "cancelled": "Changed {day}: cancelled.",
        "again": "Changed {day}: on again.",
        "moved": "Changed {day}: was {before}.",
        "language": "Changed {day}: now in English.",
        "nothing": "Nothing planned this week",
        "off": "This calendar link was turned off",
        "off-notes": "Ask the office for a new link, then remove this calendar from your phone.",
        "off-name": "Turned off",
    },
    "es": {
        "cancelled-title": "CANCELADO - {title}",
        "cancelled": "Cambió {day}: cancelado.",
        "again": "Cambió {day}: sigue en pie.",
        "moved": "Cambió {day}: antes {before}.",
        "language": "Cambió {day}: ahora en español.",
        "nothing": "Nada planeado esta semana",
        "off": "Este enlace del calendario está apagado",
        "off-notes": "Pida a la oficina un enlace nuevo y quite este calendario de su teléfono.",
        "off-name": "Apagado",
    },
}


def word(language: str, key: str, **values: str) -> str:
    """Say a sentence of calendars."""
    return WORDS[language][key].format_map(values)


def languages() -> dict[str, str]:
    """Return the language of each subject that reads another one than English; one query."""
    crews = Crew.objects.exclude(language=ENGLISH)
    told: dict[str, str] = {}
    for slug, language, *people in crews.values_list("slug", "language", "lead", "members__person"):
        told[f"crew:{slug}"] = language
        told |= {f"person:{person}": language for person in people if person is not None}
    return told


def said_day(day: date, beside: date, language: str = ENGLISH) -> str:
    """Return ``Thu 11 Jun`` as it reads beside an event; with its year where the event is in another."""
    year = "" if day.year == beside.year else f" {day.year}"
    return f"{WEEKDAYS[language][day.weekday()]} {day.day} {MONTHS[language][day.month - 1]}{year}"


def said_time(moment: datetime, language: str = ENGLISH) -> str:
    """Return ``7:00 am``, in the zone the moment is told in."""
    return f"{moment.hour % NOON or NOON}:{moment:%M} {HALVES[language][moment.hour >= NOON]}"


def said_when(
    start: datetime,
    end: datetime,
    *,
    all_day: bool,
    zone: str,
    beside: date,
    language: str = ENGLISH,
) -> str:
    """Return when an event is, its end exclusive: days, or a day with its hours, in its own zone.

    Parameters
    ----------
    beside
        Day of the event under which it is read: a day of another year carries its own.
    """
    place, to = ZoneInfo(zone), TO[language]
    first, last = start.astimezone(place), (end - INSTANT).astimezone(place)
    begins = said_day(first, beside, language)
    if all_day:
        same = first.date() == last.date()
        return begins if same else f"{begins} {to} {said_day(last, beside, language)}"
    until = end.astimezone(place)
    hours = f"{begins}, {said_time(first, language)} {to}"
    if first.date() == until.date():
        return f"{hours} {said_time(until, language)}"
    return f"{hours} {said_day(until, beside, language)}, {said_time(until, language)}"
