"""The solve queue: asked, claimed once, worked on, stopped, taken up again; plans stay proposals."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from crews.models import Role
from jobs.models import Plan, Solve, Worker
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Score
from jobs.services.planning import solving
from jobs.services.planning.plan_jobs import find_plan
from jobs.services.planning.solve_world import Limits, Watch, solve_world
from jobs.services.planning.solving import (
    MOST_TRIES,
    TakenAwayError,
    _Teller,
    anybody_there,
    ask,
    beat,
    claim,
    leave,
    run_one,
    stop,
)
from jobs.services.world.read_world import read_world
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
LONG_AGO = timedelta(minutes=2)


@pytest.fixture
def office():
    """A small yard, planned and published."""
    open_office()
    small_job()
    return published_plan()


def silent(task: Solve) -> None:
    """Let a task's worker have said nothing for two minutes."""
    Solve.objects.filter(pk=task.pk).update(beat=timezone.now() - LONG_AGO)


class TestQueue:
    """One task at a time, one worker for each."""

    def test_asking_twice_is_asking_once(self):
        """A second person looks at the first one's search."""
        assert ask(by="Ana") == ask(by="Ben")
        assert Solve.objects.get().by == "Ana"

    def test_two_workers_never_take_the_same_task(self):
        """The second finds nothing to do."""
        ask(by="Ana")
        first, second = claim("one"), claim("two")
        assert (first.worker, first.tries, second) == ("one", 1, None)

    def test_only_one_of_two_that_looked_at_once_gets_it(self, monkeypatch):
        """Both read the row before either claimed it: the UPDATE touches a row for one only."""
        ask(by="Ana")
        seen = list(Solve.objects.all())
        assert claim("one") is not None

        class Stale:
            """What the second worker read a moment too early."""

            def order_by(self, *names):
                return seen

        real = Solve.objects.filter
        monkeypatch.setattr(
            Solve.objects, "filter", lambda *args, **kw: Stale() if args else real(**kw)
        )
        assert claim("two") is None

    def test_the_task_of_a_silent_worker_is_taken_up_again(self):
        """After fifteen seconds without a word."""
        ask(by="Ana")
        silent(claim("one"))
        again = claim("two")
        assert (again.worker, again.tries) == ("two", 2)

    def test_a_task_that_kills_workers_is_given_up(self):
        """Three times is enough."""
        ask(by="Ana")
        for n in range(MOST_TRIES):
            silent(claim(f"worker {n}"))
        assert claim("last") is None
        assert Solve.objects.get().reason == "3 workers stopped in the middle of it"

    def test_who_lost_a_task_notices(self):
        """The first worker was only slow: what it goes on to find is thrown away."""
        ask(by="Ana")
        first = claim("one")
        silent(first)
        claim("two")
        with pytest.raises(TakenAwayError):
            _Teller(first, "one", lambda: False)(None)

    def test_a_worker_that_leaves_gives_its_task_back(self):
        """Somebody else need not wait until it falls silent."""
        ask(by="Ana")
        beat("one")
        claim("one")
        leave("one")
        assert Solve.objects.get().state == Solve.State.WAITING
        assert not anybody_there()

    def test_stopping_before_anybody_began_ends_it(self):
        """There is no best so far to keep."""
        task = ask(by="Ana")
        stop(task.pk)
        task.refresh_from_db()
        assert (task.state, task.stop) == (Solve.State.FAILED, False)

    def test_progress_is_written_once_a_second_and_the_stop_flag_read(self):
        """The second word within a second is not written."""
        ask(by="Ana")
        task = claim("one")
        teller = _Teller(task, "one", lambda: False)
        assert teller(Watch(Score(late=3, finish=40), Score(late=0, finish=20), 1.0)) is False
        assert teller(Watch(Score(late=1, finish=40), Score(late=0, finish=20), 1.1)) is False
        task.refresh_from_db()
        assert task.progress == {"best": [3, 40, 0], "bound": [0, 20, 0], "seconds": 1.0}
        stop(task.pk)
        assert _Teller(task, "one", lambda: False)(None) is True

    def test_a_worker_told_to_end_hands_back_its_best(self):
        """So says the loop's own flag."""
        ask(by="Ana")
        assert _Teller(claim("one"), "one", lambda: True)(None) is True

    def test_old_workers_are_not_alive(self):
        """A row of yesterday is nobody."""
        Worker.objects.create(name="old", beat=timezone.now() - LONG_AGO)
        assert not anybody_there()
        beat("new")
        assert anybody_there()


