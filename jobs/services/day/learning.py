"""What works that are done tell of one's own pace: read from the log and the calendars, taken only when told to."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from crews.services.hours import working_hours
from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.causes.lose_days import DAY_SLOTS
from jobs.services.numbers.library import current_library, library_for
from jobs.services.numbers.own_figures import SetBy, figures_of, seen, set_figures
from jobs.services.world.losses import mask_on
from jobs.trade.durations import SLOTS_A_DAY, spread_of
from jobs.trade.errors import TradeError
from jobs.trade.learning import Learned, Triple, learn, own_rate, ratio_of
from jobs.trade.overrides import PACE, RATE, Own
from jobs.trade.work import Quantity, Shift

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from crews.services.hours import Hours
    from jobs.trade.library import Library
    from jobs.trade.templates import Template

LOOKED_BACK = timedelta(days=730)
CLOSE = Decimal("0.01")
"""Days of an activity and of a pace that differ by less are the same."""


class Actual(NamedTuple):
    """One work that was done: how much, by how many, in how many crew days, against ours."""

    path: str
    activity: models.Activity
    days: Decimal
    ours: Decimal
    people: Decimal
    ratio: Decimal


class OwnPace(NamedTuple):
    """A pace of one's own as far as it is known; ``value`` is None while works are too few."""

    path: str
    actuals: tuple[Actual, ...]
    learned: Learned | None
    value: Triple | None


def own_paces(now: datetime, template: str = "") -> dict[str, OwnPace]:
    """Return what is known of one's own pace, by path of the figure; a bounded number of queries.

    Parameters
    ----------
    template
        Only of this kind of work; empty for all.
    """
    found: dict[str, list[Actual]] = defaultdict(list)
    for actual in _actuals(_done(now, template)):
        found[actual.path].append(actual)
    return {path: _pace(path, rows) for path, rows in found.items()}


def take_pace(path: str, told: str, set_by: SetBy) -> None:
    """Take a pace that was learned as the company's own figure.

    Raises
    ------
    ChangedMeanwhileError
        If works were done since, or own figures set, that the editor has not seen.
    TradeError
        If there is nothing to take, or it cannot stand in the library.
    """
    key = path.split(" ")[1]
    pace = own_paces(set_by.now, key).get(path)
    if pace is None or pace.value is None:
        raise TradeError("too few works are done", remedy="log some more of them first")
    if seen_of(pace) != told:
        raise ChangedMeanwhileError
    prefix = f"template {key}"
    own = Own(path, stored(pace.value))
    set_figures(prefix, [own], told=seen(figures_of(prefix)), set_by=set_by)


def stored(value: Triple) -> list[str]:
    """Return three figures as a figure of one's own keeps them."""
    return [f"{figure.normalize():f}" for figure in value]


def seen_of(pace: OwnPace) -> str:
    """Return what an editor saw of a pace, so that he takes no other one."""
    figures = " ".join(map(str, pace.value or ()))
    return f"{len(pace.actuals)}: {figures}"


def _pace(path: str, rows: Sequence[Actual]) -> OwnPace:
    learned = learn([row.ratio for row in rows])
    if learned is None:
        return OwnPace(path, tuple(rows), None, None)
    template = current_library().templates[rows[0].activity.template]
    rate = _rates(template)[path]
    return OwnPace(path, tuple(rows), learned, own_rate(rate, template.unit, learned.factor))


def _done(now: datetime, template: str) -> list[models.Activity]:
    """Works of ours with a quantity that are done, oldest first, with the people logged on them."""
    rows = models.Activity.objects.filter(
        finished_at__gt=now - LOOKED_BACK, finished_at__lte=now, done_crew__isnull=False
    )
    rows = rows.filter(template=template) if template else rows.exclude(template="")
    logged = models.DayLog.objects.filter(people__isnull=False, corrected_by=None)
    rows = rows.select_related("job", "done_crew").prefetch_related(
        Prefetch("day_log", queryset=logged)
    )
    return list(rows.order_by("finished_at", "pk"))


