"""When weather lets each work stand, for planning: the forecast's slots within its reach, seasons beyond.

Within reach a slot is shut to a work when a limit of its own is broken, likelier than not; pours and sprays ask
for their whole window. Beyond it no rain is drawn: only months that are too cold or too hot for a work, by
the climate of the place, are shut.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from jobs.scheduling.sky.cure_dates import LONGEST_DAYS, colder_minutes
from jobs.scheduling.sky.limits import slot_conditions, why_stopped
from jobs.trade.soil import GROUND, days_to_dry, lie_of
from jobs.trade.turf import ONLY_IN
from jobs.weather.climate import cool_half
from jobs.weather.hourly import usual_air, warm_share
from jobs.weather.hours import LIKELY, Span, minute
from jobs.weather.limits import Measure
from jobs.weather.reading import day_span, days_of, read_day

from .climate import climates_of
from .forecast import latest_of
from .hazards import COVERED, cures, dryout_of, limits_by_work

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from collections.abc import Set as AbstractSet
    from datetime import date, datetime

    from jobs import models
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Tie, World
    from jobs.services.world.planning import Planning
    from jobs.trade.work import Sentence
    from jobs.weather.limits import Limit
    from jobs.weather.temperature import Warmth

    from .forecast import Told

MM_PER_IN = 25.4
HOUR = 60
ALL_YEAR = frozenset(range(1, 13))


@dataclass(frozen=True, slots=True)
class JobWeather:
    """What is known of the weather of a job: its slots by forecast, its months by climate.

    Attributes
    ----------
    slots
        Measures of each slot within the forecast's reach, by slot of the axis.
    warmth
        Months of the place; None without a position.
    air
        Low and high of each day that the forecast knows, Celsius.
    """

    axis: SlotAxis
    slots: Mapping[int, Mapping[Measure, float | None]]
    warmth: Warmth | None
    air: Mapping[date, tuple[float, float]] = field(default_factory=dict)

    def by_forecast(self, limits: tuple[Limit, ...]) -> int:
        """Return the slots in which work with such limits cannot stand by the forecast, as a bitmap."""
        return sum(1 << slot for slot in self.slots if self.why(limits, slot) is not None)

    def by_season(self, limits: tuple[Limit, ...], only: frozenset[int] = ALL_YEAR) -> int:
        """Return the slots of months in which work with such limits cannot stand, as a bitmap.

        Parameters
        ----------
        only
            Months that are good for the work at all.
        """
        if not limits:
            return 0
        bits = 0
        months = {month for month in range(1, 13) if self._out_of_season(limits, month)}
        if 0 < len(months) < 12:  # noqa: PLR2004 - a work that no month suits is not held for ever
            bits = self._month_bits(months, beyond=True)
        return bits | self._month_bits(ALL_YEAR - only, beyond=False)

    def why(self, limits: tuple[Limit, ...], slot: int) -> Sentence | None:
        """Return why work cannot stand in a slot by the forecast; None if it can, or none is known."""
        seen = self.slots.get(slot)
        return None if seen is None else why_stopped(limits, seen)

    def _out_of_season(self, limits: tuple[Limit, ...], month: int) -> bool:
        """A month whose usual afternoon is too cold, or usual morning too hot, for the work."""
        if self.warmth is None:
            return False
        high, low = self.warmth.highs[month - 1], self.warmth.lows[month - 1]
        usual = {Measure.COLD: high, Measure.HOT: low, Measure.SOIL: (high + low) / 2}
        return why_stopped([it for it in limits if it.given is None], usual) is not None

    def _month_bits(self, months: AbstractSet[int], *, beyond: bool) -> int:
        """Slots of some months; only those beyond the forecast, which speaks for itself, if asked."""
        per_day, bits = self.axis.per_day, 0
        whole = (1 << per_day) - 1
        for n in range(self.axis.days):
            known = beyond and n * per_day in self.slots
            if not known and (self.axis.first + timedelta(days=n)).month in months:
                bits |= whole << (n * per_day)
        return bits


def with_weather(planning: Planning, now: datetime) -> Planning:
    """Return what is to be planned, each outdoor work kept out of the slots that weather shuts to it.

    A work that would have no slot left keeps them all: the plan then stands and the outlook says how
    unlikely it is. ``windows`` keeps what only the forecast shuts, for futures that draw those days afresh.
    """
    limits = limits_by_work(planning)
    shut: dict[tuple[str, tuple[Limit, ...], frozenset[int]], tuple[int, int]] = {}
    weather = weather_of(planning.jobs.values(), planning.world.axes, now)
    works = dict(planning.world.works)
    windows: dict[str, int | None] = {}
    for uid, work in works.items():
        key = (work.job, limits.get(uid, ()), ONLY_IN.get(work.template, ALL_YEAR))
        if key not in shut:
            known = weather[work.job]
            shut[key] = known.by_forecast(key[1]), known.by_season(*key[1:])
        days, months = shut[key]
        if work.done is None and days | months:
            works[uid] = replace(work, window=_narrowed(planning.world, work.window, days | months))
        if work.done is None and days:
            windows[uid] = _narrowed(planning.world, work.window, months)
    ties = tuple(_slowed(planning.world, weather, planning.fixed))
    world = replace(planning.world, works=works, ties=ties)
    return replace(planning, world=world, windows=windows)


def with_season(
    world: World, limits: Mapping[str, tuple[Limit, ...]], warmth: Warmth | None
) -> World:
    """Return a world of one zone that is not planned yet by the usual year alone, without a forecast.

    Parameters
    ----------
    limits
        What stops each work; a work without any stands in the dry.
    warmth
        Months of the place; without them only works that ask for months of their own are held.
    """
    known, works = JobWeather(world.axis, {}, warmth), dict(world.works)
    for uid, work in works.items():
        only = ONLY_IN.get(work.template, ALL_YEAR)
        if months := known.by_season(limits.get(uid, ()), only):
            works[uid] = replace(work, window=_narrowed(world, work.window, months))
    weather = dict.fromkeys(world.jobs, known)
    return replace(world, works=works, ties=tuple(_slowed(world, weather, frozenset())))


def _slowed(
    world: World, weather: Mapping[str, JobWeather], fixed: AbstractSet[tuple[str, str]]
) -> Iterator[Tie]:
    """Give every link, with the cure of concrete longer where its days are cold: by forecast, then by season.

    What an engineer has set stays as it is.
    """
    warm, takes = cures(), {}
    for tie in world.ties:
        key = (world.works[tie.before].job, tie.lag.wait, tie.lag.amount)
        if tie.lag.wait not in warm or (tie.before, tie.lag.wait) in fixed:
            yield tie
            continue
        if key not in takes:
            known = weather[key[0]]
            takes[key] = colder_minutes(_warm_days(known), warm[tie.lag.wait], tie.lag.amount)
        longer = takes[key]
        yield replace(tie, lag=replace(tie.lag, slower=longer)) if longer else tie


def _warm_days(known: JobWeather) -> list[float]:
    """Share of each day, from the first of the axis on, in which concrete cures: by forecast, else as usual."""
    first = known.axis.first
    dates = [first + timedelta(days=n) for n in range(known.axis.days + LONGEST_DAYS)]
    if known.warmth is None:
        return [1.0 for _ in dates]
    return [warm_share(*(known.air.get(day) or usual_air(known.warmth, day))) for day in dates]


def _narrowed(world: World, window: int | None, shut: int) -> int | None:
    whole = (1 << world.axis.size) - 1
    left = (whole if window is None else window) & ~shut & whole
    return left or window


def weather_of(
    jobs: Iterable[models.Job], axes: Mapping[str, SlotAxis], now: datetime
) -> dict[str, JobWeather]:
    """Return what is known of the weather of jobs, by uid, in two queries.

    Yards that share a reading and a soil share its slots, which are worked out once.
    """
    jobs = list(jobs)
    climates, told = climates_of(jobs), latest_of(jobs, now)
    made: dict[tuple[object, ...], dict[int, Mapping[Measure, float | None]]] = {}
    found = {}
    for job in jobs:
        axis, sky, climate = axes[job.zone], told.get(job.uid), climates.get(job.uid)
        slots: Mapping[int, Mapping[Measure, float | None]] = {}
        air: Mapping[date, tuple[float, float]] = {}
        if sky is not None and not sky.stale:
            lie = str(job.options.get(GROUND, ""))
            key = (id(sky.hours), job.zone, dryout_of(job), lie, job.latitude)
            if key not in made:
                made[key] = _slots(sky, job, axis, now)
            slots = made[key]
            air = _air(sky, axis, now)
        found[job.uid] = JobWeather(axis, slots, climate.warmth if climate else None, air)
    return found


def _slots(
    told: Told, job: models.Job, axis: SlotAxis, now: datetime
) -> dict[int, Mapping[Measure, float | None]]:
    """Measures of every slot from now to the forecast's last whole day."""
    if told.hours is None:
        return {}
    found = {}
    dry_from = _dry_from(told, job, axis, now)
    for slot in range(axis.from_instant(minute(now)), axis.size):
        span = Span(axis.begin[slot], axis.end[slot])
        if span.end > told.hours.reach.end:
            break
        day = axis.day(slot)
        drying = max(0.0, (dry_from[day] - span.begin) / HOUR) if day in dry_from else 0.0
        found[slot] = slot_conditions(
            told.hours, told.alerts, span, day_span(day, axis.zone), drying=drying
        )
    return found


