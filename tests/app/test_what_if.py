"""What if: asked on a page, answered at once and by a worker; the plan stands as it is."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from crews.models import Crew, CrewMember, Role, TimeOff
from jobs.models import Activity, HistoryEntry, Job, Plan, Solve
from jobs.scheduling.errors import SchedulingError
from jobs.services.files.load_job import load_job
from jobs.services.planning.solving import (
    TakenAwayError,
    _answer,
    _Teller,
    ask_what_if,
    claim,
    run_one,
    stop,
)
from jobs.services.planning.what_if import helps_most, quick_answer, searched_answer
from jobs.services.planning.what_if_worlds import Change, Question, question_of
from tests.office import NOW, SLUG, SMALL_YARD, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
JULY = {"first": date(2026, 6, 22), "last": date(2026, 7, 31)}


def on(*_: int) -> bool:
    """Nobody says stop."""
    return False


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; ours from Monday 22 June, and nobody is away on Saturday 4 July."""
    open_office()
    TimeOff.objects.filter(first=date(2026, 7, 4)).delete()
    made = small_job()
    published_plan()
    return made


def only(answer) -> dict:
    """The one job of an answer."""
    (row,) = answer["jobs"]
    return row


class TestAnswers:
    """Each kind of change, by the quick builder."""

    def test_a_later_start_costs_its_days(self, job):
        """Ours a week later, done a week later: five working days, less the one that Independence Day takes."""
        answer = quick_answer(Question(Change.START, SLUG, date(2026, 6, 29)), NOW)
        assert answer["words"] == "3 Finch Street begins Mon 29 Jun 2026"
        assert only(answer)["days"] < -3
        assert only(answer)["after"] > only(answer)["before"]

    @pytest.mark.parametrize(
        "question",
        [
            Question(Change.CREW, "ground-crew", **JULY),
            Question(Change.CREW, "ground-crew", **JULY, weekdays=(3,)),
            Question(Change.MACHINE, "plate-compactor", **JULY),
            Question(Change.SATURDAYS, **JULY),
            Question(Change.SATURDAYS, "green-crew", **JULY),
        ],
    )
    def test_more_never_costs(self, job, question):
        """Hands, machines and days: no day is lost, and nothing is written."""
        answer = quick_answer(question, NOW)
        assert (answer["days"] >= 0, answer["late"] >= 0, answer["price"]) == (True, True, None)

    def test_saturdays_buy_days(self, job):
        """A yard of some two weeks is done sooner."""
        assert quick_answer(Question(Change.SATURDAYS, **JULY), NOW)["days"] > 0

    def test_fewer_people_are_slower_and_none_is_told(self, job):
        """One gardener fewer costs days; without any the work cannot be done."""
        green = Crew.objects.get(slug="green-crew")
        assert quick_answer(Question(Change.PEOPLE, green.slug, by=-1), NOW)["days"] <= 0
        with pytest.raises(SchedulingError, match="then nobody can do"):
            quick_answer(Question(Change.PEOPLE, green.slug, by=-CrewMember.objects.count()), NOW)

    def test_a_bid_that_is_won_is_planned_beside_the_rest(self, job):
        """It has a finish of its own; the other yard may be later for it. It is still a bid."""
        bid = load_job(
            SMALL_YARD.replace("3 Finch", "5 Finch").replace('stage = "sold"', 'stage = "bid"'),
            by="test", now=NOW,
        )  # fmt: skip
        Job.objects.filter(pk=bid.pk).update(state=Job.State.BID)
        answer = quick_answer(Question(Change.BID, bid.slug), NOW)
        rows = {row["slug"]: row for row in answer["jobs"]}
        assert (rows[bid.slug]["before"], rows[bid.slug]["after"] > "2026-06-22") == (None, True)
        assert rows[SLUG]["days"] <= 0
        bid.refresh_from_db()
        assert bid.state == Job.State.BID

    @pytest.mark.parametrize("change", list(Change))
    def test_what_is_not_there_is_told(self, job, change):
        """A crew, machine, job or bid of another company."""
        if change is Change.SATURDAYS:
            assert quick_answer(Question(change, **JULY), NOW)["words"].startswith(
                "Saturdays for every"
            )
            return
        with pytest.raises(SchedulingError, match=f"There is no {change.value} called nobody"):
            quick_answer(Question(change, "nobody", **JULY), NOW)

    def test_nothing_is_touched(self, job):
        """Plans, record and rows are as they were."""
        before = (Plan.objects.count(), HistoryEntry.objects.count(), Solve.objects.count())
        quick_answer(Question(Change.CREW, "ground-crew", **JULY), NOW)
        searched_answer(Question(Change.SATURDAYS, **JULY), NOW, on, tries=5)
        assert before == (Plan.objects.count(), HistoryEntry.objects.count(), Solve.objects.count())

    def test_a_question_outlives_its_row(self):
        """Stored and read again it is the same."""
        question = Question(Change.CREW, "ground-crew", **JULY, weekdays=(1, 3), by=1)
        assert question_of(question.stored()) == question

    def test_both_sides_get_the_same_tries_and_the_answer_repeats(self, job):
        """Same seed, same answer."""
        question = Question(Change.SATURDAYS, **JULY)
        asked: list[tuple[int, int]] = []
        first = searched_answer(question, NOW, lambda *told: bool(asked.append(told)), tries=8)
        assert first == searched_answer(question, NOW, on, tries=8)
        assert {of for _, of in asked} == {16}

    def test_stopped_before_both_sides_are_tried_there_is_no_answer(self, job):
        """One side alone would be unfair."""
        with pytest.raises(SchedulingError, match="stopped before both sides"):
            searched_answer(Question(Change.SATURDAYS, **JULY), NOW, lambda *_: True, tries=8)


