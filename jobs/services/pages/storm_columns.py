"""Tells the ways out side by side: each a column of the same six lines, with the works that stand elsewhere."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.reasons.explain import Reasons
from jobs.scheduling.storm.ways_out import AT_ONCE, NoWay, Way
from jobs.scheduling.upset import elsewhere
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.money import read_prices, say_money
from jobs.services.storm.offer import found_before
from jobs.services.storm.terms import say_odds
from jobs.services.telling.speech import say_day, say_least, say_moved, say_span
from jobs.services.telling.words import say
from jobs.services.world.lacking import unmanned

from .nobody import lacks_hands

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import date

    from jobs import models
    from jobs.scheduling.compare import Finish, Move
    from jobs.scheduling.result import Placement
    from jobs.scheduling.storm.ways_out import WayOut
    from jobs.services.storm.money import Prices
    from jobs.services.storm.offer import Weather

    from .nobody import Lack

TITLES = {
    Way.PUSH_RIGHT: ("Push right", "every crew keeps its order, everything slips"),
    Way.OLD_ORDER: ("Old order", "built anew in the old order, by whoever is free first"),
    Way.STEADY: ("Steady", "crews stay at the yards they were told, as far as can be"),
    Way.ON_PROMISE: ("On promise", "finishes first, whoever has to change"),
    Way.NO_OVERTIME: ("No overtime", "steady, and nobody works weekends"),
}
DAYS_NAMED = 8
"""Changed crew-days up to which a way names each."""
MOVES_SHOWN = 30
WHY_SHOWN = 12
"""Moves whose reason is worked out; the first in time."""


class Ends(NamedTuple):
    """One job's finish in a way out."""

    job: str
    when: str
    moved: str
    late: bool


class Moving(NamedTuple):
    """A work that stands elsewhere in a way out, and why it cannot be sooner."""

    name: str
    job: str
    was: str
    becomes: str
    why: str
    pk: int
    """Of its activity if it can be told to stay as it was; else 0."""


@dataclass(frozen=True, slots=True)
class Column:
    """One way out: its six lines in words."""

    way: str
    title: str
    note: str
    pk: int
    seconds: float
    finishes: tuple[Ends, ...]
    at_risk: str
    crew_days: int
    whose: tuple[str, ...]
    """Crews with their changed days, or how many where they are many."""
    had_to: str
    """How many of the crew-days no plan can help changing, in words."""
    saturdays: str
    rentals: str
    money: str
    moves: tuple[Moving, ...]
    more: int
    nobody: tuple[Lack, ...]


class WaysTold(NamedTuple):
    """The ways out that were found, those that were not, and the terms to blame for there being none."""

    columns: tuple[Column, ...] = ()
    sentences: tuple[str, ...] = ()
    cannot: str = ""


def tell_ways(weather: Weather, rows: Iterable[models.Answer]) -> WaysTold:
    """Return each way that was found as a column, in the order in which they are read."""
    columns, sentences, prices = [], [], read_prices()
    for row, found in _in_turn(weather, rows):
        if isinstance(found, NoWay):
            sentences.append(_no_way(found))
        else:
            columns.append(_column(weather, row, found, prices))
    return WaysTold(tuple(columns), tuple(sentences), "" if columns else _cannot(weather))


def _cannot(weather: Weather) -> str:
    """Return which terms stand against each other; empty where none are to blame."""
    told = say_odds(weather.wide, weather.terms)
    one = "it" if told.startswith("This") else "one"
    return f"{told}. Take {one} away below, and the ways out come back." if told else ""


