"""Rows of tables as the planner's nouns: places, jobs and works, one kind a method."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from math import asin, cos, radians, sin, sqrt
from typing import TYPE_CHECKING

from jobs import models
from jobs.scheduling.errors import BadWorld
from jobs.scheduling.world import Done, Job, Keepout, Pin, Place, Work
from jobs.services.scope.detail import holds_of, machines_of, shift_of, treads_of
from jobs.trade.durations import SLOTS_A_DAY, slots_for, with_people

from .hands import hired_for

if TYPE_CHECKING:
    from collections.abc import Container, Mapping, Sequence

    from jobs.scheduling.slots import SlotAxis

    from .hands import Able, Hands

NEAR_MILES = 12
"""Straight-line miles that are about half an hour's drive through a town (common practice)."""
EARTH_MILES = 3959


def _miles(a: models.Job, b: models.Job) -> float | None:
    """Great-circle miles between two jobs (haversine), None where one has no position."""
    if None in (a.latitude, a.longitude, b.latitude, b.longitude):
        return None
    lat_a, lon_a, lat_b, lon_b = (
        radians(float(x or 0)) for x in (a.latitude, a.longitude, b.latitude, b.longitude)
    )
    chord = sin((lat_b - lat_a) / 2) ** 2
    chord += cos(lat_a) * cos(lat_b) * sin((lon_b - lon_a) / 2) ** 2
    return 2 * EARTH_MILES * asin(sqrt(chord))


