"""Invented networks and portfolios of any size for measurements; nothing in them is anybody's."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from jobs.scheduling.calendars import usual_week, week_mask
from jobs.scheduling.dice import Dice
from jobs.scheduling.kernel import Bond
from jobs.scheduling.slots import make_axis
from jobs.scheduling.world import Crew, Job, Machine, Place, Tie, Work, World
from jobs.trade.work import Lag, Relation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.scheduling.slots import SlotAxis

FIRST_DAY = date(2026, 6, 8)
ZONE = "America/Chicago"
DAY_MINUTES = 24 * 60
LITTLE = 3
"""Slots up to which work takes the same time in every yard."""

#: A back yard from first call to last look: name, skill, slots, zone, machine, days to wait, links.
YARD: tuple[tuple[str, str, int, str, str, int, str], ...] = (
    ("call before digging", "", 1, "", "", 3, ""),
    ("order stone", "", 1, "", "", 5, ""),
    ("spray lawn", "garden", 1, "lawn", "", 10, ""),
    ("protect house", "garden", 1, "patio", "", 0, ""),
    ("take out old patio", "dig", 6, "patio", "loader", 0, "call before digging,protect house"),
    ("strip sod", "dig", 4, "lawn", "loader", 0, "spray lawn,call before digging"),
    ("dig patio", "dig", 6, "patio", "loader", 0, "take out old patio"),
    ("dig wall footing", "dig", 4, "slope", "loader", 0, "call before digging"),
    ("rough grade", "dig", 4, "lawn", "loader", 0, "strip sod,dig patio"),
    ("trench drain", "dig", 4, "lawn", "loader", 0, "rough grade"),
    ("lay drain", "garden", 3, "lawn", "", 0, "trench drain"),
    ("inspect drain", "", 1, "", "", 0, "lay drain"),
    ("fill trench", "garden", 2, "lawn", "plate", 0, "inspect drain"),
    ("sleeves", "garden", 1, "patio", "", 0, "dig patio"),
    ("patio base", "concrete", 4, "patio", "plate", 0, "dig patio,sleeves"),
    ("form slab", "concrete", 3, "patio", "", 0, "patio base"),
    ("steel", "concrete", 2, "patio", "", 0, "form slab"),
    ("inspect steel", "", 1, "", "", 0, "steel"),
    ("pour slab", "concrete", 3, "patio", "", 7, "inspect steel"),
    ("strip forms", "concrete", 1, "patio", "", 0, ""),
    ("wall base", "stone", 3, "slope", "plate", 0, "dig wall footing"),
    ("build wall", "stone", 12, "slope", "", 0, "wall base"),
    ("wall drain", "garden", 2, "slope", "", 0, "wall base"),
    ("back fill wall", "dig", 3, "slope", "loader", 0, "build wall,wall drain"),
    ("cap wall", "stone", 4, "slope", "saw", 1, "back fill wall"),
    ("set stone", "stone", 14, "patio", "saw", 2, "pour slab,order stone"),
    ("grout", "stone", 5, "patio", "", 3, "set stone"),
    ("seal stone", "stone", 2, "patio", "", 0, "grout"),
    ("fire pit base", "stone", 2, "patio", "", 0, "grout"),
    ("fire pit", "stone", 6, "patio", "saw", 0, "fire pit base"),
    ("water lines", "garden", 5, "lawn", "", 0, "fill trench,sleeves"),
    ("water test", "garden", 1, "lawn", "", 0, "water lines"),
    ("light wires", "light", 3, "lawn", "", 0, "fill trench,sleeves"),
    ("set lights", "light", 3, "lawn", "", 0, "light wires,fire pit"),
    ("fine grade", "garden", 4, "lawn", "", 0, "water test,back fill wall"),
    ("edging", "garden", 3, "beds", "", 0, "fine grade"),
    ("plant trees", "garden", 4, "beds", "", 0, "edging"),
    ("plant beds", "garden", 6, "beds", "", 0, "plant trees"),
    ("mulch", "garden", 2, "beds", "", 0, "plant beds,set lights"),
    ("sod", "garden", 4, "lawn", "", 0, "fine grade,mulch"),
    ("clean up", "garden", 1, "patio", "", 0, "sod,seal stone,cap wall,strip forms"),
    ("walk through", "garden", 1, "", "", 0, "clean up"),
)
CREWS: Mapping[str, tuple[str, ...]] = {
    "dig": ("earth 1", "earth 2", "earth 3"),
    "concrete": ("concrete 1", "concrete 2"),
    "stone": ("stone 1", "stone 2", "stone 3", "stone 4", "stone 5"),
    "garden": ("garden 1", "garden 2", "garden 3", "garden 4"),
    "light": ("garden 1", "light"),
}
MACHINES: Mapping[str, int] = {"loader": 3, "plate": 3, "saw": 4}


def invented_portfolio(jobs: int, seed: int) -> World:
    """Return an invented company with some back yards of about forty works each."""
    dice = Dice(seed, "portfolio")
    axis = make_axis(FIRST_DAY, 90 + jobs * 6, ZoneInfo(ZONE))
    week = week_mask(axis, usual_week(axis), closed=[date(2026, 7, 3)])
    names = [f"yard {n + 1}" for n in range(jobs)]
    works: dict[str, Work] = {}
    ties: list[Tie] = []
    for name in names:
        _add_yard(dice, name, works, ties)
    return World(
        axes={ZONE: axis},
        now=1,
        crews={crew: Crew(crew, crew, week) for crews in CREWS.values() for crew in crews},
        machines={name: Machine(name, name, (week,) * units) for name, units in MACHINES.items()},
        places={
            f"{name}/{zone}": Place(f"{name}/{zone}", zone)
            for name in names
            for zone in ("patio", "lawn", "slope", "beds")
        },
        jobs={name: _job(dice, axis, name, turn) for turn, name in enumerate(names)},
        works=works,
        ties=tuple(ties),
    )


def _job(dice: Dice, axis: SlotAxis, name: str, turn: int) -> Job:
    """Return a yard that starts some days after the one before; one in three has a day off."""
    start = 2 * turn + dice.whole(0, 10)
    open_slots, day = (1 << axis.size) - 1, (1 << axis.per_day) - 1
    if dice.whole(0, 2) == 0:
        open_slots &= ~(day << (axis.per_day * (start + dice.whole(5, 40))))
    promise = axis.slot(FIRST_DAY + timedelta(days=start + dice.whole(55, 90)), 4)
    return Job(name, name, start * axis.per_day, open_slots, promise, dice.whole(1, 3), zone=ZONE)


def _add_yard(dice: Dice, job: str, works: dict[str, Work], ties: list[Tie]) -> None:
    """Add the works and links of one yard, sizes varied."""
    waits = {name: days for name, _, _, _, _, days, _ in YARD}
    for name, skill, slots, zone, machine, _, befores in YARD:
        work, length = f"{job}/{name}", max(1, slots + dice.whole(-1, 3) * (slots > LITTLE))
        works[work] = Work(
            work,
            job,
            name,
            crews=dict.fromkeys(CREWS.get(skill, ()), length),
            slots=length,
            place=f"{job}/{zone}" if zone else "",
            machines={machine: 1} if machine else {},
            one_go=name == "pour slab",
            request=not skill,
        )
        ties += [
            _tie(f"{job}/{before}", work, days=waits[before])
            for before in filter(None, befores.split(","))
        ]
    pour, strip = f"{job}/pour slab", f"{job}/strip forms"
    ties.append(_tie(pour, strip, days=1, at_most=6))


def _tie(before: str, after: str, *, days: int, at_most: int | None = None) -> Tie:
    limit = None if at_most is None else at_most * DAY_MINUTES
    return Tie(before, after, lag=Lag(days * DAY_MINUTES, at_most=limit))


def invented_network(size: int, seed: int) -> tuple[list[float], list[Bond]]:
    """Return durations and finish-to-start links of an invented network: two links a work or so."""
    dice = Dice(seed, f"network {size}")
    durations = [float(dice.whole(1, 12)) for _ in range(size)]
    pairs = {
        (max(0, v - dice.whole(1, 40)), v) for v in range(1, size) for _ in range(dice.whole(1, 3))
    }
    return durations, [
        Bond(u, v, Relation.FINISH_START, dice.whole(0, 8) * (dice.whole(0, 9) == 0))
        for u, v in sorted(pairs)
    ]