def _air(told: Told, axis: SlotAxis, now: datetime) -> dict[date, tuple[float, float]]:
    """Low and high of each day from today that the forecast knows."""
    if told.hours is None:
        return {}
    today, found = now.astimezone(axis.zone).date(), {}
    for day in days_of(told.hours.reach, axis.zone):
        read = read_day(told.hours, day, axis.zone)
        known = day >= today and read.temp_cover >= COVERED
        if known and read.tmin_c is not None and read.tmax_c is not None:
            found[day] = read.tmin_c, read.tmax_c
    return found


def _dry_from(told: Told, job: models.Job, axis: SlotAxis, now: datetime) -> dict[date, int]:
    """Minute from which the ground is dry after likely rain of the days before, by day."""
    if told.hours is None:
        return {}
    table, out, until = dryout_of(job), {}, 0
    day = now.astimezone(axis.zone).date()
    lat = float(job.latitude or 0)
    lie = lie_of(str(job.options.get(GROUND, "")))
    while day_span(day, axis.zone).begin < told.hours.reach.end:
        out[day] = until
        read = read_day(told.hours, day, axis.zone)
        if read.rain_mm and (read.pop_pct is None or read.pop_pct >= LIKELY):
            inches = read.rain_mm / MM_PER_IN
            rain = Decimal(str(round(inches, 3)))
            cool = cool_half(day, lat)
            days = days_to_dry(table, rain, cool=cool, shade=lie.shade, covered=lie.covered).usual
            ended = day_span(day, axis.zone).end
            until = max(until, ended + int(days * 24 * HOUR) if days else 0)
        day += timedelta(days=1)
    return out
