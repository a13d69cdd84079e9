"""Histories of one yard drawn by lot: what may happen to it, in whatever order, and what is decided then."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import Q

from crews.models import Crew, Machine
from jobs.models import Activity, Cause, ChangeLine, Decision, Delivery, Job, JobPlan, Plan
from jobs.scheduling.dice import Dice
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.storm.ways_out import WayOut
from jobs.services.by_hand.works import HandWork
from jobs.services.causes.late import come_later, out
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.day.log_day import LogRefusedError, Said, log_day
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from jobs.services.planning.accept_plan import PlanRefusedError, accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.storm.accept_storm import accept_answer, undo
from jobs.services.storm.answer_order import Signature, sign
from jobs.services.storm.change_orders import Wording, add_line, ask
from jobs.services.storm.happened import (
    INSPECTION,
    Failure,
    beside,
    fail,
    pause,
    promise,
    squeeze_in,
    unplanned,
)
from jobs.services.storm.offer import answer_at_once, read_storm
from jobs.trade.errors import TradeError
from tests.office import NOW, SMALL_YARD, open_office, poured_yard

if TYPE_CHECKING:
    from collections.abc import Callable

BY, EASTERN = "test", ZoneInfo("America/New_York")
WHOLE, FIRST_STONE = 100, date(2026, 6, 25)
PROMISED_IN = timedelta(days=39)
"""How long after its start a neighbour's yard is promised, as the small yard is."""


class NothingToDoError(Exception):
    """There is nothing a thing could happen to."""


REFUSED = (TradeError, LogRefusedError, SchedulingError, NothingToDoError, ObjectDoesNotExist)
"""How the house says that a thing cannot be, or that there is nothing it could happen to."""


