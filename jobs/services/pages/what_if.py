"""Reads the what-if page: an answer at once, what is being looked for, and what was found last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.models import Solve
from jobs.scheduling.errors import SchedulingError
from jobs.services.planning.solving import anybody_there, at_it, open_of
from jobs.services.planning.what_if import quick_answer
from jobs.services.telling.speech import say_day
from jobs.services.telling.words import say
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from jobs.services.planning.what_if_worlds import Question

KINDS = (Solve.Kind.WHAT_IF, Solve.Kind.HELPS_MOST)
HOW = {
    "quick": "by the quick builder, both sides alike",
    "searched": "by a search of the same work on both sides",
    "compared": "by a short search of the same work on both sides",
}


class JobRow(NamedTuple):
    """What a change buys one job, in words."""

    slug: str
    name: str
    before: str
    after: str
    buys: str
    promise: str
    worse: bool


class Answer(NamedTuple):
    """What a change buys, in words."""

    words: str
    how: str
    buys: str
    nobody: str
    """What nobody can do as things are, if anything: counted as if somebody were hired, with the change or without."""
    jobs: tuple[JobRow, ...]


@dataclass(frozen=True, slots=True)
class Looking:
    """What is being looked for, or was found last.

    Attributes
    ----------
    task
        What waits or runs; None if nothing does.
    alone
        True if no worker is there to do it.
    answer, options
        What was found last: of one change, and the best of the short list.
    ended
        How the last ended that found nothing.
    at_it
        For how long a worker has been at the task; empty while none is.
    """

    task: Solve | None
    alone: bool
    done: int = 0
    of: int = 0
    answer: Answer | None = None
    options: tuple[Answer, ...] = ()
    compared: int = 0
    ended: str = ""
    at_it: str = ""


@dataclass(frozen=True, slots=True)
class WhatIfPage:
    """The quick answer to what was asked, if something was, or why there is none; and the queue."""

    looking: Looking
    answer: Answer | None = None
    reason: str = ""


def read_what_if(question: Question | None, now: datetime) -> WhatIfPage:
    """Answer a question at once by the quick builder, and read the queue."""
    looking = read_looking()
    if question is None:
        return WhatIfPage(looking)
    try:
        return WhatIfPage(looking, said(quick_answer(question, now)))
    except SchedulingError as error:
        return WhatIfPage(looking, reason=str(error))


def read_looking() -> Looking:
    """Read what is asked for and what was found last, in a bounded number of queries."""
    task, alone = open_of(KINDS), not anybody_there()
    if task is not None:
        told = task.progress
        return Looking(
            task, alone, told.get("done", 0), told.get("of", 0), at_it="" if alone else at_it(task)
        )
    last = {
        kind: Solve.objects.filter(kind=kind).exclude(state__in=Solve.OPEN).first()
        for kind in KINDS
    }
    one, most = (it.answer if it else None for it in last.values())
    newest = max((it for it in last.values() if it), key=lambda it: it.asked, default=None)
    return Looking(
        None,
        alone,
        answer=said(one) if one else None,
        options=tuple(said(option) for option in most["options"]) if most else (),
        compared=most["compared"] if most else 0,
        ended=newest.reason if newest and newest.state == Solve.State.FAILED else "",
    )


def said(answer: Mapping[str, Any]) -> Answer:
    """Say an answer."""
    late, days = answer["late"], answer["days"]
    bought = (
        [f"{_days(days)} {'sooner' if days > 0 else 'later'} in all"] if round(abs(days), 1) else []
    )
    if late:
        bought.insert(
            0, f"{_count(abs(late), 'weighted day')} {'less' if late > 0 else 'more'} late"
        )
    return Answer(
        answer["words"],
        HOW[answer["how"]],
        "; ".join(bought) or "nothing",
        say(Sentence("nobody-bid", {"works": answer["nobody"]})) if answer.get("nobody") else "",
        tuple(_row(row) for row in answer["jobs"]),
    )


def _row(row: Mapping[str, Any]) -> JobRow:
    days = row["days"]
    buys = "the same day"
    if row["before"] is None:
        buys = "new"
    elif round(abs(days), 1):
        buys = f"{_days(days)} {'sooner' if days > 0 else 'later'}"
    promise = "nothing promised"
    if row["promise"]:
        promise = _late(row["late_before"], row["late_after"])
    return JobRow(
        row["slug"], row["name"], _day(row["before"]), _day(row["after"]), buys, promise,
        row["late_after"] > row["late_before"],
    )  # fmt: skip


def _late(before: int, after: int) -> str:
    """Say how a promise stands without the change and with it."""
    if not before and not after:
        return "kept both ways"
    if not after:
        return f"kept, {_count(before, 'day')} late without"
    return f"{_count(after, 'day')} late, {_count(before, 'day')} without"


def _day(text: str | None) -> str:
    return say_day(date.fromisoformat(text)) if text else ""


def _days(days: float) -> str:
    amount = abs(days)
    return _count(round(amount), "working day") if amount >= 1 else "a few hours"


def _count(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
