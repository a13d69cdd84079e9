"""Reads the page after the storm: what was said, and the ways out side by side on the same six lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.storm.ways_out import Way
from jobs.services.causes.lose_days import say_lost, taken_back_by_undo
from jobs.services.causes.moved import pending_causes
from jobs.services.storm.accept_storm import earlier_plan
from jobs.services.storm.money import read_owed, say_owed
from jobs.services.storm.offer import (
    NothingPublishedError,
    offered_before,
    read_against,
    read_storm,
)
from jobs.services.storm.terms import may_be_pinned, say_term
from jobs.services.world.lacking import finding_days

from .nobody import NOTHING, lacking
from .storm_columns import WaysTold, tell_ways

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import datetime

    from jobs import models
    from jobs.services.causes.moved import Pending

    from .nobody import Lacking
    from .storm_columns import Column


class Loss(NamedTuple):
    """Something said since the last plan was accepted; ``kind`` and ``pk`` take it back."""

    words: str
    kind: str
    pk: int
    also: tuple[str, ...]


class Held(NamedTuple):
    """A term: what must hold in the ways out."""

    words: str
    pk: int
    may_be_pinned: bool


@dataclass(frozen=True, slots=True)
class StormPage:
    """The page; no columns where nobody has asked yet."""

    published: models.Plan | None
    said: tuple[Loss, ...] = ()
    columns: tuple[Column, ...] = ()
    asked: bool = False
    searched: bool = False
    sentences: tuple[str, ...] = ()
    earlier: int | None = None
    """Number of the plan that undoing brings back."""
    undone: tuple[str, ...] = ()
    """What was said to be lost, and taken back because the plan before this one was undone."""
    owed: str = ""
    """What owners have signed for, owed whichever way is accepted."""
    terms: tuple[Held, ...] = ()
    cannot: str = ""
    """Which terms cannot all be kept, where no way was found."""
    lacking: Lacking = NOTHING
    """Works that nobody can do in any of the ways out."""


def read_storm_page(now: datetime) -> StormPage:
    """Read what was said, and each way out found for the world as it is now."""
    try:
        against = read_against()
    except NothingPublishedError:
        return StormPage(None, tuple(_said(pending_causes())))
    said, earlier = tuple(_said(against.causes)), earlier_plan()
    rows = offered_before(against)
    ways = {row.way for row in rows}
    told = tell_ways(read_storm(now, against), rows) if rows else WaysTold()
    return StormPage(
        published=against.published,
        said=said,
        columns=told.columns,
        asked=bool(ways),
        searched=Way.STEADY in ways,
        sentences=told.sentences,
        terms=tuple(Held(say_term(t), t.pk, may_be_pinned(t)) for t in against.terms),
        cannot=told.cannot,
        lacking=_lacking(told.columns),
        owed=say_owed(read_owed(against.causes)),
        earlier=earlier.number if earlier else None,
        undone=tuple(_undone()) if earlier and not said else (),
    )


def _lacking(columns: Iterable[Column]) -> Lacking:
    """What nobody can do in any of the ways, once."""
    hands = {lack.uid: lack for way in columns for lack in way.nobody}
    return lacking(hands.values(), finding=finding_days() if hands else 0)


def _said(causes: Sequence[Pending]) -> Iterator[Loss]:
    lost = (row for cause in causes for row in cause.losses)
    rows = sorted(lost, key=lambda row: (row.first, row.pk))
    for row in rows:
        if row.dries_id is None:
            also = tuple(say_lost(wet) for wet in rows if wet.dries_id == row.pk)
            yield Loss(say_lost(row), "lost", row.pk, also)
    changes = (cause.change for cause in causes if cause.change is not None)
    for change in sorted(changes, key=lambda row: (row.first, row.pk)):
        where = f"{change.job}: " if change.job else ""
        yield Loss(f"{where}{change.why}", "change", change.pk, ())


def _undone() -> Iterator[str]:
    return (say_lost(row) for row in taken_back_by_undo() if row.dries_id is None)
