"""Record time lost: rain and what else, and by each yard's soil the days its ground dries afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction

from crews.services.day_hours import read_book
from jobs import clock, models
from jobs.models.cause import ALL_DAY, Cause
from jobs.scheduling.slots import USUAL_DAY, day_of
from jobs.services.history import record
from jobs.services.sky.hazards import dryout_of
from jobs.services.sky.sky_on_file import sky_of
from jobs.services.telling.errors import SaidBefore
from jobs.services.telling.speech import say_date, say_span, say_time
from jobs.services.turns import take_turn
from jobs.services.world.read_world import open_jobs
from jobs.trade.soil import GROUND, days_to_dry, lie_of
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Iterator

    from crews.models import Crew
    from crews.services.day_hours import HoursBook
    from jobs.scheduling.slots import Position

RAIN_A_DAY = Decimal("0.5")
"""Inches taken for a day rained out where nobody measured (common practice: a day's steady rain)."""
MOST_RAIN_IN = 30
COOL_MONTHS = frozenset({10, 11, 12, 1, 2, 3})
COOL_LATITUDE = 35
"""Ground dries half as fast from October to March north of it (common practice)."""
DAY_SLOTS = tuple(p for p in USUAL_DAY if p.shift is Shift.DAY)
"""The slots of a usual day; ``day_slots`` has those of a certain one."""
EVENING = time(18)
"""When the rain of a whole day is taken to have ended."""
MOST_DAYS = 60
LONGEST = 365
"""Days from today beyond which a day lost is a slip of the year."""


@dataclass(frozen=True, slots=True)
class Lost:
    """What somebody says was lost.

    Attributes
    ----------
    first, last
        Days, both included.
    from_slot
        First day slot lost on the first day, 1 to 4.
    rain_in
        Inches of rain in all; None where nobody measured.

    Raises
    ------
    ValueError
        If the days are out of order or too many, or there is no such slot.
    """

    first: date
    last: date
    from_slot: int = 1
    job: models.Job | None = None
    crew: Crew | None = None
    activity: models.Activity | None = None
    cause: str = Cause.RAIN
    why: str = ""
    rain_in: Decimal | None = None

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"{self.last} lies before {self.first}: swap the two")
        if (self.last - self.first).days >= MOST_DAYS:
            raise ValueError(f"more than {MOST_DAYS} days at once: pause the job instead")
        if self.from_slot not in range(1, len(DAY_SLOTS) + 1):
            raise ValueError(f"a day has slots 1 to {len(DAY_SLOTS)}, not {self.from_slot}")


@transaction.atomic
def lose_days(lost: Lost, *, by: str, now: datetime) -> list[models.LostTime]:
    """Write what was lost, and the drying out of soil that follows rain; nothing is planned yet.

    Returns
    -------
    list of LostTime
        The loss first, then one row for each yard whose ground stays wet.

    Raises
    ------
    ValueError
        If it lies more than a year away.
    """
    if abs((lost.first - now.date()).days) > LONGEST:
        raise ValueError(f"{lost.first} is more than a year away: check the date")
    row = models.LostTime(
        first=lost.first,
        last=lost.last,
        first_slots=_slots_from(lost.from_slot),
        job=lost.job,
        crew=lost.crew,
        activity=lost.activity,
        cause=lost.cause,
        why=lost.why,
        rain_in=lost.rain_in,
        by=by,
        at=now,
    )
    row.sky = sky_of(row, [lost.job] if lost.job else open_jobs(), now)
    row.save()
    record("time lost", by=by, at=now, job=lost.job, after={"lost": _kept(row)})
    whole = lost.crew is None and lost.activity is None
    drying = list(_drying(row, now)) if lost.cause == Cause.RAIN and whole else []
    return [row, *drying]


@transaction.atomic
def lose_once(lost: Lost, *, by: str, now: datetime) -> list[models.LostTime]:
    """Write what was lost like ``lose_days``, unless the very same is written already.

    Raises
    ------
    SaidBefore
        If it stands, nobody having taken it back.
    ValueError
        If it lies more than a year away.
    """
    take_turn()
    same = models.LostTime.objects.filter(
        first=lost.first, last=lost.last, first_slots=_slots_from(lost.from_slot),
        job=lost.job, crew=lost.crew, activity=lost.activity, cause=lost.cause, why=lost.why,
        rain_in=lost.rain_in, dries=None, taken_back_at=None,
    )  # fmt: skip
    if same.exists():
        raise SaidBefore("That was logged already, in the same words")
    return lose_days(lost, by=by, now=now)


