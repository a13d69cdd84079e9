"""Rows of tables as the planner's nouns: crews, machines, places, jobs and works, one kind a method."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from math import asin, cos, radians, sin, sqrt
from typing import TYPE_CHECKING, Any

from jobs import models
from jobs.scheduling.calendars import usual_week, week_mask
from jobs.scheduling.errors import BadWorld
from jobs.scheduling.world import Crew, Done, Job, Keepout, Machine, Pin, Place, Work
from jobs.services.scope.detail import holds_of, machines_of, shift_of, treads_of
from jobs.trade.durations import SLOTS_A_DAY, slots_for, with_people
from jobs.trade.strength import Strength, strength_of, together
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from crews.services.hours import Hours
    from jobs.scheduling.slots import SlotAxis

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
    hours: Hours
    released: Mapping[int, Mapping[str, int]] = field(default_factory=dict)
    """Minutes that an engineer lets waits after a pour last, by activity and wait."""
    today: int = 0
    """Number of the first day of the axes that can still be planned."""
    _strengths: dict[tuple[str, str, str, int, int], tuple[Strength | None, int]] = field(
        default_factory=dict, init=False, repr=False
    )

    @property
    def axis(self) -> SlotAxis:
        """Any of the axes: all have the same days and positions."""
        return next(iter(self.axes.values()))

    def office(self, axis: SlotAxis) -> int:
        """Slots in which people who are not ours work: weekdays that are no holidays."""
        return week_mask(axis, usual_week(axis), closed=self.hours.holidays)

    def crew(self, slug: str) -> Crew:
        """A crew works its day slots, and may do a dawn or evening shift on a day it works."""
        crew = self.hours.crews[slug]
        return Crew(slug, crew.name, self._bits(crew.masks), self._bits(crew.optional))

    def _bits(self, masks: Sequence[int]) -> int:
        """Day slots a day as a bitmap of the axis; off-shift positions on days with any."""
        day_of = {mask: self._day_bits(mask) for mask in set(masks)}
        bits = 0
        for day, mask in enumerate(masks):
            bits |= day_of[mask] << (day * self.axis.per_day)
        return bits

    def _day_bits(self, mask: int) -> int:
        others = sum(
            1 << index
            for index, position in enumerate(self.axis.positions)
            if position.shift is not Shift.DAY and mask
        )
        return self._day_slots(mask) | others

    def _day_slots(self, mask: int) -> int:
        """Day slots, first lowest, as positions of a day."""
        day = [n for n, p in enumerate(self.axis.positions) if p.shift is Shift.DAY]
        return sum(1 << n for at, n in enumerate(day) if mask >> at & 1)

    def machines(self) -> dict[str, Machine]:
        """All units of one kind are one machine with a count; a down day shuts a unit."""
        full = (1 << self.axis.per_day) - 1
        units: dict[str, list[int]] = {}
        names: dict[str, str] = {}
        hire: dict[str, list[int]] = {}
        for machine in self.hours.machines.values():
            names.setdefault(machine.kind, machine.name)
            for unit in range(max(machine.units, default=0)):
                bits = 0
                for day, count in enumerate(machine.units):
                    if unit < count:
                        bits |= full << (day * self.axis.per_day)
                units.setdefault(machine.kind, []).append(bits)
                hire.setdefault(machine.kind, []).append(machine.hire)
        return {
            kind: Machine(kind, names[kind], tuple(bits), tuple(hire[kind]))
            for kind, bits in units.items()
        }

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
            machines=self._machines(detail),
            treads=treads_of(detail),
            hauls=detail.get("hauls", {}),
            keepouts=_keepouts(activity, template, self.released.get(activity.pk, {})),
            one_go=bool(detail.get("one_go")),
            shift=shift_of(detail),
            window=self.office(axis) if outside else None,
            pin=self._pin(activity, later, axis),
            done=self._done(activity, axis),
            request=bool(detail.get("request")),
            counts=bool(detail.get("counts", True)),
            short=short,
            lent="" if outside else self.lent(activity),
            exact={
                slug: float(SLOTS_A_DAY * needs)
                for slug, needs in (days or {"": activity.days * left}).items()
            },
        )

    def _machines(self, detail: Mapping[str, Any]) -> dict[str, int]:
        """Return the machines needed that we have; others are hired and no bottleneck."""
        owned = {machine.kind for machine in self.hours.machines.values()}
        return {n.machine: n.units for n in machines_of(detail) if n.machine in owned}

    def _crews(
        self, activity: models.Activity, left: Decimal
    ) -> tuple[dict[str, Decimal], dict[str, int]]:
        """Able crews with the days they need, and the slots each loses where it is short of people."""
        able: dict[str, Decimal] = {}
        short: dict[str, int] = {}
        lent = self.lent(activity)
        for slug in self.hours.crews:
            if slug == lent:
                continue
            strength, lost = self.strength(slug, activity)
            if strength is not None:
                days = with_people(activity.days, people=strength.people, usual=activity.people)
                able[slug] = days * left
                if lost:
                    short[slug] = lost
        if activity.done_crew is not None and activity.started_at:
            slug = activity.done_crew.slug
            able = {slug: able.get(slug) or activity.days * left}
            short = {slug: short[slug]} if slug in short else {}
        if not able:
            raise BadWorld(
                f"No crew can do {activity.name}: it needs {activity.least} people able to do "
                f"{activity.skill}",
                remedy="give a crew that skill and enough people on the crews page",
                culprits=(activity.uid,),
            )
        return able, short

    def lent(self, activity: models.Activity) -> str:
        """Return the crew lent to a work, if it can help: it is there, able, and not on it by itself."""
        crew = activity.lent
        if crew is None or crew.slug not in self.hours.crews:
            return ""
        begun = activity.started_at is not None and activity.done_crew_id == crew.pk
        return "" if begun or activity.skill not in self.hours.crews[crew.slug].able else crew.slug

    def strength(self, slug: str, activity: models.Activity) -> tuple[Strength | None, int]:
        """Return how strong a crew is for a work, and the slots it loses; at most half as many again."""
        crew, lent = self.hours.crews[slug], self.lent(activity)
        most = activity.people + activity.people // 2
        key = (slug, lent, activity.skill, activity.least, most)
        if activity.skill not in crew.able:
            return None, 0
        if key not in self._strengths:
            able: Sequence[int] = crew.able[activity.skill]
            worked = [mask | more for mask, more in zip(crew.masks, crew.optional, strict=True)]
            if lent:
                able = together(able, self.hours.crews[lent].able[activity.skill])
            found = strength_of(able, worked, least=activity.least, most=most, since=self.today)
            self._strengths[key] = found, 0 if found is None else self._lost(found)
        return self._strengths[key]

    def _lost(self, strength: Strength) -> int:
        """Slots of slower days by day; days with too few people altogether."""
        full = (1 << self.axis.per_day) - 1
        bits = 0
        for day, mask in enumerate(strength.lost):
            closed = full if day in strength.barred else self._day_slots(mask)
            bits |= closed << (day * self.axis.per_day)
        return bits

    def _pin(self, activity: models.Activity, later: date | None, axis: SlotAxis) -> Pin:
        dates = [day for day in (later, activity.not_before) if day is not None]
        last = activity.not_after
        kept = None if activity.detail.get("outside") else activity.only_crew
        return Pin(
            not_before=max(0, axis.slot(max(dates))) if dates else None,
            not_after=axis.slot(last, axis.per_day - 1) if last else None,
            crew=kept.slug if kept and activity.started_at is None else "",
        )

    def _done(self, activity: models.Activity, axis: SlotAxis) -> Done | None:
        if activity.started_at is None:
            return None
        crew = activity.done_crew.slug if activity.done_crew else ""
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
