"""What tests of work by hand share: one work found, and its page's forms posted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.urls import reverse

from jobs.models import Activity
from jobs.services.scope.takeoff import expand_job
from tests.office import NOW, signed_in

if TYPE_CHECKING:
    from datetime import datetime

    from django.http import HttpResponse

    from jobs.models import Job, Plan

SLUG = "3-finch-street"


def only(job: Job, template: str) -> Activity:
    """Return the one activity of a template that stands."""
    return job.activities.get(template=template, retired=False)


def act(row: Activity, **told: str) -> HttpResponse:
    """Post what is done to one work."""
    told = {"revision": str(Activity.objects.get(pk=row.pk).revision), **told}
    return signed_in().post(reverse("by-hand", args=[SLUG, row.uid]), told)


def tie(row: Activity, other: Activity, /, **told: str) -> HttpResponse:
    """Post a link: this work after another one, unless told otherwise."""
    usual = {
        "does": "tie", "way": "after", "other": other.uid, "relation": "finish-to-start",
        "wait": "0", "unit": "days", "most": "", "most_unit": "days", "why": "", "reason": "",
    }  # fmt: skip
    return act(row, **(usual | told))


def again(job: Job) -> None:
    """Expand the job again."""
    expand_job(job, now=NOW)


def placed(plan: Plan) -> dict[int, tuple[datetime, datetime]]:
    """Return start and finish of every work of a plan."""
    return {row.activity_id: (row.start, row.finish) for row in plan.rows.all()}
