"""The word catalogue: sentences made in the core, spoken in the reader's language.

Each file ``fixtures/words/<part>.<language>.toml`` holds ``key = "text with {placeholders}"``, whole
sentences only. Values that are ISO dates or times are spoken as people say them on a job site: with their year where they
are told in another.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from jobs import clock

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.trade.work import Sentence

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "words"
LANGUAGES = ("en", "es")
ISO = re.compile(r"\d{4}-\d\d-\d\d(T\d\d:\d\d\S*)?")

WEEKDAYS = {
    "en": ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    "es": ("lun", "mar", "mié", "jue", "vie", "sáb", "dom"),
}
MONTHS = {
    "en": ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    "es": ["ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"],
}
NOON = 12
HALVES = {"en": ("am", "pm"), "es": ("a. m.", "p. m.")}


class BadWords(Exception):
    """A catalogue that cannot speak: what is missing or said twice, and where."""


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """Return every sentence of a language by key, read once.

    Raises
    ------
    BadWords
        If a key stands in two files.
    """
    files = [tomllib.loads(p.read_text("utf-8")) for p in sorted(FOLDER.glob(f"*.{language}.toml"))]
    twice = [
        key for key, times in Counter(key for file in files for key in file).items() if times > 1
    ]
    if twice:
        raise BadWords(
            f"{', '.join(twice)} is worded twice in {language}; keep each key in one file only"
        )
    return {key: text for file in files for key, text in file.items()}


def say(sentence: Sentence, language: str = "en") -> str:
    """Return a sentence as spoken text; nothing for the empty sentence.

    Parameters
    ----------
    language
        A language code; regions are ignored, and languages not catalogued are answered in English.

    Raises
    ------
    BadWords
        If nobody wrote the sentence, or it needs a value that is not given.
    """
    if not sentence.key:
        return ""
    tongue = language.partition("-")[0].lower()
    tongue = tongue if tongue in LANGUAGES else "en"
    values = {name: spoken(value, tongue) for name, value in sentence.values.items()}
    try:
        return catalogue(tongue)[sentence.key].format_map(values).replace("m..", "m.")
    except KeyError as missing:
        raise BadWords(
            f"{sentence.key} cannot be said in {tongue} for want of {missing}; "
            f"word it in {FOLDER.name}/*.{tongue}.toml with the values it is given"
        ) from missing


def spoken(value: str | int, language: str) -> str:
    """Return a value as spoken: ISO dates and times in words, everything else as it is."""
    if not isinstance(value, str) or not ISO.fullmatch(value):
        return str(value)
    if "T" in value:
        moment = datetime.fromisoformat(value)
        return f"{_day(moment.date(), language)}, {clock_in(moment, language)}"
    return _day(date.fromisoformat(value), language)


def _day(day: date, language: str) -> str:
    year = "" if day.year == clock.told_on().year else f" {day.year}"
    return f"{WEEKDAYS[language][day.weekday()]} {day.day} {MONTHS[language][day.month - 1]}{year}"


def clock_in(moment: datetime, language: str) -> str:
    """Return ``6:30 am`` or ``6:30 a. m.``."""
    half = HALVES[language][moment.hour >= NOON]
    return f"{moment.hour % 12 or 12}:{moment:%M} {half}"