class TestHelpsMost:
    """The best few of a short list."""

    def test_the_best_come_first(self, job):
        """By weighted days late saved, then by days sooner; what buys nothing is left out."""
        found = helps_most(NOW, on)
        ranks = [(-option["late"], -option["days"]) for option in found["options"]]
        assert ranks == sorted(ranks)
        assert all((option["late"], option["days"]) > (0, 0) for option in found["options"])
        assert found["compared"] == found["of"] > 5
        assert any(option["words"].startswith("Saturdays") for option in found["options"])

    def test_lateness_counts_before_days(self, job):
        """Promised for a day that only Saturdays can keep: they come first."""
        days = [o["after"] for o in (only(quick_answer(Question(Change.SATURDAYS, **JULY), NOW)),)]
        Job.objects.update(promised_on=date.fromisoformat(days[0]))
        best = helps_most(NOW, on)["options"][0]
        assert best["late"] >= 1

    def test_stopped_it_tells_what_was_compared_so_far(self, job):
        """At once: nothing."""
        found = helps_most(NOW, lambda *_: True)
        assert (found["options"], found["compared"]) == ([], 0)


class TestQueue:
    """A worker looks harder."""

    def test_a_worker_answers_and_the_row_keeps_it(self, job):
        """No plan is made, none is touched."""
        ask_what_if(Question(Change.SATURDAYS, **JULY), by="Ana")
        assert run_one("one")
        task = Solve.objects.get()
        assert (task.state, task.plan, task.answer["how"]) == (Solve.State.DONE, None, "searched")
        assert Plan.objects.count() == 1

    def test_the_same_question_twice_is_asked_once(self, job):
        """Another one waits behind it."""
        first = ask_what_if(Question(Change.SATURDAYS, **JULY), by="Ana")
        assert ask_what_if(Question(Change.SATURDAYS, **JULY), by="Ben") == first
        assert ask_what_if(None, by="Ben") != first

    def test_what_cannot_be_answered_is_told(self, job):
        """The crew was dissolved meanwhile."""
        ask_what_if(Question(Change.CREW, "nobody", **JULY), by="Ana")
        run_one("one")
        assert Solve.objects.get().reason.startswith("There is no crew called nobody")

    def test_who_lost_the_task_writes_nothing(self, job):
        """Another worker took it up."""
        ask_what_if(Question(Change.SATURDAYS, **JULY), by="Ana")
        task = claim("one")
        Solve.objects.update(worker="two")
        with pytest.raises(TakenAwayError):
            _answer(task, "one", _Teller(task, "one", lambda: False))
        assert Solve.objects.get().answer is None

    def test_a_worker_that_is_to_end_leaves_it_to_the_next(self, job):
        """It is not answered by half."""
        ask_what_if(Question(Change.SATURDAYS, **JULY), by="Ana")
        run_one("one", lambda: True)
        assert Solve.objects.get().state == Solve.State.RUNNING


