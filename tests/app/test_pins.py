"""Days and a crew fixed by hand outlive every expansion and are planned by."""

from __future__ import annotations

from datetime import datetime

import pytest
from django.urls import reverse

from crews.models import Crew
from jobs.models import HistoryEntry
from jobs.scheduling.budget import Tries
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Plan
from jobs.scheduling.search.make_plan import make_plan
from jobs.scheduling.world import Pin
from jobs.services.planning.conflicts import CannotAllBeKept
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.world.read_world import read_world
from tests.hands import SLUG, act, again, only, placed
from tests.office import NOW, published_plan, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def stone(job):
    """The crew for stone, which can do labour as the others can."""
    return Crew.objects.get(slug="stone-crew")


class TestPins:
    """Not before, not after."""

    def test_a_pin_is_planned_by_and_outlives_an_expansion(self, job):
        """The path not before Monday 13 July."""
        path = only(job, "dg-path")
        act(path, does="pin", not_before="2026-07-13", not_after="")
        again(job)
        start = placed(published_plan())[path.pk][0]
        assert start.date().isoformat() >= "2026-07-13"

    def test_days_in_the_wrong_order_are_told(self, job):
        """And nothing is pinned."""
        path = only(job, "dg-path")
        answer = act(path, does="pin", not_before="2026-07-13", not_after="2026-07-12")
        assert (answer.status_code, "swap the two" in answer.content.decode()) == (422, True)
        assert only(job, "dg-path").not_before is None

    def test_the_second_of_two_editors_is_told(self, job):
        """Nothing is overwritten."""
        path = only(job, "dg-path")
        act(path, does="pin", not_before="2026-07-13", not_after="")
        stale = str(path.revision)
        act(path, does="pin", not_before="2026-08-13", not_after="", revision=stale)
        assert only(job, "dg-path").not_before.isoformat() == "2026-07-13"


class TestCrew:
    """Only by one crew."""

    def test_the_crew_is_planned_by_and_outlives_an_expansion(self, job, stone):
        """Spreading the base would go to the green crew; the stone crew does it, once that is said."""
        base = only(job, "spread-base")
        first = published_plan()
        assert first.rows.get(activity=base).crew.slug == "green-crew"
        act(base, does="pin", only_crew="stone-crew")
        again(job)
        assert published_plan().rows.get(activity=base).crew == stone

    def test_a_search_keeps_it_and_the_judge_refuses_another(self, job, stone):
        """The judge by its own code: the same plan with the base given to the ground crew is a breach."""
        base = only(job, "spread-base")
        act(base, does="pin", only_crew="stone-crew")
        planning = read_world(NOW)
        plan = make_plan(planning.world, stop=Tries(200), seed=1).plan
        assert plan[base.uid].crew == "stone-crew"
        assert judge_plan(planning.world, plan).sound
        other = Plan(plan.placements | {base.uid: plan[base.uid]._replace(crew="ground-crew")})
        broken = {breach.kind for breach in judge_plan(planning.world, other).breaches}
        assert "pin-crew" in broken

    def test_it_is_shown_recorded_and_taken_back(self, job, stone):
        """On the story of the work; any crew again, once the field is empty."""
        base = only(job, "spread-base")
        act(base, does="pin", only_crew="stone-crew")
        story = reverse("activity", args=[SLUG, base.uid])
        assert "only by Stone crew" in signed_in().get(story).content.decode()
        entry = HistoryEntry.objects.get(what="pinned by hand")
        assert (entry.before.get("only by"), entry.after["only by"]) == (None, "Stone crew")
        act(base, does="pin", only_crew="")
        assert only(job, "spread-base").only_crew is None

    def test_only_who_has_the_skill_is_offered(self, job, stone):
        """The green crew digs nothing out."""
        answer = act(only(job, "dig-out"), does="pin", only_crew="green-crew")
        assert answer.status_code == 422
        assert "none of the choices" in answer.context["pins"].errors["only_crew"][0]

    def test_nobody_does_a_work_and_helps_with_it(self, job, stone):
        """Whichever is said first."""
        base = only(job, "spread-base")
        act(base, does="lend", crew="stone-crew")
        told = "cannot do Spread stone base, front path and be its second crew, too"
        refused = act(base, does="pin", only_crew="stone-crew")
        assert told in refused.context["pins"].non_field_errors()[0]
        act(base, does="lend", crew="")
        act(base, does="pin", only_crew="stone-crew")
        assert act(base, does="lend", crew="stone-crew").status_code == 422

    def test_both_parts_of_a_split_work_are_kept(self, job, stone):
        """What the crew was to do whole, it does in parts."""
        soil = only(job, "amend-soil")
        act(soil, does="pin", only_crew="stone-crew")
        act(soil, does="split", share="50")
        assert soil.parts.get().only_crew == stone

    def test_a_crew_that_is_no_more_is_named_when_planning(self, job, stone):
        """With the wish to give up."""
        act(only(job, "spread-base"), does="pin", only_crew="stone-crew")
        stone.skills.filter(skill="labour").delete()
        with pytest.raises(CannotAllBeKept) as refused:
            plan_jobs(now=NOW, by="test")
        told = "Spread stone base, front path (3 Finch Street) is done by Stone crew, by hand"
        assert told in refused.value.reason

    def test_who_began_goes_on(self, job, stone):
        """Work under way stays with its crew, whatever was fixed before."""
        base = only(job, "spread-base")
        published_plan()
        begun = datetime(2026, 6, 15, 7, tzinfo=NOW.tzinfo)
        green = Crew.objects.get(slug="green-crew")
        base.only_crew, base.started_at, base.done_crew = stone, begun, green
        base.save()
        assert read_world(NOW).world.works[base.uid].pin == Pin()
