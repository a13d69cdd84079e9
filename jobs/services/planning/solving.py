"""The solve queue: ask for a better plan, claim one, work on it, show how far it is, stop it.

A row is claimed by an UPDATE that must touch exactly one row, so that two workers never take the same one.
Whoever works on it keeps saying so; silent for too long, another takes it up again. Nothing that happens
here touches the published plan: what comes out is a proposal.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from jobs import clock
from jobs.models import Solve, Worker
from jobs.scheduling.errors import SchedulingError
from jobs.services.world.keep import keep

from .plan_jobs import find_plan
from .solve_world import Limits
from .what_if import helps_most, searched_answer
from .what_if_worlds import question_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from django.db.models import QuerySet

    from jobs.scheduling.result import Score

    from .plan_jobs import Made
    from .solve_world import Watch
    from .what_if_worlds import Question

USUAL_SECONDS = 30.0
SILENT = timedelta(seconds=15)
"""A worker that says nothing for so long is taken for dead."""
MOST_TRIES = 3
"""Times a task is taken up; a third worker that dies of it is the last."""
TELL_EVERY = timedelta(seconds=1)
CORES = 2
MINUTE = 60


class TakenAwayError(Exception):
    """Another worker took the task up meanwhile: what was found here is thrown away."""


def ask(*, by: str, seconds: float = USUAL_SECONDS, seed: int = 0) -> Solve:
    """Ask for a better plan; one that is waiting or running already is returned as it is."""
    with transaction.atomic():
        open_now = current()
        if open_now is not None:
            return open_now
        return Solve.objects.create(asked=timezone.now(), by=by, limit=seconds, seed=seed)


def ask_what_if(question: Question | None, *, by: str) -> Solve:
    """Ask what a change would buy, or what would help most; the same asked twice is asked once."""
    kind = Solve.Kind.HELPS_MOST if question is None else Solve.Kind.WHAT_IF
    stored = {} if question is None else question.stored()
    with transaction.atomic():
        for task in Solve.objects.filter(state__in=Solve.OPEN, kind=kind):
            if task.question == stored:
                return task
        return Solve.objects.create(
            asked=timezone.now(), by=by, limit=USUAL_SECONDS, kind=kind, question=stored
        )


def current() -> Solve | None:
    """Return the search for a plan that is waiting or running, if there is one."""
    return open_of((Solve.Kind.PLAN,))


def open_of(kinds: Collection[Solve.Kind]) -> Solve | None:
    """Return the oldest that is waiting or running of some kinds, if there is one."""
    found = Solve.objects.filter(state__in=Solve.OPEN, kind__in=kinds)
    return found.order_by("asked", "pk").first()


def at_it(task: Solve) -> str:
    """Return for how long the worker that has a task has been at it: ``40 s``, ``3 min``; empty while nobody has."""
    if task.state != Solve.State.RUNNING or task.claimed is None:
        return ""
    seconds = max(0, round((timezone.now() - task.claimed).total_seconds()))
    return f"{seconds} s" if seconds < MINUTE else f"{seconds // MINUTE} min"


def stop(pk: int) -> None:
    """Ask a solve to hand back its best so far; one that nobody has claimed is over at once."""
    Solve.objects.filter(pk=pk, state=Solve.State.RUNNING).update(stop=True)
    Solve.objects.filter(pk=pk, state=Solve.State.WAITING).update(
        state=Solve.State.FAILED, reason="It was stopped before anybody began"
    )


def claim(worker: str) -> Solve | None:
    """Take the oldest task that waits or whose worker fell silent; None if there is none."""
    now = timezone.now()
    silent = Q(state=Solve.State.RUNNING, beat__lt=now - SILENT)
    free = Q(state=Solve.State.WAITING) | silent
    for task in Solve.objects.filter(free).order_by("asked", "pk"):
        if task.tries >= MOST_TRIES:
            _give_up(task)
            continue
        same = Solve.objects.filter(pk=task.pk, state=task.state, beat=task.beat)
        taken = same.update(
            state=Solve.State.RUNNING,
            worker=worker,
            claimed=now,
            beat=now,
            tries=F("tries") + 1,
            progress={},
        )
        if taken == 1:
            task.refresh_from_db()
            return task
    return None


def _give_up(task: Solve) -> None:
    Solve.objects.filter(pk=task.pk, state=task.state, beat=task.beat).update(
        state=Solve.State.FAILED, reason=f"{MOST_TRIES} workers stopped in the middle of it"
    )


def run_one(worker: str, ending: Callable[[], bool] = lambda: False) -> bool:
    """Claim a task and see it through; False if there was nothing to do.

    Parameters
    ----------
    ending
        Asked now and then; True hands back the best so far, because the worker is to end.
    """
    task = claim(worker)
    if task is None:
        return False
    teller = _Teller(task, worker, ending)
    try:
        if task.kind == Solve.Kind.PLAN:
            _make_plan(task, worker, teller)
        else:
            _answer(task, worker, teller)
    except SchedulingError as error:
        _mine(task, worker).update(state=Solve.State.FAILED, reason=str(error)[:400])
    except TakenAwayError:
        return True
    return True


def _make_plan(task: Solve, worker: str, teller: _Teller) -> None:
    made = find_plan(
        now=clock.now(),
        by=task.by,
        seed=task.seed,
        limits=Limits(seconds=task.limit, workers=CORES),
        watch=teller,
    )
    _finish(task, worker, made)


def _answer(task: Solve, worker: str, teller: _Teller) -> None:
    """Find what a change would buy, or what would help most, and write it into the row if it is still ours."""
    if task.kind == Solve.Kind.HELPS_MOST:
        answer = helps_most(clock.now(), teller.so_far, seed=task.seed)
    else:
        question = question_of(task.question)
        answer = searched_answer(question, clock.now(), teller.so_far, seed=task.seed)
    told = {"state": Solve.State.DONE, "answer": answer, "beat": timezone.now()}
    if not _mine(task, worker).update(**told):
        raise TakenAwayError


@transaction.atomic
def _finish(task: Solve, worker: str, made: Made) -> None:
    """Keep the plan as a proposal, if the task is still ours."""
    if not _mine(task, worker).update(state=Solve.State.DONE, beat=timezone.now()):
        raise TakenAwayError
    plan = keep(made.told)
    score, bound = made.result.score, made.result.bound
    Solve.objects.filter(pk=task.pk).update(
        plan=plan, progress=progress_of(score, bound, made.seconds)
    )


def _mine(task: Solve, worker: str) -> QuerySet[Solve]:
    return Solve.objects.filter(pk=task.pk, worker=worker, state=Solve.State.RUNNING)


def progress_of(best: Score, bound: Score, seconds: float) -> dict[str, object]:
    """Return what the page shows while a plan is being made."""
    return {
        "best": [best.late, best.finish, best.upset],
        "bound": [bound.late, bound.finish, bound.upset],
        "seconds": round(seconds, 1),
    }


class _Teller:
    """Writes progress at most once a second, and reads there whether to stop."""

    def __init__(self, task: Solve, worker: str, ending: Callable[[], bool]) -> None:
        self._task, self._worker, self._ending = task, worker, ending
        self._told = timezone.now() - TELL_EVERY

    def __call__(self, watch: Watch | None) -> bool:
        """Tell how far a search for a plan is."""
        if watch is None:
            return self._tell({})
        return self._tell({"progress": progress_of(watch.best, watch.bound, watch.seconds)})

    def so_far(self, done: int, of: int) -> bool:
        """Tell how far an answer is; a worker that is to end leaves it to the next one."""
        if self._ending():
            raise TakenAwayError
        return self._tell({"progress": {"done": done, "of": of}})

    def _tell(self, told: dict[str, object]) -> bool:
        now = timezone.now()
        if now - self._told < TELL_EVERY:
            return False
        self._told = now
        told["beat"] = now
        mine = _mine(self._task, self._worker)
        if not mine.update(**told):
            raise TakenAwayError
        return self._ending() or mine.filter(stop=True).exists()


def beat(worker: str) -> None:
    """Say that a worker is alive."""
    Worker.objects.update_or_create(name=worker, defaults={"beat": timezone.now()})


def leave(worker: str) -> None:
    """Say that a worker is done, and give back what it had claimed."""
    Worker.objects.filter(name=worker).delete()
    Solve.objects.filter(worker=worker, state=Solve.State.RUNNING).update(
        state=Solve.State.WAITING, worker=""
    )


def anybody_there() -> bool:
    """Return True if a worker said not long ago that it is alive."""
    recent = timezone.now() - SILENT
    working = Solve.objects.filter(state=Solve.State.RUNNING, beat__gte=recent).exists()
    return working or Worker.objects.filter(beat__gte=recent).exists()
