"""What a change would buy in days per job, and what would help most; nothing is written but the answer.

Both sides are planned alike: the quick builder at once, or a search of the same work and seed in a worker.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, Protocol

from jobs.scheduling.asking.what_if import not_worse, what_it_buys
from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.search.make_plan import make_plan
from jobs.services.world.lacking import some_of, unmanned
from jobs.services.world.read_world import read_world

from .what_if_worlds import Change, Pair, Question, read_pair

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from jobs.scheduling.asking.what_if import Bought
    from jobs.scheduling.result import Result
    from jobs.scheduling.world import World

TRIES = 2_000
"""Tries of the search on either side of one question."""
FEW_TRIES = 150
"""The same for each of the changes that are compared."""
WEEKS = 4
"""How long hands, machines and days are added for when asking what would help most."""
BEST = 5


class Told(Protocol):
    """Told how far an answer is; says True to stop."""

    def __call__(self, done: int, of: int) -> bool:
        """Take it down."""
        ...


def quick_answer(question: Question, now: datetime) -> dict[str, Any]:
    """Answer by the quick builder, at once.

    Raises
    ------
    SchedulingError
        If what is asked about is not there, or one of both worlds cannot be planned.
    """
    return _answer(read_pair(question, now), build_plan, how="quick")


def searched_answer(
    question: Question, now: datetime, told: Told, *, seed: int = 0, tries: int = TRIES
) -> dict[str, Any]:
    """Answer by a search of as many tries on either side, with the same seed.

    Raises
    ------
    SchedulingError
        If what is asked about is not there, or one of both worlds cannot be planned.
    """
    halt = _Halt(told, 2 * tries)
    halt.at_once()
    answer = _answer(read_pair(question, now), _search(seed, tries, halt), how="searched")
    if halt.stopped:
        raise SchedulingError("It was stopped before both sides were tried", remedy="ask again")
    return answer


def helps_most(now: datetime, told: Told, *, seed: int = 0) -> dict[str, Any]:
    """Compare a short list of changes: the best few, by weighted days late saved, then by days sooner.

    Raises
    ------
    SchedulingError
        If there is nothing to plan, or it cannot be planned.
    """
    questions = list(_short_list(now))
    halt = _Halt(told, len(questions))
    answers: list[dict[str, Any]] = []
    for n, question in enumerate(questions):
        halt.done = n
        if halt.at_once():
            break
        try:
            pair = read_pair(question, now)
            answer = _answer(pair, _search(seed, FEW_TRIES, halt.at_once), how="compared")
        except SchedulingError:
            continue  # a crew too small for some work with nobody else: nothing to compare
        if halt.stopped:
            break
        answers.append(answer | {"question": question.stored()})
    answers.sort(key=lambda answer: (-answer["late"], -answer["days"]))
    helpful = [answer for answer in answers if (answer["late"], answer["days"]) > (0, 0)]
    return {"options": helpful[:BEST], "compared": len(answers), "of": len(questions)}


class _Halt:
    """Counts what is done, tells it, and remembers that somebody said stop."""

    def __init__(self, told: Told, of: int) -> None:
        self._told, self._of, self.done, self.stopped = told, of, 0, False

    def __call__(self) -> bool:
        """Count one more."""
        self.done = min(self.done + 1, self._of)
        return self.at_once()

    def at_once(self) -> bool:
        """Tell without counting."""
        self.stopped = self.stopped or self._told(self.done, self._of)
        return self.stopped


def _search(seed: int, tries: int, stop: Callable[[], bool]) -> Callable[[World], Result]:
    return lambda world: make_plan(world, stop=Tries(tries, stop=stop), seed=seed)


def _short_list(now: datetime) -> Iterator[Question]:
    """A second of every crew and machine that has something to do, Saturdays, one person more a crew."""
    world = read_world(now).world
    first = now.date() + timedelta(days=7 - now.weekday())
    last = first + timedelta(weeks=WEEKS, days=-1)
    left = [work for work in world.works.values() if work.done is None]
    busy = [
        name
        for name, crew in world.crews.items()
        if not crew.hired and any(name in work.crews for work in left)
    ]
    yield Question(Change.SATURDAYS, first=first, last=last)
    for name in busy:
        yield Question(Change.CREW, name, first, last)
        yield Question(Change.PEOPLE, name)
    for name in world.machines:
        if any(name in work.machines for work in left):
            yield Question(Change.MACHINE, name, first, last)


def _answer(pair: Pair, make: Callable[[World], Result], *, how: str) -> dict[str, Any]:
    world = pair.planning.world
    before = make(world).plan
    after = not_worse(pair.changed, make(pair.changed), before)
    difference = what_it_buys(world, before, pair.changed, after)
    nobody = [pair.planning.activities[uid].name for uid in unmanned(pair.planning, before)]
    return {
        "words": pair.words,
        "nobody": some_of(nobody),
        "how": how,
        "late": difference.late,
        "days": round(difference.days, 2),
        "price": None,
        "jobs": [_row(pair, row) for row in difference.jobs],
    }


def _row(pair: Pair, row: Bought) -> dict[str, Any]:
    job = pair.jobs[row.job]
    axis = pair.changed.axes[job.zone]
    before, after = (
        None if slot is None else axis.day(slot).isoformat() for slot in (row.before, row.after)
    )
    return {
        "slug": job.slug,
        "name": job.name,
        "before": before,
        "after": after,
        "promise": job.promised_on.isoformat() if job.promised_on else None,
        "late_before": row.late_before,
        "late_after": row.late_after,
        "days": round(row.days, 2),
    }
