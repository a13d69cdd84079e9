"""Terms: what must hold in the ways out of one storm, and a world in which they do.

A term narrows the world that ways out are looked for in; the plan found keeps every rule of the world as it
is, too, and is judged by that one when it is accepted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from jobs.scheduling.errors import NoPlan

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Pin, Work, World


class TermKind(StrEnum):
    """What must hold."""

    KEEP_DAYS = "keep-days"
    KEEP_CREW = "keep-crew"
    NOT_CREW = "not-crew"
    NOT_BEFORE = "not-before"
    NOT_AFTER = "not-after"
    KEEP_YARD = "keep-yard"


OF_DAYS = (TermKind.NOT_BEFORE, TermKind.NOT_AFTER)
"""Kinds that name a day."""


@dataclass(frozen=True, slots=True)
class Term:
    """One term: about a work, or a whole yard; a crew or a day where its kind names one."""

    kind: TermKind
    work: str = ""
    job: str = ""
    crew: str = ""
    day: date | None = None


def world_under(world: World, published: Mapping[str, Placement], terms: Iterable[Term]) -> World:
    """Return the world in which all terms hold; works that are under way or unknown are left as they are.

    Parameters
    ----------
    published
        Where works stood, for what is to be kept.

    Raises
    ------
    NoPlan
        If nobody is left who could do a work.
    """
    works = dict(world.works)
    for term in terms:
        for name in _about(world, term):
            if works[name].done is None:
                works[name] = _narrowed(world, works[name], published.get(name), term)
    return replace(world, works=works)


def _about(world: World, term: Term) -> list[str]:
    if term.kind is TermKind.KEEP_YARD:
        return [name for name, work in world.works.items() if work.job == term.job]
    return [term.work] if term.work in world.works else []


def _narrowed(world: World, work: Work, at: Placement | None, term: Term) -> Work:
    if term.kind is TermKind.NOT_CREW:
        return _without(world, work, term.crew)
    if term.kind in OF_DAYS and term.day is not None:
        axis = world.axes[world.jobs[work.job].zone]
        if term.kind is TermKind.NOT_BEFORE:
            return _pinned(work, not_before=max(0, axis.slot(term.day)))
        return _pinned(work, not_after=axis.slot(term.day, axis.per_day - 1))
    return work if at is None else _kept(world, work, at, term.kind)


def _kept(world: World, work: Work, at: Placement, kind: TermKind) -> Work:
    """Keep a work's published days, its crew, or its very place."""
    per_day = world.axes[world.jobs[work.job].zone].per_day
    if kind is TermKind.KEEP_DAYS:
        first, last = at.start - at.start % per_day, at.end - at.end % per_day + per_day - 1
        return _pinned(work, not_before=first, not_after=last)
    if at.crew in work.crews:
        work = replace(work, pin=replace(work.pin, crew=at.crew))
    if kind is TermKind.KEEP_YARD:
        return _pinned(work, not_before=at.start, not_after=at.end)
    return work


def _pinned(work: Work, *, not_before: int | None = None, not_after: int | None = None) -> Work:
    """Narrow a pin; it never widens."""
    pin: Pin = work.pin
    if not_before is not None:
        pin = replace(pin, not_before=max(not_before, pin.not_before or 0))
    if not_after is not None:
        last = not_after if pin.not_after is None else min(not_after, pin.not_after)
        pin = replace(pin, not_after=last)
    return replace(work, pin=pin)


def _without(world: World, work: Work, crew: str) -> Work:
    if crew not in work.crews:
        return work
    crews = {name: slots for name, slots in work.crews.items() if name != crew}
    if all(map(world.is_hired, crews)):
        raise NoPlan(f"nobody else can do {work.name}", culprits=(work.id,))
    return replace(work, crews=crews)
