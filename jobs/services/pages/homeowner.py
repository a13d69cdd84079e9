"""Reads the homeowner's page: today and tomorrow in the yard, the next milestone and its window, what comes after."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import F

from jobs import models
from jobs.services.telling.finish import finish_sentence
from jobs.services.telling.speech import say_date, say_day, say_span
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of
from jobs.services.world.milestones import expected, milestone_of, milestones
from jobs.trade.work import Sentence

from .frame import closed_days, local, said_of
from .homeowner_days import asked_by, read_days, read_losses

if TYPE_CHECKING:
    from collections.abc import Mapping
    from collections.abc import Set as AbstractSet
    from datetime import date

    from jobs.services.world.lacking import Nobody

    from .homeowner_days import YardDay

LAID, NEXT, TO_COME = "laid", "next", "to-come"
LEAST_TOLD = 6
"""Days the plan's own room may widen a window where no odds have been said."""
WEEK = 7
"""Days among which one is worked."""
SHIFTS = (6, 28, 2, 22)
"""Stepping stones do not lie in a line."""


class Stone(NamedTuple):
    """One milestone of the garden's path: where the stone lies, and its words."""

    words: str
    when: str
    state: str
    x: int


@dataclass(frozen=True, slots=True)
class HomeownerPage:
    """One calm page; no crews' names, prices or float stand here."""

    name: str
    company: str
    phone: str
    days: tuple[YardDay, ...]
    """Today and tomorrow; none where nothing is planned any more."""
    lost: tuple[str, ...]
    upcoming: str
    window: str
    expect: str
    stones: tuple[Stone, ...]
    finish: str
    open: str
    """Said in place of the finish where it is not settled."""
    likely: str
    promise: str
    choices: tuple[tuple[str, str], ...]
    sent: str
    changed: str
    signed: tuple[str, ...]