class TestRunning:
    """From the queue to a proposal."""

    def test_a_search_ends_as_a_proposal(self, office):
        """The published plan stands; the proposal is no worse."""
        ask(by="Ana", seconds=0.5)
        assert run_one("one") is True
        task = Solve.objects.get()
        office.refresh_from_db()
        assert (task.state, task.plan.state) == (Solve.State.DONE, Plan.State.PROPOSED)
        assert office.state == Plan.State.PUBLISHED
        assert (task.plan.late, task.plan.finish_sum) <= (office.late, office.finish_sum)
        assert run_one("one") is False

    def test_nothing_to_plan_is_a_reason(self):
        """It is told, and the queue goes on."""
        open_office()
        ask(by="Ana", seconds=0.5)
        run_one("one")
        task = Solve.objects.get()
        assert (task.state, task.plan) == (Solve.State.FAILED, None)
        assert task.reason.startswith("There is nothing to plan")

    def test_counted_work_repeats_itself(self, office):
        """Same seed, same tries, same plan, in whatever process."""
        made = [find_plan(now=NOW, by="test", seed=3, limits=Limits(tries=8)) for _ in range(2)]
        assert made[0].result == made[1].result

    def test_a_stop_is_heard_in_the_middle(self, office):
        """Of a search that would go on for days; nobody waits for its end."""
        world = read_world(NOW).world
        result = solve_world(world, Limits(tries=10**9), watch=lambda watch: watch is not None)
        assert result.tried < 10**9
        assert judge_plan(world, result.plan).sound

    def test_the_command_levels_when_told_how_long(self, office, capsys):
        """It says how good the plan is proven to be."""
        call_command("plan", "--work", "5", "--dry-run")
        said = capsys.readouterr().out
        assert "every promise kept; " in said
        assert Plan.objects.count() == 1


class TestPage:
    """The part on the plan page."""

    def test_it_can_be_asked_for_and_stopped_without_script(self, office):
        """Forms post and come back to the page."""
        client = signed_in()
        assert client.post(reverse("ask-solve")).url == reverse("plan")
        page = client.get(reverse("plan")).content.decode()
        assert "A better plan is asked for" in page
        assert "No worker is running" in page
        client.post(reverse("stop-solve", args=[Solve.objects.get().pk]))
        assert "Look for a better plan" in client.get(reverse("plan")).content.decode()

    def test_progress_shows_best_bound_and_seconds(self, office):
        """And survives a reload, because it stands in the row."""
        ask(by="Ana", seconds=30)
        task = claim("one")
        told = {"best": [0, 40], "bound": [0, 36], "seconds": 7.2}
        Solve.objects.filter(pk=task.pk).update(progress={})
        begun = signed_in().get(reverse("solve"), headers={"HX-Request": "true"}).content.decode()
        assert "A worker has been at it for " in begun
        Solve.objects.filter(pk=task.pk).update(progress=told)
        part = signed_in().get(reverse("solve"), headers={"HX-Request": "true"}).content.decode()
        assert "Best so far: every promise kept; finishes at most 1 day from the" in part
        assert "7 of 30 s" in part

    @pytest.mark.parametrize(
        ("seconds", "told"), [(0, "0 s"), (59, "59 s"), (60, "1 min"), (185, "3 min")]
    )
    def test_how_long_a_worker_has_been_at_it(self, office, monkeypatch, seconds, told):
        """In seconds at first, then in minutes; nothing before somebody is."""
        ask(by="Ana", seconds=30)
        assert solving.at_it(Solve.objects.get()) == ""
        task = claim("one")
        now = task.claimed + timedelta(seconds=seconds)
        monkeypatch.setattr(solving.timezone, "now", lambda: now)
        assert solving.at_it(task) == told

    def test_a_dead_worker_is_told_and_the_quick_builder_still_answers(self, office):
        """It fell silent in the middle; a plan can be had all the same, and the task waits for the next one."""
        ask(by="Ana", seconds=30)
        silent(claim("one"))
        client = signed_in()
        page = client.get(reverse("plan")).content.decode()
        assert "Whoever worked on it fell silent" in page
        assert "has been at it" not in page
        assert client.post(reverse("make-plan")).status_code == 302
        assert Plan.objects.get(state=Plan.State.PROPOSED).method
        assert Solve.objects.get().state == Solve.State.RUNNING

    def test_the_page_is_loaded_again_when_it_is_over(self, office):
        """The poll answers with nothing but that."""
        answer = signed_in().get(reverse("solve"), headers={"HX-Request": "true"})
        assert (answer.status_code, answer.headers["HX-Refresh"]) == (204, "true")

    def test_without_script_the_part_is_the_page(self, office):
        """Its address opened by hand leads there."""
        assert signed_in().get(reverse("solve")).url == reverse("plan")

    def test_who_may_only_look_cannot_ask(self, office):
        """Nor stop what others asked for."""
        viewer = signed_in(Role.VIEWER)
        assert viewer.post(reverse("ask-solve")).status_code == 403
        assert "Look for a better plan" not in viewer.get(reverse("plan")).content.decode()


@pytest.mark.django_db(transaction=True)
def test_the_task_of_a_dead_worker_is_done_by_another():
    """It fell silent in the middle: the published plan stands, and the next worker sees it through."""
    open_office()
    small_job()
    plan = published_plan()
    ask(by="Ana", seconds=0.5)
    task = claim("killed")
    silent(task)
    call_command("worker", "--once")
    task.refresh_from_db()
    plan.refresh_from_db()
    assert (plan.state, task.state, task.tries) == (Plan.State.PUBLISHED, Solve.State.DONE, 2)
    assert Worker.objects.count() == 0