class TestPage:
    """Asked in forms, without script."""

    ASKED = {"change": "saturdays", "subject": "", "first": "2026-06-22", "last": "2026-07-31"}

    def test_the_quick_answer_comes_with_the_page(self, job):
        """A plain address that can be kept."""
        page = signed_in().get(reverse("what-if"), self.ASKED).content.decode()
        assert "Saturdays for every crew, Mon 22 Jun – Fri 31 Jul 2026" in page
        assert "Look harder" in page
        assert "3 Finch Street" in page

    def test_what_is_wrong_is_told_beside_its_field(self, job):
        """The other forms are left alone."""
        answer = signed_in().get(reverse("what-if"), self.ASKED | {"last": "2026-06-20"})
        assert answer.status_code == 422
        assert "This lies before the first day: swap the two." in answer.content.decode()
        assert sum(form.is_bound for form in answer.context["forms"]) == 1

    def test_a_worker_is_asked_and_called_off(self, job):
        """Without script forms come back to the page; no worker alive is told."""
        client = signed_in()
        assert client.post(reverse("ask-what-if"), self.ASKED).url == reverse("what-if")
        page = client.get(reverse("what-if")).content.decode()
        assert "Looking harder" in page
        assert "No worker is running" in page
        client.post(reverse("stop-looking", args=[Solve.objects.get().pk]))
        assert "stopped before anybody began" in client.get(reverse("what-if")).content.decode()

    def test_progress_is_polled_and_the_page_loaded_again_at_the_end(self, job):
        """From the row, so that a reload loses nothing."""
        ask_what_if(None, by="Ana")
        task = claim("one")
        Solve.objects.update(progress={"done": 4, "of": 12})
        client, headers = signed_in(), {"HX-Request": "true"}
        part = client.get(reverse("looking"), headers=headers).content.decode()
        assert "4 of 12, a worker at it for " in part
        stop(task.pk)
        Solve.objects.update(
            state=Solve.State.DONE, answer={"options": [], "compared": 12, "of": 12}
        )
        answer = client.get(reverse("looking"), headers=headers)
        assert (answer.status_code, answer.headers["HX-Refresh"]) == (204, "true")
        assert "None of 12 changes" in client.get(reverse("what-if")).content.decode()
        assert client.get(reverse("looking")).url == reverse("what-if")

    def test_the_plan_page_does_not_take_it_for_a_search(self, job):
        """Its own part still offers to look for a better plan."""
        ask_what_if(None, by="Ana")
        assert "Look for a better plan" in signed_in().get(reverse("plan")).content.decode()

    def test_who_may_only_look_gets_quick_answers_only(self, job):
        """Nor can stop what others asked for."""
        viewer = signed_in(Role.VIEWER)
        page = viewer.get(reverse("what-if"), self.ASKED).content.decode()
        assert "Look harder" not in page
        assert viewer.post(reverse("ask-what-if"), self.ASKED).status_code == 403

    def test_an_answer_that_cannot_be_given_is_told(self, job):
        """Nothing to plan."""
        Activity.objects.all().delete()
        page = signed_in().get(reverse("what-if"), self.ASKED).content.decode()
        assert "There is nothing to plan" in page
