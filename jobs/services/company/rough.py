"""About how long a yard takes on its own: the critical path with usual crews, before anything is saved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from jobs.scheduling.calendars import usual_week, week_mask
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.paths.network import critical_path
from jobs.scheduling.slots import make_axis
from jobs.scheduling.world import Crew, Job, Place, Tie, Work, World
from jobs.trade.durations import slots_for

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from jobs.scheduling.slots import SlotAxis
    from jobs.services.sky.usual_year import UsualYear
    from jobs.trade.scope import Expansion
    from jobs.trade.work import Activity

ALONE = "alone"
DAYS = 400
LONGEST_DAYS = 1600
"""A yard that takes more than four years is told as one that does not end."""
WEEK = 7
WORKDAYS = 5


@dataclass(frozen=True, slots=True)
class Reckoned:
    """When a yard could be done if nothing else was under way and it never rained.

    Attributes
    ----------
    place
        Whose cold and hot months are reckoned with; empty if nobody's are.
    """

    start: date
    finish: date
    works: int
    chain: tuple[str, ...]
    place: str

    @property
    def weeks(self) -> int:
        """Weeks from the first to the last day, begun ones counted whole."""
        return -(-((self.finish - self.start).days + 1) // WEEK)


def reckon(
    expansion: Expansion,
    *,
    start: date,
    zone: str,
    year: UsualYear,
    holidays: frozenset[date] = frozenset(),
) -> Reckoned | None:
    """Return the finish by the critical path, with a usual crew for every work when it is wanted.

    Ground, machines and crews shared out are not looked at, so a plan ends no sooner. None if there
    is nothing to do that counts, or no end within about four years of it.
    """
    counted = [a for a in expansion.activities if a.counts]
    if not counted:
        return None
    crew_days = sum((a.spread.typical for a in counted), start=counted[0].spread.typical * 0)
    days = min(LONGEST_DAYS, DAYS + int(crew_days) * 2)
    axis = make_axis(start - timedelta(days=start.weekday()), days, ZoneInfo(zone))
    world = year.upon(_world(expansion, axis, start, holidays), expansion.activities)
    try:
        network = critical_path(world)
    except SchedulingError:
        return None
    last = max(network.rows[str(a.key)].early_finish for a in counted)
    if last >= axis.size:
        return None
    names = {str(a.key): a.name for a in expansion.activities}
    return Reckoned(
        start=start,
        finish=axis.ends(last).date(),
        works=len(expansion.activities),
        chain=tuple(names[key] for key in network.chains[ALONE]),
        place=year.place,
    )


def _world(expansion: Expansion, axis: SlotAxis, start: date, holidays: frozenset[date]) -> World:
    """One yard, a crew a skill from Monday to Friday, no machine short."""
    office = week_mask(axis, usual_week(axis), closed=holidays)
    whole = (1 << axis.per_day) - 1
    crews = week_mask(axis, [whole] * WORKDAYS + [0] * (WEEK - WORKDAYS), closed=holidays)
    skills = {a.skill for a in expansion.activities if not a.outside}
    places = {a.key.zone for a in expansion.activities}
    return World(
        axes={axis.zone.key: axis},
        now=max(0, axis.slot(start)),
        crews={skill: Crew(skill, skill, crews) for skill in skills},
        machines={},
        places={place: Place(place, place, crews=9) for place in places},
        jobs={
            ALONE: Job(
                ALONE, ALONE, axis.slot(start), (1 << axis.size) - 1, zone=axis.zone.key, crews=9
            )
        },
        works={str(a.key): _work(a, office) for a in expansion.activities},
        ties=tuple(_ties(expansion)),
        holidays=holidays,
    )


def _work(activity: Activity, window: int) -> Work:
    slots = slots_for(activity.spread.typical)
    return Work(
        id=str(activity.key),
        job=ALONE,
        name=activity.name,
        crews={} if activity.outside else {activity.skill: slots},
        slots=slots,
        place=activity.key.zone,
        template=activity.key.template,
        one_go=activity.one_go,
        shift=activity.shift,
        window=window if activity.outside else None,
        counts=activity.counts,
    )


def _ties(expansion: Expansion) -> Iterable[Tie]:
    for link in expansion.links:
        yield Tie(str(link.before), str(link.after), link.relation, link.lag, link.rule, link.why)
