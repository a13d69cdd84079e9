"""What the takeoff is given, and what an expansion answers: a yard in, activities and links out."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from .errors import ScopeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from decimal import Decimal

    from .work import Activity, Link, Sentence

STREET = ""
"""Where a passage from the street starts."""
JOB_ITEM = "job"
"""Uid of the item that holds what comes with every job."""
STEEPEST = 100
"""Percent of slope a passage may be said to have."""


@dataclass(frozen=True, slots=True)
class ZoneIn:
    """A part of the yard; ``area`` in square feet if it was measured; one zone is the whole yard."""

    uid: str
    name: str
    area: Decimal | None = None
    whole: bool = False

    def __post_init__(self) -> None:
        """Refuse a zone without a name or with an area below nothing."""
        if not self.uid or not self.name:
            raise ScopeError("a zone has no name", remedy="name every zone", where="zone")
        if self.area is not None and (not self.area.is_finite() or self.area < 0):
            raise ScopeError(
                f"an area of {self.area} ft2 cannot be built on",
                remedy="measure it in square feet, zero or more",
                where=self.name,
            )


@dataclass(frozen=True, slots=True)
class PassageIn:
    """A way between two zones, or from the street (``start`` empty) to one.

    Lengths are whole tenths of a millimetre (1 in = 254); None is unlimited.

    Attributes
    ----------
    width
        Clear width at the narrowest; None if nobody measured it: then it stops nothing.
    headroom, load_lb
        Clear height; pounds that its floor bears.
    length_ft
        How far it is, for hauling by trips; 0 if not measured.
    """

    uid: str
    name: str
    start: str
    end: str
    width: int | None
    headroom: int | None = None
    load_lb: int | None = None
    floor: str = ""
    slope_percent: int = 0
    length_ft: int = 0

    def __post_init__(self) -> None:
        """Refuse a passage of no width, or one that leads back to where it starts."""
        if self.width is not None and self.width <= 0:
            raise ScopeError(
                "a passage has no width", remedy="measure it at the narrowest", where=self.name
            )
        if self.start == self.end:
            raise ScopeError(
                "a passage leads back to where it starts",
                remedy="say which zone it leads to",
                where=self.name,
            )
        if not 0 <= self.slope_percent <= STEEPEST or self.length_ft < 0:
            raise ScopeError(
                "a passage's slope or length cannot be",
                remedy="slope is 0 to 100 percent, length zero or more",
                where=self.name,
            )


@dataclass(frozen=True, slots=True)
class Item:
    """One assembly in one zone, with the answers to its questions as they were typed."""

    uid: str
    assembly: str
    zone: str
    answers: Mapping[str, str] = field(default_factory=dict)
    name: str = ""


@dataclass(frozen=True, slots=True)
class Yard:
    """Everything an expansion needs to know of a job.

    Attributes
    ----------
    state
        Two letters, for the legal notice before digging.
    soil
        A key of ``Library.soils`` (``loam``, ``clay`` ...).
    options
        Answers of the yard as a whole: the asks of the assembly ``every-job`` (hoa, permit ...),
        and words that lift rules where they are answered ``yes`` (``pump``, ``crane``).
    owned
        Machine kinds the company has: taken before others, which would be hired. Empty: not known.
    lifted
        Rules that somebody says do not hold here: key of the forerunner, of the follower, relation.
    """

    state: str
    soil: str
    zones: tuple[ZoneIn, ...]
    passages: tuple[PassageIn, ...]
    items: tuple[Item, ...]
    starts_on: date
    options: Mapping[str, str] = field(default_factory=dict)
    owned: frozenset[str] = frozenset()
    lifted: frozenset[tuple[str, str, str]] = frozenset()

    def __post_init__(self) -> None:
        """Refuse uids that stand twice, zones nobody drew, and a yard that is not one whole."""
        _once("zone", (zone.uid for zone in self.zones))
        _once("passage", (passage.uid for passage in self.passages))
        _once("item", [JOB_ITEM, *(item.uid for item in self.items)])
        known = {zone.uid for zone in self.zones}
        ends = [(p.name, end) for p in self.passages for end in (p.start, p.end) if end != STREET]
        for where, zone in [*ends, *((item.uid, item.zone) for item in self.items)]:
            if zone not in known:
                raise ScopeError(
                    f"there is no zone {zone!r}", remedy="draw the zone first", where=where
                )
        if sum(zone.whole for zone in self.zones) != 1:
            raise ScopeError(
                "a yard has exactly one zone that is the whole yard",
                remedy="mark one zone as the whole yard",
                where="yard",
            )

    @property
    def whole(self) -> ZoneIn:
        """The zone that encloses all others."""
        return next(zone for zone in self.zones if zone.whole)

    def zone(self, uid: str) -> ZoneIn:
        """Return the zone of a uid."""
        return next(zone for zone in self.zones if zone.uid == uid)


class Problem(NamedTuple):
    """Something that stands in the way of building: where, which answer, why, and the way out.

    ``where`` is the uid of an item, or ``yard``; ``key`` the key of an answer, or empty; ``obstacles`` what
    is in the way of a load that does not get there.
    """

    where: str
    key: str
    reason: str
    remedy: str
    obstacles: tuple[Sentence, ...] = ()


@dataclass(frozen=True, slots=True)
class Expansion:
    """A scope unfolded: activities in the order of building, links, and what was assumed."""

    activities: tuple[Activity, ...]
    links: tuple[Link, ...]
    problems: tuple[Problem, ...] = ()
    assumptions: tuple[Sentence, ...] = ()


def _once(kind: str, uids: Iterable[str]) -> None:
    for uid, times in Counter(uids).items():
        if times > 1:
            raise ScopeError(
                f"the {kind} {uid!r} stands {times} times",
                remedy=f"give every {kind} a uid of its own",
                where="yard",
            )