@transaction.atomic
def take_back(row: models.LostTime, *, by: str, now: datetime) -> None:
    """Say that it did not happen after all, nor did the ground get wet."""
    for one in (row, *row.drying.filter(taken_back_at=None)):
        one.taken_back_at = now
        one.save(update_fields=["taken_back_at"])
    record("lost time taken back", by=by, at=now, job=row.job, before={"lost": _kept(row)})


def taken_back_by_undo() -> list[models.LostTime]:
    """Return what was taken back because the plan before the published one was undone, drying included."""
    published = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if published is None:
        return []
    entry = models.HistoryEntry.objects.filter(what="plan undone", after=published.number).first()
    undone = entry.before if entry else None
    if undone is None:
        return []
    rows = models.LostTime.objects.filter(plan__number=undone).exclude(taken_back_at=None)
    return list(rows.select_related("job", "crew", "activity").order_by("first", "pk"))


@transaction.atomic
def say_again(*, by: str, now: datetime) -> None:
    """Say that it was lost all the same, though the plan made because of it was undone."""
    for row in taken_back_by_undo():
        row.taken_back_at, row.plan = None, None
        row.save(update_fields=["taken_back_at", "plan"])
        if row.dries_id is None:
            record("time lost", by=by, at=now, job=row.job, after={"lost": _kept(row)})


def day_slots(book: HoursBook, day: date) -> tuple[Position, ...]:
    """Return the day slots of a date with its own hours."""
    return tuple(p for p in day_of(*book.on(day)) if p.shift is Shift.DAY)


def say_lost(row: models.LostTime) -> str:
    """Return a loss in words: when, what for, whom it stops."""
    when = say_span(row.first, row.last)
    if row.first_slots != ALL_DAY and not row.first_slots & 1:
        slots = day_slots(read_book(), row.first)
        slot = slots[(row.first_slots & -row.first_slots).bit_length() - 1]
        when = f"{when} from {say_time(datetime.combine(row.first, slot.begin))}"
    whom = row.activity or row.job or row.crew or "everybody"
    told = f"{when}: {row.get_cause_display()}, {whom}"
    return f"{told} ({row.why})" if row.why else told


def _slots_from(slot: int) -> int:
    return ALL_DAY & ~((1 << (slot - 1)) - 1)


def _kept(row: models.LostTime) -> str:
    with clock.telling_on(clock.EVER):
        return say_lost(row)


def _drying(row: models.LostTime, now: datetime) -> Iterator[models.LostTime]:
    jobs = [row.job] if row.job is not None else open_jobs()
    for job in jobs:
        until = dry_at(row, job)
        lost = _slots_until(row, until)
        if not lost:
            continue
        days = sorted(lost)
        yield models.LostTime.objects.create(
            first=days[0],
            last=days[-1],
            first_slots=lost[days[0]],
            last_slots=lost[days[-1]],
            job=job,
            ground=True,
            cause=Cause.DRY_OUT,
            why=f"{job.soil}, {rain_of(row).normalize():f} in of rain: dry {_said(until)}",
            dries=row,
            by=row.by,
            at=now,
        )


def rain_of(row: models.LostTime) -> Decimal:
    """Return the inches that fell, or what is taken for the days and parts of days lost."""
    if row.rain_in is not None:
        return row.rain_in
    days = (row.last - row.first).days + Decimal(row.first_slots.bit_count()) / len(DAY_SLOTS)
    return (RAIN_A_DAY * days).quantize(Decimal("0.01"))


def dry_at(row: models.LostTime, job: models.Job) -> datetime:
    """Return the local time from which a yard's bare soil can be worked after a rain, usual figure.

    Reckoned from six in the evening of the last wet day by the table of the soil's texture; doubled
    in the cool season. The squeeze test of the hand overrules it.
    """
    north = job.latitude is None or job.latitude > COOL_LATITUDE
    cool = north and row.last.month in COOL_MONTHS
    shade, covered = lie_of(str(job.options.get(GROUND, "")))
    days = days_to_dry(dryout_of(job), rain_of(row), cool=cool, shade=shade, covered=covered)
    ended = datetime.combine(row.last, EVENING)
    return ended + timedelta(days=float(days.usual))


def _slots_until(row: models.LostTime, until: datetime) -> dict[date, int]:
    """Day slots after the rain that begin before the ground is dry, as a mask a day."""
    found: dict[date, int] = {}
    day, book = row.last + timedelta(days=1), read_book()
    while day <= until.date():
        for n, slot in enumerate(day_slots(book, day)):
            if datetime.combine(day, slot.begin) < until:
                found[day] = found.get(day, 0) | 1 << n
        day += timedelta(days=1)
    return found


def _said(moment: datetime) -> str:
    return f"{say_date(moment.date())} {say_time(moment)}"
