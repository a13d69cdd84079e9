"""After the storm: ways out against the published plan, offered as rows that can be accepted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from time import perf_counter
from typing import TYPE_CHECKING, Any, NamedTuple

from crews.models import Machine
from jobs import models
from jobs.scheduling.asking.overtime import with_days
from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.scheduling.result import Placement, Plan, Result, Score, Status
from jobs.scheduling.storm.replan import first_answer
from jobs.scheduling.storm.ways_out import AT_ONCE, BETTER, NoWay, Storm, Way, WayOut
from jobs.scheduling.upset import six_lines
from jobs.services.causes.moved import Pending, pending_causes
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.sky.skies import under_sky
from jobs.services.world.keep import placements_of
from jobs.services.world.overtime import grants_of, told_of
from jobs.services.world.read_world import read_world
from jobs.services.world.revision import world_revision

from .side_by_side import look_side_by_side
from .terms import digest, read_terms, storm_under

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from jobs.services.world.planning import Planning

SECONDS_A_WORK = 0.025
LEAST_SECONDS, MOST_SECONDS = 1.0, 9.0
"""How long the searches look, by the number of works they may move; a page has ten seconds in all."""
KEPT_ANSWERS = 40


class NothingPublishedError(SchedulingError):
    """There is no published plan to mend."""


@dataclass(frozen=True, slots=True)
class Weather:
    """What ways out are looked for from, with the rows it was read from.

    ``plain`` is the same storm with no look at the forecast, for where nothing fits between it and
    what must follow soon. Both are narrowed by the ``terms``; ``wide`` is not. ``refusal`` says why no
    world can keep them, empty if one can.
    """

    planning: Planning
    published: models.Plan
    storm: Storm
    plain: Storm
    wide: Storm
    causes: list[Pending]
    terms: list[models.Term]
    refusal: str = ""


class Against(NamedTuple):
    """What ways out are held against: the plan on phones, what was said since, what must hold."""

    published: models.Plan
    causes: list[Pending]
    terms: list[models.Term]


@dataclass(frozen=True, slots=True)
class Offered:
    """A way found, with the row it can be accepted by."""

    found: WayOut | NoWay
    row: models.Answer


def read_against() -> Against:
    """Read what ways out are held against, in four queries and without the world.

    Raises
    ------
    NothingPublishedError
        If nothing is published.
    """
    published = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if published is None:
        raise NothingPublishedError(
            "Nothing is published yet", remedy="make a plan and publish it first"
        )
    return Against(published, pending_causes(), read_terms(published))


def read_storm(now: datetime, against: Against | None = None) -> Weather:
    """Read the world as it is now against the published plan, which is read too if it is not given.

    Raises
    ------
    NothingPublishedError
        If nothing is published.
    """
    published, causes, terms = against or read_against()
    planning = read_world(now, overtime=published.overtime)
    rented = Machine.objects.filter(rented=True, active=True).values_list("kind", flat=True)
    plain = Storm(
        world=planning.world,
        before=planning.dry,
        published=placements_of(published, planning),
        last_lost=_last_lost(planning, causes),
        rented=frozenset(rented),
    )
    sky = under_sky(planning, now)
    wide = replace(plain, world=sky.world, before=sky.dry)
    try:
        storm, plain = storm_under(wide, terms), storm_under(plain, terms)
    except NoPlan as error:
        return Weather(sky, published, wide, plain, wide, causes, terms, str(error))
    return Weather(sky, published, storm, plain, wide, causes, terms)


def _last_lost(planning: Planning, causes: Iterable[Pending]) -> int:
    """Number on the axis of the last day lost, drying left aside; else the day before planning begins."""
    axis = planning.world.axis
    days = [
        (row.last - axis.first).days
        for cause in causes
        for row in cause.losses
        if row.dries_id is None
    ]
    return max([*days, planning.world.now // axis.per_day - 1])


def answer_at_once(weather: Weather, now: datetime) -> list[Offered]:
    """Offer push right and the old order, the better one first."""
    begun = perf_counter()
    found = _looked(weather, first_answer, AT_ONCE)
    return _offer(weather, found, now, perf_counter() - begun)


def answer_better(
    weather: Weather,
    now: datetime,
    *,
    ways: tuple[Way, ...] = BETTER,
    seconds: float | None = None,
    seed: int = 0,
) -> list[Offered]:
    """Offer steady, on promise and no overtime, searched for some seconds side by side."""
    begun = perf_counter()
    limit = _seconds(weather) if seconds is None else seconds

    def look(storm: Storm) -> tuple[WayOut | NoWay, ...]:
        return look_side_by_side(storm, ways, seconds=limit, seed=seed)

    found = _looked(weather, look, ways)
    return _offer(weather, found, now, perf_counter() - begun)


def _looked(
    weather: Weather, look: Callable[[Storm], tuple[WayOut | NoWay, ...]], ways: tuple[Way, ...]
) -> tuple[WayOut | NoWay, ...]:
    """Look under the forecast, and without it where nothing fits under it."""
    if weather.refusal:
        return tuple(NoWay(way, weather.refusal) for way in ways)
    found = look(weather.storm)
    if any(isinstance(one, WayOut) for one in found):
        return found
    return look(weather.plain)


def offered_before(against: Against) -> list[models.Answer]:
    """Return the rows offered for the world as it is, these terms and this plan, newest of each way."""
    rows = models.Answer.objects.filter(
        world=world_revision(),
        against=against.published,
        terms=digest(against.terms),
    ).order_by("-pk")
    newest: dict[str, models.Answer] = {}
    for row in rows:
        newest.setdefault(row.way, row)
    return list(newest.values())


def _seconds(weather: Weather) -> float:
    free = sum(work.done is None for work in weather.storm.world.works.values())
    return min(MOST_SECONDS, max(LEAST_SECONDS, SECONDS_A_WORK * free))


def _offer(
    weather: Weather, found: Iterable[WayOut | NoWay], now: datetime, seconds: float
) -> list[Offered]:
    offered = []
    for one in found:
        row = models.Answer.objects.create(
            way=one.way,
            world=weather.planning.revision,
            against=weather.published,
            placements=to_minutes(weather.planning, one.result.plan)
            if isinstance(one, WayOut)
            else {},
            account=_account(one, weather),
            terms=digest(weather.terms),
            seconds=seconds,
            made_at=now,
        )
        offered.append(Offered(one, row))
    _forget()
    return offered


def found_before(weather: Weather, row: models.Answer) -> WayOut | NoWay:
    """Return a way offered for this very world from its row, its six lines counted anew."""
    way, account = Way(row.way), row.account
    if not row.placements:
        twin = account.get("twin")
        return NoWay(way, account.get("reason", ""), Way(twin) if twin else None)
    storm, plan = weather.storm, from_minutes(weather.planning, row.placements)
    score = Score(late=account["late"], finish=account["finish"])
    world = storm.world
    if asked := account.get("overtime"):
        world = with_days(world, grants_of(asked, world))
    return WayOut(
        way,
        Result(plan, score, score, Status.FOUND, account["seed"], account["rule"], 1),
        six_lines(
            world,
            storm.before,
            storm.published,
            plan,
            last_lost=storm.last_lost,
            rented=storm.rented,
        ),
        least_changed=account.get("least_changed"),
    )


def _forget() -> None:
    kept = models.Answer.objects.order_by("-pk").values_list("pk", flat=True)[:KEPT_ANSWERS]
    models.Answer.objects.exclude(pk__in=list(kept)).delete()


def _account(found: WayOut | NoWay, weather: Weather) -> dict[str, Any]:
    if isinstance(found, NoWay):
        return {"reason": found.reason, "twin": found.twin.value if found.twin else None}
    result = found.result
    return {
        "rule": result.rule,
        "late": result.score.late,
        "finish": result.score.finish,
        "seed": result.seed,
        "tried": result.tried,
        "least_changed": found.least_changed,
        "overtime": told_of(found.savings, weather.planning.world),
    }


def to_minutes(planning: Planning, plan: Plan) -> dict[str, list[Any]]:
    """Return placements as minutes of UTC, which mean the same on every axis."""
    found = {}
    for name, at in plan.placements.items():
        work = planning.world.works[name]
        axis = planning.world.axes[planning.world.jobs[work.job].zone]
        units = [list(unit) for unit in at.machines]
        found[name] = [_edge(axis.begin, at.start), _edge(axis.end, at.end), at.crew, units]
    return found


def _edge(edge: tuple[int, ...], slot: int) -> int:
    return edge[max(slot, 0)]


def from_minutes(planning: Planning, told: dict[str, list[Any]]) -> Plan:
    """Return stored placements on a world's axis; works it no longer has are left out.

    Raises
    ------
    PlanRefusedError
        If a work has come since that has no place.
    """
    placed = {}
    for name, work in planning.world.works.items():
        if name not in told:
            raise PlanRefusedError("Work has been added since", "ask for the ways out again")
        begin, end, crew, units = told[name]
        axis = planning.world.axes[planning.world.jobs[work.job].zone]
        machines = tuple((kind, unit) for kind, unit in units)
        start, last = axis.from_instant(begin), axis.until_instant(end)
        placed[name] = Placement(start, last, crew, machines)
    return Plan(placed)
