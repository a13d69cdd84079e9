"""Reads who is in a homeowner's yard today and tomorrow, what that asks of them, and which days were lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import Q

from jobs import models
from jobs.models.cause import ALL_DAY
from jobs.services.telling.finish import FINE_WORDS
from jobs.services.telling.speech import say_span
from jobs.services.telling.words import catalogue, clock_in, say
from jobs.services.world.row_days import stretches
from jobs.trade.work import INSPECTION, Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from collections.abc import Set as AbstractSet
    from datetime import date, datetime

    from jobs.services.world.row_days import Stretch

LOOK_BACK = timedelta(days=14)
"""How long a lost day is told after it."""
DAY = timedelta(days=1)
Entry = tuple[models.PlanRow, "Stretch"]


class YardDay(NamedTuple):
    """A day in the yard: what is planned or why nothing is, and what it asks of who lives there."""

    head: str
    told: str
    works: tuple[str, ...]
    minds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Losses:
    """Time lost that concerns a yard; ``fresh`` is what was said after the plan was published: it knows nothing of it."""

    rows: Sequence[models.LostTime]
    fresh: Sequence[models.LostTime]

    def of(self, row: models.PlanRow, day: date) -> models.LostTime | None:
        """Return what takes a work off a day it is still planned on."""
        return next((one for one in self.fresh if _hits(one, row) and _whole(one, day)), None)

    def holds(self, row: models.PlanRow) -> bool:
        """Return True if a work cannot have been done as planned."""
        return any(self.of(row, stretch.day) for stretch in stretches(row))

    def told(self, today: date) -> tuple[str, ...]:
        """Which days were lost to what, in words; crews' own troubles stay theirs."""
        lost: dict[str, set[date]] = {}
        for one in self.rows:
            if one.crew_id is None and one.first <= today:
                cause = FINE_WORDS.get(one.cause, one.cause)
                lost.setdefault(cause, set()).update(_days_of(one))
        said = [_lost_days(span, cause) for cause, days in lost.items() for span in _spans(days)]
        return (*said, *([say(Sentence("yard-again"))] if self.fresh else []))


def read_losses(job: models.Job, plan: models.Plan | None, today: date) -> Losses:
    """Read the time lost of the last two weeks that concerns a yard, in one query."""
    whose = Q(job=job) | Q(activity__job=job) | Q(job=None, activity=None)
    near = models.LostTime.objects.filter(
        whose, taken_back_at=None, first__lte=today + DAY, last__gte=today - LOOK_BACK
    )
    rows = list(near.order_by("first", "pk"))
    since = plan.published_at if plan else None
    fresh = [one for one in rows if one.plan_id is None and (since is None or one.at >= since)]
    return Losses(rows, fresh)


def read_days(rows: Iterable[models.PlanRow], losses: Losses, now: datetime) -> tuple[YardDay, ...]:
    """Return today and tomorrow in a yard.

    Parameters
    ----------
    rows
        All that is planned in the yard, each with its activity and job.
    """
    today = now.date()
    there = sorted(_there(rows, today), key=lambda entry: entry[1].begins)
    by_day = {day: list(them) for day, them in groupby(there, key=lambda entry: entry[1].day)}
    days = (("yard-today", today), ("yard-tomorrow", today + DAY))
    return tuple(_day(word, day, by_day, losses) for word, day in days)


def _there(rows: Iterable[models.PlanRow], today: date) -> Iterable[Entry]:
    """What brings people into the yard from today on: crews, whoever is hired, inspectors."""
    for row in rows:
        work = row.activity
        comes = not work.detail.get("outside") or work.skill == INSPECTION
        if comes and work.finished_at is None:
            yield from ((row, stretch) for stretch in stretches(row) if stretch.day >= today)


def _day(word: str, day: date, by_day: dict[date, list[Entry]], losses: Losses) -> YardDay:
    planned = by_day.get(day, [])
    head = say(Sentence(word, {"day": day.isoformat()}))
    left = [entry for entry in planned if losses.of(entry[0], day) is None]
    if left:
        works = tuple(say(_work(*entry)) for entry in left)
        minds = dict.fromkeys(asked_by(row) for row, _ in left)
        return YardDay(head, say(Sentence("yard-planned")), works, tuple(minds))
    if planned:
        lost = losses.of(planned[0][0], day)
        cause = FINE_WORDS.get(lost.cause, lost.cause) if lost else ""
        return YardDay(head, say(Sentence("yard-lost", {"cause": cause})), (), ())
    later = min((other for other in by_day if other > day), default=None)
    key = "yard-nobody-next" if later else "yard-nobody"
    told = say(Sentence(key, {"day": later.isoformat()} if later else {}))
    return YardDay(head, told, (), ())


def _work(row: models.PlanRow, stretch: Stretch) -> Sentence:
    hours = {"begins": clock_in(stretch.begins, "en"), "ends": clock_in(stretch.ends, "en")}
    return Sentence("yard-work", {**hours, "work": row.activity.name})


def asked_by(row: models.PlanRow) -> str:
    """What they will see, hear and must do about a work; the usual where nothing is known of it."""
    key = f"expect-{row.activity.template}"
    return say(Sentence(key if key in catalogue("en") else "expect-work"))


def _hits(lost: models.LostTime, row: models.PlanRow) -> bool:
    return (
        lost.activity_id in (None, row.activity_id)
        and lost.crew_id in (None, row.crew_id)
        and not lost.ground
    )


def _whole(lost: models.LostTime, day: date) -> bool:
    """True if the whole of a day was lost."""
    masks = [lost.first_slots] * (day == lost.first) + [lost.last_slots] * (day == lost.last)
    return lost.first <= day <= lost.last and all(mask == ALL_DAY for mask in masks)


def _days_of(lost: models.LostTime) -> Iterator[date]:
    return (lost.first + n * DAY for n in range((lost.last - lost.first).days + 1))


def _spans(days: AbstractSet[date]) -> Iterator[tuple[date, date]]:
    """Runs of days on end, from the first to the last of each."""
    for first in sorted(day for day in days if day - DAY not in days):
        last = first
        while last + DAY in days:
            last += DAY
        yield first, last


def _lost_days(span: tuple[date, date], cause: str) -> str:
    return say(Sentence("yard-was-lost", {"days": say_span(*span), "cause": cause}))
