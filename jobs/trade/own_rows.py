"""Puts figures of one's own into rows of the library: weather limits, machines, carrying, rules, notices and drying."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from . import own_kinds as kinds
from .errors import TradeError
from .facts import Carrier, DryBand, DryOut
from .library import NoticeRule, WeatherClass
from .own_kinds import Careful, Figure, Kind
from .own_values import Value, read_own, say_value
from .precedence import Rule
from .templates import MachineKind, Template

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from .library import Library

Row = WeatherClass | MachineKind | Carrier | NoticeRule | DryOut | Template | Rule
WEATHER_OF = "weather-of"
"""Section of the weather limits of one kind of work."""
SECTIONS: Mapping[str, str] = {
    "weather": "weather",
    "machine": "machines",
    "carrier": "carriers",
    "notice": "notices",
    "dryout": "dryout",
    WEATHER_OF: "templates",
    "rule": "rules",
}
"""Section of a path, and where the library keeps its rows."""


def row_of(library: Library, section: str, key: str) -> Row | None:
    """Return a row of a section, None where there is none."""
    if section == "rule":
        return next((rule for rule in library.rules if rule.id == key), None)
    rows: Mapping[str, Row] = getattr(library, SECTIONS[section]) if section in SECTIONS else {}
    return rows.get(key)


def figures_for(library: Library, section: str, key: str) -> tuple[Figure, ...]:
    """Return what of a row may be one's own; nothing for a row there is not."""
    row = row_of(library, section, key)
    match row:
        case WeatherClass():
            more = [one for one in kinds.MORE_LIMITS if getattr(row, one.name) is not None]
            return tuple(_firm(one, {key}) for one in (*kinds.LIMITS, *more))
        case Template():
            return tuple(_firm(one, {row.weather, *row.also_weather}) for one in kinds.LIMITS)
        case DryOut():
            return (*(kinds.band(band.rain_in) for band in row.bands), *kinds.DRYING)
        case NoticeRule():
            return _told(tuple(_counted(one, row) for one in kinds.NOTICE), row)
        case _:
            known = {"machine": kinds.MACHINE, "carrier": kinds.CARRIER, "rule": kinds.RULE}
            return _told(known.get(section, ()), row)


def _told(known: Sequence[Figure], row: Row | None) -> tuple[Figure, ...]:
    """The figures that a row has."""
    return tuple(one for one in known if getattr(row, one.name, None) is not None)


def figure_of(library: Library, section: str, key: str, name: str) -> Figure:
    """Return one figure that may be one's own.

    Raises
    ------
    TradeError
        If the library has no such figure.
    """
    for one in figures_for(library, section, key):
        if one.name == name:
            return one
    raise TradeError(f"the library has no {section} {key} {name}", remedy="take this figure out")


def ours_now(library: Library, section: str, key: str, figure: Figure) -> Value:
    """Return the figure of the library, None where it sets no limit."""
    row = row_of(library, section, key)
    if isinstance(row, Template):
        return _strictest(library, row, figure)
    if isinstance(row, DryOut) and figure.kind is Kind.THREE:
        found = next(band for band in row.bands if band.rain_in == Decimal(figure.name))
        return found.least, found.usual, found.high
    value = getattr(row, figure.name)
    if isinstance(value, tuple):
        return Decimal(sum(value)) / len(value)
    return None if value is None else Decimal(value)


def check_row(library: Library, section: str, key: str, name: str, told: object) -> bool:
    """Refuse a figure that cannot stand; return True if somebody must stand for it.

    Raises
    ------
    TradeError
        If it is no such figure, cannot be true, or lies below what is firm.
    """
    figure = figure_of(library, section, key, name)
    own, ours = read_own(figure, told), ours_now(library, section, key, figure)
    put_row(library, section, key, name, told)
    if isinstance(own, tuple) or isinstance(ours, tuple) or own is None:
        return False
    looser = figure.looser(ours, own)
    if looser and figure.firm and ours is not None:
        raise TradeError(
            f"{say_value(figure, own)} is less careful than {say_value(figure, ours)}: {figure.firm}",
            remedy="keep ours, or a stricter figure",
        )
    return looser


