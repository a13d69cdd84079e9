"""Figures of the trade library in words: paces, waits, limits of weather, machines, sources."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from jobs.services.numbers.library import current_library
from jobs.services.telling.speech import UNITS, spoken_days
from jobs.trade.units import say_length
from jobs.trade.work import Clock, Relation, Shift

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs import models
    from jobs.trade.library import Library, WeatherClass
    from jobs.trade.precedence import Rule, WaitKind
    from jobs.trade.templates import MachineKind, Template

NAMES = Path(__file__).resolve().parents[3] / "fixtures" / "names"
WHERE = {
    "zone": "in the same place",
    "item": "of the same piece of work",
    "way-in": "on whose way in it lies",
    "job": "anywhere in the job",
}
RELATION = {
    Relation.FINISH_START: "",
    Relation.START_START: "once it has started",
    Relation.FINISH_FINISH: "and ends no sooner",
    Relation.START_FINISH: "has started before this one ends",
}
CLOCK = {Clock.ELAPSED: "", Clock.WORK: "working ", Clock.BUSINESS: ""}
LIFTED = {
    "pump": "not where concrete is pumped",
    "crane": "not where a crane lifts it in",
    "water-far": "not where the water is far enough away",
}
CUSTOM = "common practice"
SPAN = {"h": "hour", "d": "day", "bd": "business day"}
SHIFTS = {
    Shift.DAY: "",
    Shift.EVENING: "in the evening, once it is dark",
    Shift.DAWN: "at dawn, before the day's work",
}


class SourceRow(NamedTuple):
    """Where a figure comes from, and whether it was read."""

    code: str
    title: str
    status: str


def plain(number: Decimal) -> str:
    """Return a number as people write it: ``40``, ``1,200``, ``0.25``."""
    return f"{number.normalize():,f}"


def pace_unit(template: Template) -> str:
    """Return what a pace of a template is counted in: ``ft² a day``; ``days`` for a duration."""
    if template.unit == "days":
        return "days"
    unit = UNITS.get(template.unit, template.unit) or "pieces"
    return f"{unit} {'a day' if template.shift is Shift.DAY else 'a visit'}"


def pace_words(template: Template, rate: tuple[Decimal, Decimal, Decimal]) -> str:
    """Return the typical pace: ``60 ft² a day``; ``half a day`` for a duration."""
    if template.unit == "days":
        return spoken_days(rate[1])
    return f"{plain(rate[1])} {pace_unit(template)}"


def span_words(amount: Decimal, unit: str, clock: Clock = Clock.ELAPSED) -> str:
    """Return ``7 days``, ``1 hour``, ``3 business days``, ``2 working days``."""
    return f"{plain(amount)} {CLOCK[clock]}{SPAN[unit]}{'' if amount == 1 else 's'}"


def wait_words(wait: WaitKind) -> str:
    """Return a wait's usual figure, and its range where it has one."""
    usual = span_words(wait.usual, wait.unit, wait.clock)
    if wait.least == wait.high:
        return usual
    return f"{usual} ({plain(wait.least)} at the least, {plain(wait.high)} at the most)"


def rule_how(rule: Rule, waits: Mapping[str, WaitKind]) -> str:
    """Return relation, wait and limit of a rule in words, without the names of the works."""
    words = [RELATION[rule.relation], WHERE[rule.where]]
    if rule.wait:
        words.append(f"then {wait_words(waits[rule.wait])}")
    if rule.hours:
        words.append(f"then {span_words(rule.hours, 'h')}")
    if rule.slots:
        words.append(f"then {spoken_days(Decimal(rule.slots) / 4)} of work")
    if rule.at_most_hours is not None:
        words.append(f"at most {span_words(rule.at_most_hours, 'h')} later")
    if rule.unless:
        words.append(LIFTED[rule.unless])
    return ", ".join(filter(None, words))


def machine_words(kind: MachineKind) -> str:
    """Return a machine's name with the clear way it needs."""
    if not kind.passage:
        return kind.name.lower()
    return f"{kind.name.lower()} (needs {say_length(kind.passage)} of clear way)"


def weather_limits(kind: WeatherClass) -> tuple[str, ...]:
    """Return what stops a class of work, a sentence a limit; nothing if nothing does."""
    limits = (*_rain(kind), *_wind(kind), *_heat(kind), *_rest(kind), *weather_notes(kind))
    return tuple(filter(None, limits))


