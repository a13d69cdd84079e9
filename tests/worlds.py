"""Tiny yards with their dates written out, and strategies for small valid worlds.

The axis of the yards begins on Monday 8 June 2026 and has six slots a day: 0 at dawn, 1 to 4 by day
(7:00-9:00, 9:00-11:00, 11:30-13:30, 13:30-15:30), 5 in the evening (20:00-23:00). Crews work Monday to
Friday by day unless a test says otherwise.
"""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from jobs.scheduling.result import Placement, Plan
from jobs.scheduling.slots import SlotAxis, make_axis
from jobs.scheduling.world import Crew, Job, Keepout, Machine, Place, Tie, Work, World
from jobs.trade.work import Clock, Lag, Relation, Shift, Tread

MONDAY = date(2026, 6, 8)
CHICAGO = "America/Chicago"
DAWN, FIRST, SECOND, THIRD, LAST, EVENING = range(6)
HOUR = 60
DAY = 24 * HOUR


def axis_of(zone: str = CHICAGO, *, first: date = MONDAY, days: int = 28) -> SlotAxis:
    """Return four weeks from Monday 8 June."""
    return make_axis(first, days, ZoneInfo(zone))


JUNE = axis_of()


def june(day: int, position: int = FIRST) -> int:
    """Return the slot of a position of a day of June 2026."""
    return JUNE.slot(date(2026, 6, day), position)


def week(
    axis: SlotAxis = JUNE,
    *,
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4),
    positions: tuple[int, ...] = (FIRST, SECOND, THIRD, LAST),
    off: tuple[date, ...] = (),
) -> int:
    """Return the bitmap of some positions of some weekdays, days off taken out."""
    return sum(
        1 << slot
        for slot in range(axis.size)
        if axis.day(slot).weekday() in weekdays
        and slot % axis.per_day in positions
        and axis.day(slot) not in off
    )


ALWAYS = (1 << JUNE.size) - 1


def crew(name: str, mask: int | None = None) -> Crew:
    """Return a crew that works Monday to Friday by day."""
    return Crew(name, f"{name} crew", week() if mask is None else mask)


def job(name: str = "oak", **changes: object) -> Job:
    """Return a yard that is open all the time, from Monday 8 June."""
    given: dict[str, object] = {"release": june(8, DAWN), "open": ALWAYS, "zone": CHICAGO}
    return Job(name, f"{name} street", **(given | changes))


def work(name: str, slots: int = 1, crews: str = "north", **changes: object) -> Work:
    """Return a work of some slots for any of the crews named; outside work if none is."""
    given: dict[str, object] = {"job": "oak"}
    able = dict.fromkeys(crews.split(), slots)
    return Work(name, name=name, crews=able, slots=slots, **(given | changes))


def tie(
    before: str,
    after: str,
    amount: int = 0,
    clock: Clock = Clock.ELAPSED,
    relation: Relation = Relation.FINISH_START,
    at_most: int | None = None,
) -> Tie:
    """Return a link, finish-to-start without a wait unless told otherwise."""
    return Tie(before, after, relation, Lag(amount, clock, at_most))


def world(*works: Work, ties: tuple[Tie, ...] = (), **changes: object) -> World:
    """Return the works in two yards, with two crews, one loader, two saws, two zones and a gate."""
    given: dict[str, object] = {
        "axes": {CHICAGO: JUNE},
        "now": june(8, FIRST),
        "crews": {name: crew(name) for name in ("north", "south", "stone")},
        "machines": {
            "loader": Machine("loader", "loader", (ALWAYS,)),
            "saw": Machine("saw", "saw", (ALWAYS, ALWAYS)),
        },
        "places": {
            "patio": Place("patio", "patio"),
            "lawn": Place("lawn", "lawn", crews=2),
            "gate": Place("gate", "side gate", crews=None),
        },
        "jobs": {name: job(name, crews=3) for name in ("oak", "elm")},
        "works": {it.id: it for it in works},
        "ties": ties,
    }
    return World(**(given | changes))


def at(start: int, end: int, crew: str = "north", *machines: tuple[str, int]) -> Placement:
    """Return a placement by the north crew."""
    return Placement(start, end, crew, machines)


def plan(**placements: Placement) -> Plan:
    """Return a plan; an underscore in a name stands for a blank."""
    return Plan({name.replace("_", " "): it for name, it in placements.items()})


def patio() -> tuple[World, Plan]:
    """Return a patio on a slab, and its only soonest plan.

    dig out     Mon 8 - Tue 9        north or south, 8 slots, the loader
    base        Wed 10               north, 4 slots, hauls through the gate
    pour slab   Thu 11               stone, 3 slots in one go, ends 13:30
    saw joints  Thu 11, evening      south, within 24 hours of the pour
    strip forms Fri 12 from 13:30    outside, a day after the pour
    set stone   Fri 19 - Tue 23      stone, 10 slots, 7 days after the pour (Thu 18 13:30)

    The wait ends on Thu 18 at 13:30 sharp, when the last slot of Thursday begins; the stone crew is
    off on that Thursday.
    """
    works = (
        work("dig out", 8, "north south", machines={"loader": 1}, place="patio"),
        work("base", 4, "north", place="patio", hauls={"gate": 60}, treads={"patio": Tread.HEAVY}),
        work(
            "pour slab",
            3,
            "stone",
            place="patio",
            one_go=True,
            keepouts=(
                Keepout("patio", 7 * DAY, Tread.FOOT, frozenset({"saw joints", "strip forms"})),
            ),
        ),
        work("saw joints", 1, "south", shift=Shift.EVENING, treads={"patio": Tread.FOOT}),
        work("strip forms", 1, "", treads={"patio": Tread.FOOT}),
        work("set stone", 10, "stone", place="patio", treads={"patio": Tread.BARROW}),
    )
    ties = (
        tie("dig out", "base"),
        tie("base", "pour slab"),
        tie("pour slab", "saw joints", 4 * HOUR, at_most=DAY),
        tie("pour slab", "strip forms", DAY),
        tie("pour slab", "set stone", 7 * DAY),
    )
    stone = week(off=(date(2026, 6, 18),))
    days = (FIRST, SECOND, THIRD, LAST, EVENING)
    crews = {"north": crew("north"), "south": crew("south", week(positions=days))}
    made = world(
        *works,
        ties=ties,
        crews={**crews, "stone": crew("stone", stone)},
        jobs={"oak": job(promise=june(22, LAST), weight=3)},
    )
    placed = plan(
        dig_out=at(june(8), june(9, LAST), "north", ("loader", 0)),
        base=at(june(10), june(10, LAST), "north"),
        pour_slab=at(june(11), june(11, THIRD), "stone"),
        saw_joints=at(june(11, EVENING), june(11, EVENING), "south"),
        strip_forms=at(june(12, LAST), june(12, LAST), ""),
        set_stone=at(june(19), june(23, SECOND), "stone"),
    )
    return made, placed
