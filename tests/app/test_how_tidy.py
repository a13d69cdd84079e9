"""How tidy a plan is said to be: counts in words, beside those of the published plan where they differ."""

from __future__ import annotations

import pytest

from jobs.models import Plan
from jobs.scheduling.untidy import Untidy
from jobs.services.planning.how_tidy import tidy_words
from jobs.services.planning.plan_jobs import plan_jobs
from tests.office import NOW, open_office, small_job

NONE = {**Untidy()._asdict(), "idle": {}}


@pytest.mark.parametrize(
    ("found", "before", "said"),
    [
        ({}, {}, ""),
        (NONE, NONE, ""),
        (
            NONE | {"hops": 3, "idle": {"Trencher": 2}},
            {},
            "3 half-day moves between yards, 2 idle days of the trencher",
        ),
        (
            NONE | {"hops": 1, "lone": 2},
            NONE | {"hops": 4, "lone": 2, "idle": {"Trencher": 1}},
            (
                "1 half-day move between yards (4 in the published plan), 2 visits for two hours only, "
                "no idle days of the trencher (1 in the published plan)"
            ),
        ),
        (
            NONE | {"pours": 1, "planting": 2, "returns": 1},
            NONE,
            (
                "1 return of a crew to a yard after a day or more elsewhere (none in the published plan), "
                "1 pour on a Friday afternoon or before a holiday (none in the published plan), "
                "2 plantings or sod begun late in the week or the day (none in the published plan)"
            ),
        ),
    ],
)
def test_what_is_untidy_in_words(found, before, said):
    """Only what there is, or was; a machine by its name."""
    assert tidy_words(found, before) == said


def test_a_plan_keeps_what_is_untidy_in_it(db):
    """The counts of a stored plan come to the points it was scored with; nothing was published before."""
    open_office()
    small_job()
    made = plan_jobs(now=NOW, by="test")
    plan = Plan.objects.get(pk=made.plan.pk)
    idle = tuple(plan.untidy["idle"].items())
    assert Untidy(**{**plan.untidy, "idle": idle}).points == made.result.score.untidy
    assert (plan.untidy_before, plan.keeps_day) == ({}, None)