def put_row(library: Library, section: str, key: str, name: str, told: object) -> Library:
    """Return the library with one figure of one's own in a row.

    Raises
    ------
    TradeError
        If it is no such figure, or the row cannot be with it.
    """
    figure = figure_of(library, section, key, name)
    value, row = read_own(figure, told), row_of(library, section, key)
    made: Row
    if isinstance(row, Template):
        made = _of_work(library, row, figure, value)
    elif isinstance(row, DryOut) and isinstance(value, tuple):
        made = replace(
            row, bands=tuple(_band(band, Decimal(figure.name), value) for band in row.bands)
        )
    else:
        made = _changed(row, figure, value)
    place = SECTIONS[section]
    rows: dict[str, Any] = {
        place: tuple(made if rule is row else rule for rule in library.rules)
        if isinstance(made, Rule)
        else MappingProxyType({**getattr(library, place), key: made})
    }
    return replace(library, **rows)


def _firm(figure: Figure, classes: set[str]) -> Figure:
    """A limit that is a published least of one of some classes is firm."""
    firm = any(figure.name in kinds.FIRM_LIMITS.get(one, ()) for one in classes)
    return replace(figure, firm=kinds.PUBLISHED) if firm else figure


def _counted(figure: Figure, row: NoticeRule) -> Figure:
    """A figure of a notice with the unit that the state counts it in."""
    field = kinds.UNIT_OF.get(figure.name)
    return replace(figure, unit=kinds.COUNTED.get(getattr(row, field), "")) if field else figure


def _strictest(library: Library, row: Template, figure: Figure) -> Value:
    """The strictest limit of a work's classes, or the one set for the work itself."""
    own = dict(row.own_weather).get(figure.name)
    told = [getattr(library.weather[one], figure.name) for one in (row.weather, *row.also_weather)]
    if figure.name == "wind_mph":
        told.append(row.wind_mph)
    known: list[Decimal] = [one for one in told if one is not None]
    if own is not None or not known:
        return own
    return max(known) if figure.careful is Careful.MORE else min(known)


def _of_work(library: Library, row: Template, figure: Figure, value: Value) -> Template:
    told: dict[str, Any] = {**dict(row.own_weather), figure.name: value}
    for one in (row.weather, *row.also_weather):
        _sane(replace(library.weather[one], **told))
    return replace(row, own_weather=tuple(sorted(told.items())))


def _band(band: DryBand, rain: Decimal, value: tuple[Decimal, ...]) -> DryBand:
    """The band itself changed; more rain dries no sooner, and less no later."""
    _, *ours = band
    if band.rain_in == rain:
        return DryBand(rain, *value)
    bound = max if band.rain_in > rain else min
    return DryBand(band.rain_in, *map(bound, ours, value))


def _changed(row: Row | None, figure: Figure, value: Value) -> Row:
    """A row with one field changed; a machine narrower than its kind is as narrow as its way lets it be."""
    assert row is not None and isinstance(value, Decimal)  # noqa: S101, PT018 (its figure was found)
    whole = figure.kind in (Kind.LENGTH, Kind.WHOLE)
    told: Any = int(value) if whole else value
    if isinstance(getattr(row, figure.name), tuple):
        told = (value, value)
    made = replace(row, **{figure.name: told})
    if isinstance(made, MachineKind) and made.width and made.width[0] > made.passage:
        narrow = max(1, made.passage - made.clearance)
        made = replace(made, width=(narrow, narrow))
    _sane(made)
    return made


def _sane(row: Row) -> None:
    """Refuse a row that says two things at once."""
    match row:
        case WeatherClass(air_min_f=Decimal() as cold, air_max_f=Decimal() as hot) if cold >= hot:
            reason = f"work from {cold} to {hot} °F can never be done"
            raise TradeError(reason, remedy="let the lowest lie below the highest")
        case Rule(at_most_hours=Decimal() as most) if most < (row.hours or 0):
            reason = f"it cannot wait {row.hours} hours and follow within {most}"
            raise TradeError(reason, remedy="give more time, or wait less")
        case NoticeRule(earliest=int() as most) if (
            row.earliest_unit == row.unit and most < row.least
        ):
            reason = "the call would have to be both earlier and later"
            raise TradeError(reason, remedy="let the most lie above the least")
        case _:
            return