def weather_notes(kind: WeatherClass) -> tuple[str, ...]:
    """Return what a class asks for that no figure says."""
    ground = ("The ground must have dried out after rain.",) if kind.needs_dry_ground else ()
    return (*ground, *([f"{kind.note[0].upper()}{kind.note[1:]}."] if kind.note else []))


def _rain(kind: WeatherClass) -> Iterable[str]:
    if kind.rain_in_per_h is not None:
        yield (
            f"No work in rain of more than {plain(kind.rain_in_per_h)} in an hour."
            if kind.rain_in_per_h
            else "No work in any rain."
        )
    if kind.rain_in_per_day is not None:
        yield f"No work on a day with more than {plain(kind.rain_in_per_day)} in of rain."
    if kind.dry_before_h:
        yield f"Dry for {span_words(kind.dry_before_h, 'h')} before."
    if kind.dry_after_h:
        yield f"Dry for {span_words(kind.dry_after_h, 'h')} after."
    if kind.storm_in is not None and kind.storm_h is not None:
        within = span_words(kind.storm_h, "h")
        yield f"A storm of {plain(kind.storm_in)} in within {within} after undoes it."


def _wind(kind: WeatherClass) -> Iterable[str]:
    if kind.wind_mph is not None:
        yield f"No wind above {plain(kind.wind_mph)} mph."
    if kind.hot_wind_mph is not None and kind.hot_f is not None:
        yield f"Above {plain(kind.hot_f)} °F no wind above {plain(kind.hot_wind_mph)} mph."


def _heat(kind: WeatherClass) -> Iterable[str]:
    if kind.air_min_f is not None:
        yield f"Not below {plain(kind.air_min_f)} °F."
    if kind.air_max_f is not None:
        yield f"Not above {plain(kind.air_max_f)} °F."
    if kind.soil_min_f is not None:
        yield f"The soil no colder than {plain(kind.soil_min_f)} °F."
    if kind.concrete_max_f is not None:
        yield f"The concrete itself no hotter than {plain(kind.concrete_max_f)} °F."


def _rest(kind: WeatherClass) -> Iterable[str]:
    if kind.evaporation_max is not None:
        yield f"No more than {plain(kind.evaporation_max)} lb of water a square foot and hour may dry off it."


def said_by(source: str) -> str:
    """Return the codes of a row's source as they stand beside it; custom is said in words."""
    return "; ".join(CUSTOM if code == "CP" else code for code in source.split("; "))


def sources_of(told: Iterable[str], library: Library) -> tuple[SourceRow, ...]:
    """Return each source named in some rows once, in the order they are first named."""
    codes = dict.fromkeys(code for row in told for code in row.split("; "))
    found = (library.sources[code] for code in codes)
    return tuple(SourceRow(one.code, one.title, one.status) for one in found)


@cache
def names_in(language: str) -> Mapping[str, Mapping[str, str]]:
    """Return names of works and machines, and cautions, by kind and key; none in English, which the library speaks."""
    file = NAMES / f"{language}.toml"
    return tomllib.loads(file.read_text("utf-8")) if file.exists() else {}


def work_name(work: models.Activity, language: str = "en") -> str:
    """Return a work's name and place in a language; as it is called where it has a name of its own."""
    known, told = current_library().templates.get(work.template), names_in(language).get("work", {})
    if known is None or work.template not in told or not work.name.startswith(known.name):
        return work.name
    return told[work.template] + work.name.removeprefix(known.name)


def caution_text(key: str, language: str = "en") -> str:
    """Return the caution's sentence; nothing for one the library has no more."""
    caution = current_library().cautions.get(key)
    return names_in(language).get("caution", {}).get(key, caution.text) if caution else ""


def alert_name(event: str, language: str = "en") -> str:
    """Return what an alert of the weather service is called; one that nobody put into a language, as it came."""
    return names_in(language).get("alert", {}).get(event, event)


def machine_name(kind: str, language: str = "en") -> str:
    """Return what people call a kind of machine; the kind itself if the library does not know it."""
    known = current_library().machines.get(kind)
    return names_in(language).get("machine", {}).get(kind, known.name) if known else kind
