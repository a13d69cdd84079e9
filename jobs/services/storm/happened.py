"""What else changes a plan: a pause, another promise, a job squeezed in, work or an inspection that failed.

Each is said once, kept as a ``Change`` with how it stood before, and planned only when a way out is accepted.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple
from uuid import uuid4

import networkx as nx
from django.db import transaction

from jobs import models
from jobs.services.by_hand.ties import HandLink, tie
from jobs.services.by_hand.works import add_work
from jobs.services.causes.put import JOB, WORKS, put
from jobs.services.day.log_day import Said, log_day
from jobs.services.history import keep_change
from jobs.services.scope.extras import again
from jobs.services.scope.hands import AGAIN
from jobs.services.scope.takeoff import expand_job
from jobs.services.telling.errors import SaidBefore
from jobs.services.telling.speech import say_date, say_day
from jobs.services.turns import take_turn
from jobs.trade.errors import TradeError
from jobs.trade.work import INSPECTION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.services.by_hand.works import HandWork
    from jobs.services.history import Who

WHOLE = 100
State = models.Job.State


@transaction.atomic
def pause(job: models.Job, first: date, until: date, why: str, who: Who) -> models.Change:
    """Say that a job rests from a day on, and goes on from another.

    Raises
    ------
    TradeError
        If it goes on before it rests, or no plan takes the job anyway.
    SaidBefore
        If it rests on these days already.
    """
    take_turn()
    job = models.Job.objects.select_for_update().get(pk=job.pk)
    if until <= first:
        raise TradeError("it goes on before it rests", remedy="swap the two days")
    if job.state not in models.Job.OPEN:
        raise TradeError(f"{job.name} is in no plan", remedy="choose a job under way")
    if (job.state, job.paused_from, job.paused_until) == (State.PAUSED, first, until):
        raise SaidBefore(f"{job.name} rests on these days already")
    values = {
        "state": State.PAUSED.value,
        "paused_from": first.isoformat(),
        "paused_until": until.isoformat(),
    }
    words = f"paused {say_date(first)}, goes on {say_date(until)}"
    return _say(job, values, _Said(models.Cause.PAUSE, first, words, why), who)


@transaction.atomic
def promise(job: models.Job, day: date | None, why: str, who: Who) -> models.Change:
    """Say that another day was agreed with the owner, or none any more.

    Raises
    ------
    TradeError
        If it lies before the job begins, or is the day that stands.
    """
    take_turn()
    job = models.Job.objects.select_for_update().get(pk=job.pk)
    if day is not None and day < job.starts_on:
        raise TradeError(
            f"{job.name} begins on {say_day(job.starts_on)}", remedy="promise a later day"
        )
    if day == job.promised_on:
        raise TradeError("that is what is promised now", remedy="say another day, or nothing")
    words = f"promised for {say_date(day)}" if day else "nothing promised any more"
    values = {"promised_on": day.isoformat() if day else None}
    return _say(job, values, _Said(models.Cause.PROMISE, who.now.date(), words, why), who)


@transaction.atomic
def squeeze_in(job: models.Job, why: str, who: Who) -> models.Change:
    """Let a bid, or a job that no published plan knows, be planned with the others.

    Taken back, it is a bid.
    """
    state = State.SOLD if job.state == State.BID else State(job.state)
    change = _change(job, _Said(models.Cause.NEW_JOB, who.now.date(), "squeezed in", why), who)
    change.table, change.row = JOB, job.pk
    change.before, change.after = {"state": State.BID.value}, {"state": state.value}
    put(change, change.after, who.now)
    return keep_change(change)


def unplanned() -> list[models.Job]:
    """Return bids, and the open jobs of which the published plan knows nothing."""
    known = models.JobPlan.objects.filter(plan__state=models.Plan.State.PUBLISHED)
    open_jobs = models.Job.objects.filter(state__in=(*models.Job.OPEN, State.BID))
    waiting = models.Change.objects.filter(plan=None, cause=models.Cause.NEW_JOB)
    return list(open_jobs.exclude(pk__in=known.values("job")).exclude(pk__in=waiting.values("row")))


@dataclass(frozen=True, slots=True)
class Failure:
    """Work that did not come out right, or that an inspector did not pass.

    Attributes
    ----------
    work
        What failed.
    day
        On which it took place; logged as done then, if nobody did so before.
    also
        Works beside it that have to be done again too.
    share
        Percent of it that has to be done again.
    right
        What puts it right before it is done or looked at again: breaking out, mending; None if nothing.
    not_before
        Day from which it can be done or looked at again.
    """

    work: models.Activity
    day: date
    also: Sequence[models.Activity] = ()
    share: int = WHOLE
    right: HandWork | None = None
    not_before: date | None = None
    why: str = ""


@transaction.atomic
def fail(failure: Failure, who: Who) -> models.Change:
    """Plan what failed again, with its waits; what was logged and shown stays what it was.

    Raises
    ------
    TradeError
        If it waits to be done again already.
    LogRefusedError
        If the day is yet to come.
    """
    take_turn()
    work = models.Activity.objects.select_for_update().select_related("job").get(pk=failure.work.pk)
    _refuse(work)
    if work.finished_at is None:
        kind = models.DayLog.Kind.DONE
        log_day(Said(uuid4(), work, failure.day, kind, who.now, note="it failed"), by=who.by, now=who.now)  # fmt: skip
    parts = [again(work, failure.share), *(again(other) for other in failure.also)]
    first = parts[0]
    first.not_before = failure.not_before
    first.save(update_fields=["not_before"])
    expand_job(work.job, now=who.now)
    if failure.right is not None:
        made = add_work(work.job, failure.right, who)
        tie(HandLink(made, _first_again(parts), "finish-to-start", why="it failed"), who)
        parts.append(made)
    looked_at = work.skill == INSPECTION
    cause = models.Cause.INSPECTION if looked_at else models.Cause.REDO
    words = f"{work.name}: {'not passed' if looked_at else 'to be done again'}"
    change = _change(work.job, _Said(cause, failure.day, words, failure.why), who)
    change.table, change.row = WORKS, first.pk
    change.after = {"works": [part.pk for part in parts]}
    return keep_change(change)


def beside(work: models.Activity) -> tuple[list[models.Activity], frozenset[str]]:
    """Return what is done in the same place and tied to a work, before it and after it.

    Returns
    -------
    list of Activity, frozenset of str
        In order; and the uids of those that came after it, which are lost with it.
    """
    root = work.part_of or work
    links = root.job.links.filter(lifted=False).values_list("before", "after")
    graph = nx.DiGraph(list(links))
    graph.add_node(root.pk)
    before, after = nx.ancestors(graph, root.pk), nx.descendants(graph, root.pk)
    rows = models.Activity.objects.filter(
        pk__in=before | after, zone=root.zone, finished_at__isnull=False, retired=False
    )
    found = list(rows.filter(extra="", part_of=None).order_by("order", "pk"))
    return found, frozenset(row.uid for row in found if row.pk in after)


def _refuse(work: models.Activity) -> None:
    root = work.part_of or work
    if root.parts.filter(extra=AGAIN, retired=False, finished_at=None).exists():
        raise TradeError(
            f"{work.name} waits to be done again already", remedy="look at the job's activities"
        )


def _first_again(parts: Sequence[models.Activity]) -> models.Activity:
    """The one of the parts that no other of them comes before: putting right precedes it."""
    ids = {part.pk for part in parts}
    later = models.Link.objects.filter(before__in=ids, after__in=ids)
    behind = set(later.values_list("after", flat=True))
    return next((part for part in parts if part.pk not in behind), parts[0])


class _Said(NamedTuple):
    """One thing said: why the plan changes, from which day, in which words."""

    cause: str
    first: date
    words: str
    why: str


def _say(job: models.Job, values: dict[str, Any], said: _Said, who: Who) -> models.Change:
    """Set fields of a job, and keep how they stood."""
    change = _change(job, said, who)
    change.table, change.row, change.after = JOB, job.pk, values
    change.before = {name: _plain(getattr(job, name)) for name in values}
    put(change, values, who.now)
    return keep_change(change)


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value


def _change(job: models.Job, said: _Said, who: Who) -> models.Change:
    words = f"{said.words} ({said.why})" if said.why else said.words
    return models.Change(
        job=job, cause=said.cause, first=said.first, why=words[:200], by=who.by, at=who.now
    )