def _actuals(rows: Sequence[models.Activity]) -> Iterator[Actual]:
    days = [moment.date() for row in rows for moment in _span(row)]
    if not days:
        return
    first, last = min(days), max(days)
    hours = working_hours(first, last)
    lost = list(
        models.LostTime.objects.filter(taken_back_at=None, last__gte=first, first__lte=last)
    )
    libraries: dict[int, Library] = {}
    for row in rows:
        library = libraries.setdefault(row.job_id, library_for(row.job))
        told = _ours(row, library)
        took = _took(row, hours, first, lost)
        if told is not None and took:
            path, ours = told
            people = _people(row, hours, first)
            ratio = ratio_of(took, ours, people=people, usual=row.people)
            yield Actual(path, row, Decimal(took) / SLOTS_A_DAY, ours, people, ratio)


def _span(row: models.Activity) -> tuple[datetime, datetime]:
    """Begin and end on the yard's clock."""
    zone = ZoneInfo(row.job.zone)
    assert row.started_at is not None and row.finished_at is not None  # noqa: S101, PT018 (it is done)
    return row.started_at.astimezone(zone), row.finished_at.astimezone(zone)


def _ours(row: models.Activity, library: Library) -> tuple[str, Decimal] | None:
    """Which pace a work was reckoned with, and the crew days ours gives for it; None if unknown."""
    template, ours = (
        library.templates.get(row.template),
        current_library().templates.get(row.template),
    )
    if template is None or ours is None or ours.shift is not Shift.DAY or row.own_days is not None:
        return None
    for path, rate in _rates(template).items():
        here = _days(row, template, rate)
        if path in _rates(ours) and abs(here - row.days) <= CLOSE * row.days:
            return path, _days(row, ours, _rates(ours)[path])
    return None


def _rates(template: Template) -> Mapping[str, Triple]:
    """Every pace of a kind of work by the path of its figure."""
    paces = {f"template {template.key} {PACE} {pace.way}": pace.rate for pace in template.paces}
    return {f"template {template.key} {RATE}": template.rate} | paces


def _days(row: models.Activity, template: Template, rate: Triple) -> Decimal:
    if template.unit == "days":
        return rate[1] * row.share / 100
    return spread_of(Quantity(row.quantity, row.unit), rate).typical


def _took(row: models.Activity, hours: Hours, first: date, lost: Iterable[models.LostTime]) -> int:
    """Slots from begin to end in which its crew worked and lost no time."""
    crew = hours.crews.get(row.done_crew.slug) if row.done_crew else None
    begins, ends = _span(row)
    slots, day = 0, begins.date()
    while crew is not None and day <= ends.date():
        mask = crew.masks[(day - first).days] & ~_lost_on(row, day, lost)
        for n, slot in enumerate(DAY_SLOTS):
            opens = datetime.combine(day, slot.begin, tzinfo=begins.tzinfo)
            closes = datetime.combine(day, slot.end, tzinfo=begins.tzinfo)
            slots += bool(mask >> n & 1 and opens < ends and closes > begins)
        day += timedelta(days=1)
    return slots


def _lost_on(row: models.Activity, day: date, lost: Iterable[models.LostTime]) -> int:
    mask = 0
    for loss in lost:
        here = loss.job_id in (None, row.job_id) and loss.activity_id in (None, row.pk)
        if here and loss.crew_id in (None, row.done_crew_id) and loss.first <= day <= loss.last:
            mask |= mask_on(loss, day)
    return mask


def _people(row: models.Activity, hours: Hours, first: date) -> Decimal:
    """Mean number of those who did it: as logged, else those of the crew who were there, else the usual."""
    told = [Decimal(line.people or 0) for line in row.day_log.all()]
    if told:
        return sum(told, Decimal(0)) / len(told)
    crew = hours.crews.get(row.done_crew.slug) if row.done_crew else None
    begins, ends = _span(row)
    days = range((begins.date() - first).days, (ends.date() - first).days + 1)
    there = [crew.people[day] for day in days if crew.people[day]] if crew else []
    if not there:
        return Decimal(row.people)
    most = Decimal(row.people + row.people // 2)
    return min(most, Decimal(sum(there)) / len(there))
