"""Whatever happens to a yard, in whatever order, the ledger of its finish adds up to the day.

Histories are drawn by lot: rain, gusts, people out, another promise, a pause, a signed change order, work done
early or late, days passing; ways out accepted in between, and some taken back. The finish that the ledger ends
with is read from the published plan, which knows nothing of it. ``HISTORIES=200`` for the long run.
"""

from __future__ import annotations

import os
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from crews.models import Crew
from jobs.models import Cause, ChangeLine, Job, JobPlan, Plan
from jobs.scheduling.dice import Dice
from jobs.scheduling.storm.replan import WayOut
from jobs.services.causes.late import out
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.day.log_day import LogRefusedError, Said, log_day
from jobs.services.history import Who
from jobs.services.pages.moved import read_ledger
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.accept_storm import accept_answer, undo
from jobs.services.storm.change_orders import Signature, Wording, add_line, ask, sign
from jobs.services.storm.happened import pause, promise
from jobs.services.storm.offer import answer_at_once, read_storm
from jobs.trade.errors import TradeError
from tests.office import NOW, open_office, published_plan, small_job

pytestmark = pytest.mark.django_db
HISTORIES = int(os.environ.get("HISTORIES", "3"))
STEPS = 4
"""Plans accepted or taken back in a history."""
BY, EASTERN = "test", ZoneInfo("America/New_York")


class History:
    """One history of one yard."""

    def __init__(self, seed: int) -> None:
        self.dice, self.now = Dice(seed, "history"), NOW
        open_office()
        self.job = small_job()
        published_plan()
        self.said: list[str] = []

    def day(self) -> date:
        """Some working day of the next two weeks."""
        return self.now.date() + timedelta(days=self.dice.whole(1, 14))

    def rain(self) -> None:
        """One to three days, for all."""
        first = self.day()
        last = first + timedelta(days=self.dice.below(3))
        lose_days(Lost(first, last, rain_in=Decimal("0.7")), by=BY, now=self.now)

    def gusts(self) -> None:
        """A day, for this yard."""
        day = self.day()
        lose_days(Lost(day, day, job=self.job, cause=Cause.WIND), by=BY, now=self.now)

    def people(self) -> None:
        """A crew stays away for up to a week."""
        crews = list(Crew.objects.order_by("slug"))
        crew, first = crews[self.dice.below(len(crews))], self.day()
        last = first + timedelta(days=self.dice.below(7))
        out(crew, first, last, why="a wedding", by=BY, now=self.now)

    def promise(self) -> None:
        """Another day is agreed."""
        promise(self.job, self.day() + timedelta(days=40), "agreed", Who(BY, self.now))

    def pause(self) -> None:
        """The yard rests for up to ten days."""
        first = self.day()
        until = first + timedelta(days=self.dice.whole(1, 10))
        pause(self.job, first, until, "a party", Who(BY, self.now))

    def order(self) -> None:
        """A change order is signed that takes days more for the path."""
        who = Who(BY, self.now)
        order = ask(self.job, Wording("A wider path"), who)
        path = self.job.activities.get(template="dg-path", extra="")
        days = Decimal(self.dice.whole(1, 3))
        add_line(order, ChangeLine(does=ChangeLine.Does.DAYS, activity=path, days=days), who)
        order.refresh_from_db()
        signature = Signature("Ann Holloway", self.now.date())
        sign(order, signature, who, revision=order.revision)

    def work(self) -> None:
        """Days pass; what was to be done by then is logged as done, but for some."""
        self.now += timedelta(days=self.dice.whole(1, 5))
        plan = Plan.objects.get(state=Plan.State.PUBLISHED)
        for row in plan.rows.filter(finish__lte=self.now, crew__isnull=False).order_by("start"):
            row.activity.refresh_from_db()
            if row.activity.finished_at is None and self.dice.share() < 0.8:
                client = UUID(int=self.dice.whole(1, 2**120))
                day = row.finish.astimezone(EASTERN).date()
                log_day(Said(client, row.activity, day, "done", row.finish), by=BY, now=self.now)

    def happen(self) -> None:
        """One to three things happen."""
        kinds = [
            self.rain,
            self.gusts,
            self.people,
            self.promise,
            self.pause,
            self.order,
            self.work,
        ]
        for _ in range(self.dice.whole(1, 3)):
            kind = kinds[self.dice.below(len(kinds))]
            try:
                kind()
            except (TradeError, LogRefusedError) as refused:
                self.said.append(f"{kind.__name__} refused: {refused}")
            else:
                self.said.append(kind.__name__)

    def decide(self) -> None:
        """Accept the better of the first answers, or bring the earlier plan back."""
        self.now += timedelta(minutes=5)
        try:
            if self.dice.share() < 0.2:
                undo(by=BY, now=self.now)
                self.said.append("undone")
                return
            offered = answer_at_once(read_storm(self.now), self.now)
            row = next((one.row for one in offered if isinstance(one.found, WayOut)), None)
            if row is not None:
                accept_answer(row, by=BY, now=self.now)
                self.said.append("accepted")
        except PlanRefusedError as refused:
            self.said.append(str(refused))


def finish_of(job: Job, plan: Plan) -> date:
    """The day on which a plan finishes a yard, in its own zone."""
    planned: datetime = JobPlan.objects.get(plan=plan, job=job).finish
    return planned.astimezone(EASTERN).date()


@pytest.mark.parametrize("seed", range(HISTORIES))
def test_the_ledger_adds_up_to_the_day(seed):
    """After every step: all changes together, and the causes together, lead from the first finish to today's."""
    history = History(seed)
    first = finish_of(history.job, Plan.objects.get(number=1))
    for _ in range(STEPS):
        history.happen()
        history.decide()
        ledger, _ = read_ledger(history.job)
        today = finish_of(history.job, Plan.objects.get(state=Plan.State.PUBLISHED))
        assert (ledger.first, ledger.today) == (first, today), history.said
        assert sum(days for _, days in ledger.by_cause()) == (today - first).days, history.said
        causes = {share.cause for change in ledger.changes for share in change.shares}
        assert causes <= {*Cause.values, "progress", "re-sequencing", "undone"}
