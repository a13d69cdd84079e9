"""Tiny yards with their dates written out, and strategies for small valid worlds.

The axis of the yards begins on Monday 8 June 2026 and has six slots a day: 0 at dawn, 1 to 4 by day
(7:00-9:00, 9:00-11:00, 11:30-13:30, 13:30-15:30), 5 in the evening (20:00-23:00). Crews work Monday to
Friday by day unless a test says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from jobs.scheduling.result import Placement, Plan
from jobs.scheduling.slots import SlotAxis, make_axis
from jobs.scheduling.world import Crew, Done, Job, Keepout, Machine, Pin, Place, Tie, Work, World
from jobs.trade.work import Clock, Lag, Relation, Shift, Tread

MONDAY = date(2026, 6, 8)
CHICAGO = "America/Chicago"
DAWN, FIRST, SECOND, THIRD, LAST, EVENING = range(6)
HOUR = 60
DAY = 24 * HOUR


@cache
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
    *,
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


# Small valid worlds for hypothesis: at most 8 works, 3 crews, 2 machines, 2 yards.

WEEKS = {
    "summer": MONDAY,
    "clocks go back": date(2026, 10, 26),  # Sunday 1 November has 25 hours
    "clocks go forward": date(2026, 3, 2),  # Sunday 8 March has 23 hours
}
ZONES = (CHICAGO, "America/New_York", "America/Los_Angeles")
LAGS = {
    Clock.ELAPSED: (0, 4 * HOUR, DAY, 60 * HOUR, 7 * DAY, -2 * HOUR),
    Clock.WORK: (0, 1, 3, 6, -2),
    Clock.BUSINESS: (0, 1, 2, 3, -1),
}


@dataclass(frozen=True)
class Size:
    """How big and how bitter worlds may be.

    ``hard`` allows what can make a world impossible: at most, a last slot by hand, a yard that is
    closed to all but some days.
    """

    works: int = 8
    slots: int = 6
    days: int = 70
    hard: bool = True
    begun: bool = True


@dataclass(frozen=True)
class Setting:
    """What is drawn before the works: the axis, and who and what there is."""

    axis: SlotAxis
    now: int
    crews: dict[str, Crew]
    jobs: dict[str, Job]


def masks(axis: SlotAxis) -> st.SearchStrategy[int]:
    """Some working weeks: with Saturdays, without Wednesdays, long days, a day off."""
    return st.builds(
        lambda weekdays, positions, off: week(
            axis, weekdays=weekdays, positions=positions, off=tuple(axis.day(d * 6) for d in off)
        ),
        st.sampled_from([(0, 1, 2, 3, 4), (0, 1, 2, 3, 4, 5), (0, 1, 3, 4), tuple(range(7))]),
        st.sampled_from(
            [(FIRST, SECOND, THIRD, LAST), tuple(range(6)), (FIRST, SECOND, THIRD, LAST, EVENING)]
        ),
        st.sets(st.integers(0, 9), max_size=2),
    )


@st.composite
def settings_of_worlds(draw: st.DrawFn, size: Size) -> Setting:
    """Draw axes in one or two zones, crews and yards."""
    first = draw(st.sampled_from(list(WEEKS.values())))
    axis = axis_of(first=first, days=size.days)
    always = (1 << axis.size) - 1
    crews = {n: Crew(n, n, draw(masks(axis))) for n in draw(st.sampled_from(["A", "AB", "ABC"]))}
    jobs = {}
    for name in draw(st.sampled_from(["j", "jk"])):
        off = draw(st.sampled_from([0, 0, 0b111111 << 6, 0b111111 << 18]))
        jobs[name] = Job(
            name,
            name,
            release=draw(st.integers(0, 14)),
            open=always & ~off,
            promise=draw(st.none() | st.integers(6, 60)),
            weight=draw(st.integers(1, 3)),
            crews=draw(st.integers(1, 2)),
            zone=draw(st.sampled_from(ZONES)),
            near=draw(st.sampled_from([None, None, frozenset("jk"), frozenset()])),
        )
    return Setting(axis, draw(st.integers(1, 20)), crews, jobs)


@st.composite
def works_of(draw: st.DrawFn, name: str, setting: Setting, size: Size, begun: Done | None) -> Work:
    """Draw one work; one that has begun keeps to the crew that began it."""
    yard = setting.jobs[draw(st.sampled_from(sorted(setting.jobs)))]
    shifts = [Shift.DAY] * 6 + [Shift.DAWN, Shift.EVENING]
    shift = draw(st.sampled_from(shifts)) if begun is None else Shift.DAY
    shifted = setting.axis.shift_mask(shift)
    able = [c.id for c in setting.crews.values() if c.open & shifted]
    if not able:
        shift, able = Shift.DAY, sorted(setting.crews)
    one_go = begun is None and draw(st.integers(0, 5)) == 0
    most = 1 if one_go and shift is not Shift.DAY else 3 if one_go else size.slots
    length = st.integers(1, min(most, size.slots))
    crews = draw(st.dictionaries(st.sampled_from(able), length, max_size=3))
    if begun is not None:
        crews = {begun.crew: draw(length)} if begun.crew else {}
    others = [crew for crew in able if crew not in crews] if crews else []
    lent = draw(st.sampled_from(["", "", "", *others[:1]]))
    places = ("patio", "lawn") if yard.id == "j" else ("yard",)
    ways = {"j": "gate", "k": "lane"}
    place = draw(st.sampled_from(["", *places])) if crews else ""
    machines = st.sampled_from([{}, {}, {"loader": 1}, {"saw": 1}, {"saw": 2}])
    return Work(
        name,
        yard.id,
        name,
        crews=crews,
        slots=draw(length),
        place=place,
        machines=draw(machines) if crews and begun is None else {},
        treads=draw(st.dictionaries(st.sampled_from(places), st.sampled_from(Tread), max_size=1)),
        hauls=draw(st.sampled_from([{}, {}, {ways[yard.id]: 50}, {ways[yard.id]: 20}])),
        keepouts=tuple(
            Keepout(spot, minutes, draw(st.sampled_from(Tread)), draw(exemptions))
            for spot, minutes in draw(
                st.lists(st.tuples(st.sampled_from(places), st.sampled_from(RESTS)), max_size=1)
            )
        ),
        one_go=one_go,
        shift=shift,
        window=draw(st.sampled_from([None, None, None, WINDOW])),
        pin=draw(pins(crews, size)) if begun is None else Pin(),
        done=begun,
        request=draw(st.booleans()) and not crews,
        counts=draw(st.integers(0, 7)) > 0,
        short=draw(st.sampled_from([{}, {}, {}, dict.fromkeys(crews, SHORT)])),
        lent=lent,
    )


RESTS = (HOUR, DAY, 3 * DAY)
WINDOW = ~(0b111111 << 24)
SHORT = 0b111111 << 18 | 0b011000 << 30 | 0b010000 << 36
"""Too few people on the fourth day, slower on the sixth and seventh."""
exemptions = st.frozensets(st.sampled_from([f"w{i}" for i in range(8)]), max_size=2)


def pins(crews: dict[str, int], size: Size) -> st.SearchStrategy[Pin]:
    """Mostly none; else not before a slot, by a crew, or, in hard worlds, not after a slot."""
    return st.builds(
        Pin,
        not_before=st.sampled_from([None] * 5 + [20, 31]),
        not_after=st.sampled_from([None] * 8 + [80, 200]) if size.hard else st.none(),
        crew=st.sampled_from([*[""] * 5, *sorted(crews)]),
    )


COLDER = (0, 6 * 60, 2 * 60, 0, 30 * 60, 27 * 60, 23 * 60, 20 * 60)
"""Minutes that a cold day makes a wait longer, never so much less than the day before that it turns."""


@st.composite
def lags(draw: st.DrawFn, size: Size) -> Lag:
    """Draw a wait on any clock, seldom with an at-most that leaves a day or more."""
    clock = draw(st.sampled_from(Clock))
    amount = draw(st.sampled_from(LAGS[clock]))
    room = draw(st.sampled_from([None] * 5 + [DAY, 3 * DAY, 9 * DAY])) if size.hard else None
    elapsed = amount if clock is Clock.ELAPSED else max(0, amount) * DAY
    slower = draw(st.sampled_from([(), (), (), COLDER]))
    room = None if room is None else max(0, elapsed) + room + max(slower, default=0)
    return Lag(amount, clock, room, slower=slower)


@st.composite
def worlds(draw: st.DrawFn, size: Size = Size()) -> World:
    """Draw a small world; its links run from earlier to later works, so they make no ring."""
    setting = draw(settings_of_worlds(size))
    names = [f"w{i}" for i in range(draw(st.integers(1, size.works)))]
    log = draw(logs(setting, len(names))) if size.begun else []
    began = dict(zip(names, log, strict=False))
    works = {name: draw(works_of(name, setting, size, began.get(name))) for name in names}
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1 :]]
    bound = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=10)) if pairs else []
    always = (1 << setting.axis.size) - 1
    return World(
        axes={zone: axis_of(zone, first=setting.axis.first, days=size.days) for zone in ZONES},
        now=setting.now,
        crews=setting.crews,
        machines={
            "loader": Machine("loader", "loader", (always & ~(0b111111 << 12),)),
            "saw": Machine("saw", "saw", (always, always)),
        },
        places={
            "patio": Place("patio", "patio"),
            "lawn": Place("lawn", "lawn", crews=2),
            "yard": Place("yard", "yard"),
            "gate": Place("gate", "gate", crews=None),
            "lane": Place("lane", "lane", crews=None, share=60),
        },
        jobs=setting.jobs,
        works=works,
        ties=tuple(Tie(a, b, draw(st.sampled_from(Relation)), draw(lags(size))) for a, b in bound),
        holidays=frozenset({setting.axis.day(4 * 6)}),
    )


@st.composite
def logs(draw: st.DrawFn, setting: Setting, works: int) -> list[Done]:
    """Draw what has happened: up to three works one after another, the last perhaps running."""
    starts = sorted(draw(st.sets(st.integers(0, setting.now - 1), max_size=min(3, works))))
    ends = [*(start - 1 for start in starts[1:]), draw(st.sampled_from([None, setting.now - 1]))]
    crew_ids = st.sampled_from([*setting.crews, ""])
    return [Done(start, end, draw(crew_ids)) for start, end in zip(starts, ends, strict=False)]
