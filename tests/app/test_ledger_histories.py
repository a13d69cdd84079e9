"""Whatever happens to a yard, in whatever order, the ledger of its finish adds up to the day.

Histories are drawn by lot: rain for all, gusts in one yard, a crew that loses a day, people out, a machine down, a
delivery or a decision late, a pour or an inspection that failed, another job squeezed in, another promise, a pause, a
signed change order, work done, half done or not, days passing; ways out accepted in between, and some taken back.
The finish that the ledger ends with is read from the published plan, which knows nothing of it. ``HISTORIES=200``
for the long run.
"""

from __future__ import annotations

import os

import pytest

from jobs.models import Cause, Job, Plan
from jobs.services.pages.moved import read_ledger
from tests.histories import History, finish_of

pytestmark = pytest.mark.django_db
HISTORIES = int(os.environ.get("HISTORIES", "3"))
STEPS = 4
"""Plans accepted or taken back in a history."""


@pytest.mark.parametrize("seed", range(HISTORIES))
def test_the_ledger_adds_up_to_the_day(seed):
    """After every step, for every yard: all changes together, and the causes, lead from first to today's finish."""
    history = History(seed)
    for _ in range(STEPS):
        history.happen()
        history.decide()
        plan = Plan.objects.get(state=Plan.State.PUBLISHED)
        for job in Job.objects.filter(plans__plan=plan):
            today = finish_of(job, plan)
            first = history.first.setdefault(job.pk, today)
            ledger, _ = read_ledger(job)
            assert (ledger.first, ledger.today) == (first, today), history.said
            assert sum(days for _, days in ledger.by_cause()) == (today - first).days, history.said
            causes = {share.cause for change in ledger.changes for share in change.shares}
            assert causes <= {*Cause.values, "progress", "re-sequencing", "undone"}