def _in_turn(
    weather: Weather, rows: Iterable[models.Answer]
) -> list[tuple[models.Answer, WayOut | NoWay]]:
    """Steady first once it is there, then the first answers: on time, done by the day, few crew-days changed."""

    def turn(one: tuple[models.Answer, WayOut | NoWay]) -> tuple[int, ...]:
        way = one[1]
        if way.way not in AT_ONCE:
            return 0, list(Way).index(way.way)
        if isinstance(way, NoWay):
            return (2,)
        axis = weather.planning.world.axis
        days = sum((end.new or 0) // axis.per_day for end in way.lines.finishes.values())
        return 1, way.result.score.late, days, len(way.lines.crew_days)

    found = []
    for row in rows:
        with suppress(PlanRefusedError):
            found.append((row, found_before(weather, row)))
    return sorted(found, key=turn)


def _no_way(found: NoWay) -> str:
    title = TITLES[found.way][0]
    if found.twin is not None:
        return f"{title} is the same as {TITLES[found.twin][0].lower()}: no crew works weekends."
    return f"{title} gives no plan: {found.reason}."


def _column(weather: Weather, row: models.Answer, found: WayOut, prices: Prices) -> Column:
    lines = found.lines
    title, note = TITLES[found.way]
    jobs = weather.planning.jobs
    storm = weather.storm
    moves = elsewhere(storm.world, storm.published, found.result.plan)
    return Column(
        way=found.way.value,
        title=title,
        note=note,
        pk=row.pk,
        seconds=row.seconds,
        finishes=tuple(
            _ends(weather, jobs[uid], finish, late=uid in lines.at_risk)
            for uid, finish in lines.finishes.items()
            if finish.new is not None
        ),
        at_risk=", ".join(jobs[uid].name for uid in lines.at_risk) or "none",
        crew_days=len(lines.crew_days),
        whose=tuple(say_whose([(_crew(weather, c), d) for c, d in lines.crew_days])),
        had_to=say_least(len(lines.crew_days), found.least_changed),
        saturdays=", ".join(f"{_crew(weather, c)} {say_day(d)}" for c, d in lines.saturdays)
        or "none",
        rentals=", ".join(
            f"{weather.planning.world.machines[it.machine].name}, {jobs[it.job].name}, "
            f"{it.days} day{'' if it.days == 1 else 's'}"
            for it in lines.rentals
        )
        or "none",
        money=say_money(prices.more(weather, found)),
        moves=tuple(_told(weather, found, moves[:MOVES_SHOWN])),
        more=max(0, len(moves) - MOVES_SHOWN),
        nobody=tuple(_nobody(weather, found)),
    )


def _nobody(weather: Weather, found: WayOut) -> Iterator[Lack]:
    """Yield the works that a way gives to somebody still to be hired."""
    planning, plan = weather.planning, found.result.plan
    for uid in sorted(unmanned(planning, plan), key=lambda uid: plan[uid].start):
        job, at = planning.jobs[planning.world.works[uid].job], plan[uid]
        when = say_span(_date(weather, job, at.start), _date(weather, job, at.end))
        yield lacks_hands(planning.activities[uid], job, when)


def say_whose(named: Sequence[tuple[str, date]]) -> Iterator[str]:
    """Yield each crew's name with its days, all who are hired as one; only their number where all are too many to read."""
    for crew in dict.fromkeys(crew for crew, _ in named):
        days = [say_day(day) for who, day in named if who == crew]
        many = f"{len(days)} day{'' if len(days) == 1 else 's'}"
        yield f"{crew}: {many if len(named) > DAYS_NAMED else ', '.join(days)}"


def _crew(weather: Weather, slug: str) -> str:
    crew = weather.planning.world.crews.get(slug)
    return crew.name if crew else slug


def _ends(weather: Weather, job: models.Job, finish: Finish, *, late: bool) -> Ends:
    new = _date(weather, job, finish.new or 0)
    if finish.old is None:
        return Ends(job.name, say_day(new), "new", late)
    was = _date(weather, job, finish.old)
    kept = ", within its promise" if new > was and job.promised_on and not late else ""
    return Ends(job.name, say_day(new), say_moved(was, new) + kept, late)


def _date(weather: Weather, job: models.Job, slot: int) -> date:
    return weather.planning.world.axes[job.zone].day(max(slot, 0))


def _told(weather: Weather, found: WayOut, moves: list[Move]) -> Iterator[Moving]:
    reasons = Reasons(weather.planning.world, found.result.plan) if moves else None
    for n, move in enumerate(moves):
        activity = weather.planning.activities[move.work]
        job = weather.planning.jobs[weather.planning.world.works[move.work].job]
        why = ""
        if reasons is not None and n < WHY_SHOWN:
            why = say(reasons.why_not_sooner(move.work).binding)
        yield Moving(
            activity.name,
            job.name,
            _place(weather, job, move.old),
            _place(weather, job, move.new),
            why,
            activity.pk if move.old.crew and activity.started_at is None else 0,
        )


def _place(weather: Weather, job: models.Job, at: Placement) -> str:
    span = say_span(_date(weather, job, at.start), _date(weather, job, at.end))
    return f"{span}, {_crew(weather, at.crew)}" if at.crew else span