class History:
    """One history of one yard, poured last Thursday, whose stone and the owner's word for it are waited for."""

    def __init__(self, seed: int, weeks: int = 0) -> None:
        self.dice, self.now = Dice(seed, "history"), NOW
        open_office()
        self.job = poured_yard()
        self.later(timedelta(weeks=weeks))
        stone = self.job.activities.get(template="set-stone")
        wanted = FIRST_STONE + timedelta(weeks=weeks)
        Delivery.objects.create(job=self.job, name="Stone", activity=stone, earliest=wanted)
        Decision.objects.create(job=self.job, name="Its colour", activity=stone, expected_on=wanted)
        self.prepare()
        accept_plan(plan_jobs(now=self.now, by=BY).plan, by=BY, now=self.now)
        self.said: list[str] = []
        self.first = {self.job.pk: finish_of(self.job, Plan.objects.get(number=1))}
        """The finish first published of each yard, by its key."""

    def later(self, by: timedelta) -> None:
        """Let all of it be so much later in the year, at the same hours."""
        self.now += by
        self.job.starts_on += by
        self.job.promised_on += by
        self.job.save()
        for work in self.job.activities.exclude(finished_at=None):
            work.started_at, work.finished_at = (
                at.astimezone(EASTERN) + by for at in (work.started_at, work.finished_at)
            )
            work.save()

    def prepare(self) -> None:
        """Put more into the office before the first plan; here nothing."""

    @property
    def who(self) -> Who:
        """Who says it, and when."""
        return Who(BY, self.now)

    def day(self) -> date:
        """Some day of the five weeks in which the yard is to be done."""
        return self.now.date() + timedelta(days=self.dice.whole(1, 35))

    def one_of(self, rows):
        """One of some rows, by lot; what would happen to it does not where there is none."""
        found = list(rows)
        if not found:
            raise NothingToDoError
        return found[self.dice.below(len(found))]

    def rain(self) -> None:
        """One to three days, for all."""
        first = self.day()
        last = first + timedelta(days=self.dice.below(3))
        lose_days(Lost(first, last, rain_in=Decimal("0.7")), by=BY, now=self.now)

    def gusts(self) -> None:
        """A day, for this yard."""
        day = self.day()
        lose_days(Lost(day, day, job=self.job, cause=Cause.WIND), by=BY, now=self.now)

    def stuck(self) -> None:
        """A crew loses a day, or what is left of it."""
        crew, day, slot = self.one_of(Crew.objects.all()), self.day(), self.dice.whole(1, 4)
        lose_days(Lost(day, day, slot, crew=crew, cause=Cause.OTHER), by=BY, now=self.now)

    def people(self) -> None:
        """A crew stays away for up to a week."""
        self.out(self.one_of(Crew.objects.all()))

    def machine(self) -> None:
        """A machine is down for as long."""
        self.out(self.one_of(Machine.objects.all()))

    def out(self, subject) -> None:
        """Out for some days."""
        first = self.day()
        last = first + timedelta(days=self.dice.below(7))
        out(subject, first, last, why="a wedding", by=BY, now=self.now)

    def delivery(self) -> None:
        """The stone comes later, or sooner."""
        day = self.day() + timedelta(days=7)
        come_later(Delivery.objects.get(), day, why="", by=BY, now=self.now)

    def decision(self) -> None:
        """The owner makes up her mind later, or sooner."""
        day = self.day() + timedelta(days=7)
        come_later(Decision.objects.get(), day, why="", by=BY, now=self.now)

    def pour(self) -> None:
        """A pour has to be broken out and done again, or a third of it."""
        self.failed("pour-slab")

    def inspection(self) -> None:
        """The inspector did not pass the forms, which are set again, or only looked at."""
        self.failed("inspect-forms")

    def failed(self, template: str) -> None:
        """The latest of a kind that is done failed, and some of what came with it."""
        rows = self.job.activities.filter(template=template, finished_at__isnull=False)
        work = rows.filter(retired=False).latest("finished_at")
        also = [row for row in beside(work)[0] if self.dice.share() < 0.3]
        mend = HandWork("Break it out", work.zone, "labour", Decimal(1), 2)
        failure = Failure(
            work=work,
            day=work.finished_at.astimezone(EASTERN).date(),
            also=also,
            share=33 if self.dice.share() < 0.3 else WHOLE,
            right=mend if self.dice.share() < 0.5 else None,
            not_before=self.day() if self.dice.share() < 0.3 else None,
        )
        fail(failure, self.who)

    def squeezed(self) -> None:
        """A neighbour wants the small yard, too; or one who waited comes into the plan."""
        waiting = unplanned()
        if not waiting and Job.objects.count() < 3:
            start = self.day()
            told = SMALL_YARD.replace("3 Finch", f"{3 + 2 * Job.objects.count()} Finch")
            told = told.replace("start = 2026-06-22", f"start = {start}")
            told = told.replace("promise = 2026-07-31", f"promise = {start + PROMISED_IN}")
            other = load_job(told, by=BY, now=self.now)
            Job.objects.filter(pk=other.pk).update(state=Job.State.BID)
        for other in unplanned():
            squeeze_in(other, "", self.who)

    def promise(self) -> None:
        """Another day is agreed."""
        promise(self.job, self.day() + timedelta(days=40), "agreed", self.who)

    def pause(self) -> None:
        """The yard rests for up to ten days."""
        first = self.day()
        until = first + timedelta(days=self.dice.whole(1, 10))
        pause(self.job, first, until, "a party", self.who)

    def order(self) -> None:
        """A change order is signed that takes days more for the path or the stone."""
        order = ask(self.job, Wording("More of it"), self.who)
        works = self.job.activities.filter(template__in=["dg-path", "set-stone"], extra="")
        work = self.one_of(works)
        days = Decimal(self.dice.whole(1, 3))
        add_line(order, ChangeLine(does=ChangeLine.Does.DAYS, activity=work, days=days), self.who)
        order.refresh_from_db()
        signature = Signature("Ann Holloway", self.now.date())
        sign(order, signature, self.who, revision=order.revision)

    def work(self) -> None:
        """Days pass; of what was to be done by then most is logged as done, some as half done."""
        self.now += timedelta(days=self.dice.whole(1, 5))
        plan = Plan.objects.get(state=Plan.State.PUBLISHED)
        ours = Q(crew__isnull=False) | Q(activity__skill=INSPECTION)
        for row in plan.rows.filter(ours, finish__lte=self.now).order_by("start"):
            row.activity.refresh_from_db()
            lot = self.dice.share()
            if row.activity.finished_at is None and lot < 0.8:
                self.log(row.activity, row.finish, 60 if lot < 0.1 else None)

    def ahead(self) -> None:
        """A work is done that was to come later."""
        rows = Plan.objects.get(state=Plan.State.PUBLISHED).rows.filter(start__gt=self.now)
        row = rows.filter(crew__isnull=False, activity__retired=False).earliest("start")
        if row.activity.finished_at is None:
            self.log(row.activity, self.now, None)

    def log(self, work: Activity, at: datetime, share: int | None) -> None:
        """Say that a work is done, or a share of it."""
        client, day = UUID(int=self.dice.whole(1, 2**120)), at.astimezone(EASTERN).date()
        kind = "done" if share is None else "part-way"
        log_day(Said(client, work, day, kind, at, share=share), by=BY, now=self.now)

    def kinds(self) -> list[Callable[[], None]]:
        """Return what may happen."""
        return [
            self.rain, self.gusts, self.stuck, self.people, self.machine, self.delivery,
            self.decision, self.pour, self.inspection, self.squeezed, self.promise, self.pause,
            self.order, self.work, self.work, self.ahead,
        ]  # fmt: skip

    def happen(self) -> None:
        """One to three things happen."""
        kinds = self.kinds()
        for _ in range(self.dice.whole(1, 3)):
            kind = kinds[self.dice.below(len(kinds))]
            try:
                kind()
            except REFUSED as refused:
                self.said.append(f"{kind.__name__} refused: {refused}")
            else:
                self.said.append(kind.__name__)

    def decide(self) -> None:
        """Accept one of the first answers, or bring the earlier plan back."""
        self.now += timedelta(minutes=5)
        try:
            if self.dice.share() < 0.2:
                undo(by=BY, now=self.now)
                self.said.append("undone")
                return
            offered = answer_at_once(read_storm(self.now), self.now)
            rows = [one.row for one in offered if isinstance(one.found, WayOut)]
            if rows:
                accept_answer(self.one_of(rows), by=BY, now=self.now)
            self.said.append("accepted" if rows else "no way out")
        except PlanRefusedError as refused:
            self.said.append(str(refused))


def finish_of(job: Job, plan: Plan) -> date:
    """The day on which a plan finishes a yard, in its own zone."""
    planned: datetime = JobPlan.objects.get(plan=plan, job=job).finish
    return planned.astimezone(EASTERN).date()
