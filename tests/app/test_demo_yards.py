"""The invented yards of the demo load without a fault and can be planned so that promises are kept."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from jobs import models
from jobs.services.company.company_file import load_company
from jobs.services.files.load_job import load_job
from jobs.services.planning.plan_jobs import plan_jobs
from tests.yards import DEMO, FIXTURES

pytestmark = pytest.mark.django_db

NEW_YORK = ZoneInfo("America/New_York")
TUESDAY = datetime(2026, 6, 16, 6, tzinfo=NEW_YORK)


@pytest.fixture
def yards() -> dict[str, models.Job]:
    """The demo company with its three yards, on the morning of Tuesday 16 June 2026."""
    load_company((FIXTURES / "demo" / "company.toml").read_text("utf-8"))
    return {
        name: load_job(
            (FIXTURES / "demo" / f"{name}.toml").read_text("utf-8"),
            by="demo",
            now=TUESDAY,
            demo=True,
        )
        for name in DEMO
    }


def day_of(template: str, job: models.Job) -> date:
    """Return the local day on which a planned work starts."""
    row = models.PlanRow.objects.get(activity__job=job, activity__template=template)
    return row.start.astimezone(NEW_YORK).date()


def test_what_has_happened_is_marked_done(yards: dict[str, models.Job]) -> None:
    """Alder Bend is between its sprays, Millrace Lane has its slab, Sparrow Hill is only agreed."""
    done = {
        name: job.activities.filter(finished_at__isnull=False).count()
        for name, job in yards.items()
    }
    assert done == {"12-alder-bend": 8, "31-millrace-lane": 24, "7-sparrow-hill-road": 1}
    slab = yards["31-millrace-lane"].activities.get(template="pour-slab")
    assert (slab.done_share, slab.done_crew.slug) == (100, "stone-crew")


def test_the_plan_keeps_every_promise_and_the_trade_s_dates(yards: dict[str, models.Job]) -> None:
    """Second spray four weeks after the first, turf lifted two weeks later, stone two after its slab."""
    plan_jobs(now=TUESDAY, by="demo")
    late = [
        plan.job.name
        for plan in models.JobPlan.objects.select_related("job")
        if plan.finish.astimezone(NEW_YORK).date() > plan.job.promised_on
    ]
    assert late == []
    alder, millrace = yards["12-alder-bend"], yards["31-millrace-lane"]
    assert day_of("spray-turf-2", alder) == date(2026, 6, 23)
    assert day_of("strip-sod", alder) >= date(2026, 7, 7)
    assert day_of("set-stone", millrace) >= date(2026, 6, 24)