def read_homeowner(job: models.Job, now: datetime) -> HomeownerPage:
    """Read the page of a job from the published plan."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    planned_rows, today = _rows(job, plan), local(now, job).date()
    rows = milestones(planned_rows)
    losses = read_losses(job, plan, today)
    company = models.Company.objects.first()
    nobody = nobody_of(plan)
    lost = {row.activity.uid for row in rows if row.finish <= now and losses.holds(row)}
    coming = [row for row in rows if not _over(row, now, nobody, lost)]
    busy = bool(coming) or any(row.finish > now for row in planned_rows)
    said = said_of(job, plan)
    windows = _windows(job, now, _latest(said), (coming, nobody, lost))
    planned = plan.jobs.filter(job=job).first() if plan else None
    first = coming[0] if coming else None
    return HomeownerPage(
        name=job.name,
        company=company.name if company else "",
        phone=company.phone if company else "",
        days=read_days(planned_rows, losses, local(now, job)) if busy else (),
        lost=losses.told(today) if busy else (),
        upcoming=milestone_of(first) if first else "",
        window=windows.of(first) if first else "",
        expect=_expect(first) if first else "",
        stones=tuple(_stone(n, row, first, windows, now) for n, row in enumerate(rows)),
        finish=say_day(local(planned.finish, job).date()) if planned else "",
        open=say(Sentence("nobody-settled")) if job.uid in nobody.jobs else "",
        likely=say_day(_likely(said, planned)) if said and planned else "",
        promise=say_day(job.promised_on) if job.promised_on else "",
        choices=_choices(job),
        changed=_changed(job),
        signed=tuple(
            f"{order.title}, signed {say_day(order.signed_on)}"
            for order in job.change_orders.filter(state=models.ChangeOrder.State.SIGNED)
            if order.signed_on
        ),
        sent=say_date(local(plan.published_at, job).date()) if plan and plan.published_at else "",
    )


def _rows(job: models.Job, plan: models.Plan | None) -> list[models.PlanRow]:
    """All that the published plan holds of the job."""
    if plan is None:
        return []
    return list(plan.rows.filter(activity__job=job).select_related("activity__job"))


def _over(row: models.PlanRow, now: datetime, nobody: Nobody, lost: AbstractSet[str]) -> bool:
    """True if it is done, or its day is past and nothing stood in its way."""
    held = row.activity.uid in nobody.follow or row.activity.uid in lost
    past = expected(row, now) is None and not held
    return row.activity.finished_at is not None or past


def _stone(
    n: int, row: models.PlanRow, first: models.PlanRow | None, windows: _Windows, now: datetime
) -> Stone:
    x = SHIFTS[n % len(SHIFTS)]
    if _over(row, now, windows.nobody, windows.lost):
        done = row.activity.finished_at
        day = say_day(local(done or row.finish, windows.job).date())
        return Stone(milestone_of(row), f"done {day}" if done else f"planned for {day}", LAID, x)
    state = NEXT if row is first else TO_COME
    return Stone(milestone_of(row), windows.of(row), state, x)


@dataclass(frozen=True, slots=True)
class _Windows:
    """Between which days a milestone is expected: never a single day, for weather takes some.

    ``latest`` has the day kept 8 times in 10, by activity, where odds have been said; elsewhere
    what the plan itself leaves open, a working day at least.
    """

    job: models.Job
    today: date
    latest: Mapping[str, date]
    closed: frozenset[date]
    nobody: Nobody
    lost: AbstractSet[str]
    """Uids of works whose day passed and was lost."""

    def of(self, row: models.PlanRow) -> str:
        """Return the window in words; that there is none yet where somebody is still to be found for it."""
        if row.activity.uid in self.nobody.follow:
            return say(Sentence("nobody-milestone"))
        if row.activity.uid in self.lost:
            return say(Sentence("yard-day-open"))
        begin = max(local(row.finish, self.job).date(), self.today)
        end = self.latest.get(row.activity.uid)
        if end is None:
            late = local(row.late_finish, self.job).date()
            end = min(late, begin + timedelta(days=LEAST_TOLD))
        end = max(end, self._working_day_after(begin))
        if end == begin + timedelta(days=1):
            return say_span(begin, end).replace(" – ", " or ")
        return f"between {say_span(begin, end).replace(' – ', ' and ')}"

    def _working_day_after(self, day: date) -> date:
        after = [day + timedelta(days=n) for n in range(1, WEEK + 1)]
        return next((d for d in after if d not in self.closed), after[0])


def _windows(
    job: models.Job,
    now: datetime,
    latest: Mapping[str, date],
    ahead: tuple[list[models.PlanRow], Nobody, AbstractSet[str]],
) -> _Windows:
    """Read the days nobody works, once for all milestones to come."""
    (coming, nobody, lost), today = ahead, local(now, job).date()
    days = [max(local(row.finish, job).date(), today) for row in coming]
    closed = closed_days(min(days), max(days) + timedelta(days=WEEK)) if days else frozenset()
    return _Windows(job, today, latest, closed, nobody, lost)


def _likely(said: models.Outlook, planned: models.JobPlan) -> date:
    """The day of even odds; never sooner than anybody is planned to be done."""
    return local(max(said.p50, planned.finish), planned.job).date()


def _latest(said: models.Outlook | None) -> dict[str, date]:
    """The 8-in-10 day of each milestone that odds were said of."""
    rows = said.milestones if said else []
    return {row["id"]: datetime.fromisoformat(row["p80"]).date() for row in rows}


def _expect(row: models.PlanRow) -> str:
    """What they will see, hear and must do for the next milestone; what is usual stands with its day."""
    told = asked_by(row)
    return "" if told == say(Sentence("expect-work")) else told


def _changed(job: models.Job) -> str:
    """When the finish was moved last, and why."""
    moves = job.finish_changes.exclude(was=F("becomes")).select_related("plan")
    last = moves.order_by("-plan__number").first()
    if last is None or last.plan.published_at is None:
        return ""
    day = say_day(local(last.plan.published_at, job).date())
    return f"Changed on {day}: {finish_sentence(last, settled=job.uid not in nobody_of(last.plan).jobs)}"


def _choices(job: models.Job) -> tuple[tuple[str, str], ...]:
    rows = job.decisions.filter(decided_on=None, expected_on__isnull=False)
    return tuple(
        (row.name, say_day(row.expected_on))
        for row in rows.order_by("expected_on")
        if row.expected_on
    )