@dataclass(frozen=True, slots=True)
class Rows:
    """Turns rows into the planner's nouns, one kind a method."""

    axes: Mapping[str, SlotAxis]
    jobs: Mapping[int, models.Job]
    hands: Hands
    released: Mapping[int, Mapping[str, int]]
    """Minutes that an engineer lets waits after a pour last, by activity and wait."""

    def places(self, ids: Sequence[int]) -> dict[str, Place]:
        """Zones take one crew (the whole yard two), passages share their slots."""
        places = {
            zone.uid: Place(zone.uid, zone.name, crews=2 if zone.whole else 1)
            for zone in models.Zone.objects.filter(job__in=ids)
        }
        for passage in models.Passage.objects.filter(job__in=ids):
            places[passage.uid] = Place(passage.uid, passage.name, crews=None)
        return places

    def job(self, job: models.Job, closed: int, others: Sequence[models.Job]) -> Job:
        """A job is open on its own working days: outside work needs a weekday."""
        axis = self.axes[job.zone]
        begins = job.starts_on
        if job.paused_until and job.paused_from is None:
            begins = max(begins, job.paused_until)
        release = max(0, axis.slot(begins))
        far = [(other, _miles(job, other)) for other in others]
        near = frozenset(o.uid for o, miles in far if miles is None or miles <= NEAR_MILES)
        return Job(
            id=job.uid,
            name=job.name,
            release=release,
            open=((1 << axis.size) - 1) & ~closed,
            promise=axis.slot(job.promised_on, axis.per_day - 1) if job.promised_on else None,
            weight=job.weight,
            zone=job.zone,
            near=None if len(near) == len(others) else near,
        )

    def works(self, activities: Sequence[models.Activity]) -> dict[str, Work]:
        """Every activity that is planned, by uid."""
        later = _not_before([activity.pk for activity in activities])
        template: dict[tuple[int, str], list[str]] = {}
        for activity in activities:
            template.setdefault((activity.job_id, activity.template), []).append(activity.uid)
        return {
            activity.uid: self._work(activity, later.get(activity.pk), template)
            for activity in activities
        }

    def _work(
        self,
        activity: models.Activity,
        later: date | None,
        template: Mapping[tuple[int, str], Sequence[str]],
    ) -> Work:
        """One activity: done work with what is left of it, outside work by the office's week."""
        detail = activity.detail
        axis = self.axes[self.jobs[activity.job_id].zone]
        outside = bool(detail.get("outside"))
        left = Decimal(100 - (activity.done_share if activity.started_at else 0)) / 100
        days, short = ({}, {}) if outside else self._crews(activity, left)
        return Work(
            id=activity.uid,
            job=self.jobs[activity.job_id].uid,
            name=activity.name,
            crews={slug: slots_for(needs) for slug, needs in days.items()},
            slots=slots_for(activity.days * left),
            place=activity.zone.uid if activity.zone else "",
            template=activity.template,
            machines=self._machines(activity, left),
            treads=treads_of(detail),
            hauls=detail.get("hauls", {}),
            keepouts=_keepouts(activity, template, self.released.get(activity.pk, {})),
            one_go=bool(detail.get("one_go")),
            shift=shift_of(detail),
            window=self.hands.office(axis) if outside else None,
            pin=self._pin(activity, later, axis, able=days),
            done=self._done(activity, axis, left, able=days),
            request=bool(detail.get("request")),
            counts=bool(detail.get("counts", True)),
            short=short,
            lent="" if outside else self.hands.lent(activity),
            exact={
                slug: float(SLOTS_A_DAY * needs)
                for slug, needs in (days or {"": activity.days * left}).items()
            },
        )

    def _machines(self, activity: models.Activity, left: Decimal) -> dict[str, int]:
        """Return the machines needed that we have; others, and units we lack, are hired and no bottleneck."""
        owned, needs = self.hands.owned(), machines_of(activity.detail)
        if activity.started_at is not None and activity.done_crew is not None:
            slots, crew = slots_for(activity.days * left), activity.done_crew.slug
            leaves = self.hands.machine_leaves
            needs = tuple(n for n in needs if not leaves(n.machine, crew, slots))
        return {
            n.machine: min(n.units, self.hands.stays(n.machine) or n.units)
            for n in needs
            if n.machine in owned
        }

    def _crews(
        self, activity: models.Activity, left: Decimal
    ) -> tuple[dict[str, Decimal], dict[str, int]]:
        """Able crews with the days they need, and the slots each loses where it is short of people.

        Where none of them can for good, whoever is hired for it is one of them.
        """
        found = {} if activity.hired and activity.done_crew is None else self._able(activity)
        able = {
            slug: left
            * with_people(activity.days, people=it.strength.people, usual=activity.people)
            for slug, it in found.items()
        }
        short = {slug: it.lost for slug, it in found.items() if it.lost}
        if activity.done_crew is not None and self._goes_on(activity, left):
            slug = activity.done_crew.slug
            able = {slug: able.get(slug) or activity.days * left}
            return able, {slug: short[slug]} if slug in short else {}
        if not self.hands.hours.crews:
            raise BadWorld(
                f"There is no crew that could do {activity.name}",
                remedy="set up your crews on the crews page",
                culprits=(activity.uid,),
            )
        if all(it.until is not None for it in found.values()):
            able[hired_for(activity.uid)] = activity.days * left
        return able, short

    def _able(self, activity: models.Activity) -> dict[str, Able]:
        """Crews that can do a work; one it is fixed for by hand alone, if it can but is not with us for good."""
        lent = self.hands.lent(activity)
        slugs = [slug for slug in self.hands.hours.crews if slug != lent]
        found = {slug: it for slug in slugs if (it := self.hands.able(slug, activity)) is not None}
        kept = found.get(activity.only_crew.slug) if activity.only_crew else None
        if activity.only_crew and kept and kept.until is not None:
            return {activity.only_crew.slug: kept}
        return found

    def _pin(
        self, activity: models.Activity, later: date | None, axis: SlotAxis, *, able: Container[str]
    ) -> Pin:
        dates = [day for day in (later, activity.not_before) if day is not None]
        last = activity.not_after
        kept = None if activity.detail.get("outside") else activity.only_crew
        if hired_for(activity.uid) in able or (kept and kept.gone_from and kept.slug not in able):
            kept = None
        return Pin(
            not_before=max(0, axis.slot(max(dates))) if dates else None,
            not_after=axis.slot(last, axis.per_day - 1) if last else None,
            crew=kept.slug if kept and activity.started_at is None else "",
        )

    def _goes_on(self, activity: models.Activity, left: Decimal) -> bool:
        """True if a work has begun, and its crew goes on with it."""
        return activity.started_at is not None and not self._left(activity, left)

    def _left(self, activity: models.Activity, left: Decimal) -> bool:
        """True if the crew at a running work will be gone before it is done: others do the rest."""
        crew = activity.done_crew
        if crew is None or crew.gone_from is None or activity.finished_at is not None:
            return False
        return self.hands.leaves_before(crew.slug, slots_for(activity.days * left))

    def _done(
        self, activity: models.Activity, axis: SlotAxis, left: Decimal, *, able: Container[str]
    ) -> Done | None:
        if activity.started_at is None or not self._goes_on(activity, left):
            return None
        hired = hired_for(activity.uid)
        crew = activity.done_crew.slug if activity.done_crew else hired if hired in able else ""
        start = axis.until_instant(_minute(activity.started_at)) + 1
        if activity.finished_at is None:
            return Done(start, None, crew)
        end = axis.from_instant(_minute(activity.finished_at)) - 1
        return Done(start, max(start, end), crew)


def _keepouts(
    activity: models.Activity,
    template: Mapping[tuple[int, str], Sequence[str]],
    released: Mapping[str, int],
) -> tuple[Keepout, ...]:
    """Return the ground a work keeps clear afterwards; exempt templates as the works they are."""
    return tuple(
        Keepout(
            hold.place,
            min(hold.minutes, released.get(hold.wait, hold.minutes)),
            hold.keeps_out,
            frozenset(
                uid for key in hold.exempt for uid in template.get((activity.job_id, key), ())
            ),
        )
        for hold in holds_of(activity.detail)
    )


def _minute(moment: datetime) -> int:
    return int(moment.astimezone(UTC).timestamp()) // 60


def _not_before(ids: Sequence[int]) -> dict[int, date]:
    """Day before which a work cannot start: its delivery has not come, its choice is not made."""
    later: dict[int, date] = {}
    waits = [
        (row.activity_id, row.earliest)
        for row in models.Delivery.objects.filter(activity__in=ids, arrived_on__isnull=True)
    ]
    waits += [
        (row.activity_id, row.expected_on + timedelta(days=1))
        for row in models.Decision.objects.filter(
            activity__in=ids, decided_on__isnull=True, expected_on__isnull=False
        )
        if row.expected_on
    ]
    for pk, day in waits:
        if pk is not None and day is not None:
            later[pk] = max(later.get(pk, day), day)
    return later
