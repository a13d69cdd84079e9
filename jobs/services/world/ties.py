"""Links between works as the planner reads them: shorter by an engineer's word, freed of what was missed in fact."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from jobs import models
from jobs.scheduling.world import Tie
from jobs.trade.work import Clock, Lag, Relation, Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence


def read_ties(
    ids: Sequence[int],
    activities: Iterable[models.Activity],
    released: Mapping[int, Mapping[str, int]],
    now: datetime,
) -> list[Tie]:
    """Return the links between planned works; an *at most* that has been missed in fact binds nobody any more."""
    events = {a.uid: (a.started_at, a.finished_at) for a in activities}
    rows = models.Link.objects.filter(
        job__in=ids, before__retired=False, after__retired=False, lifted=False
    ).select_related("before", "after")
    return [
        _without_missed(_released(_tie(row), released.get(row.before_id, {})), events, now)
        for row in rows.order_by("pk")
    ]


def _released(tie: Tie, waits: Mapping[str, int]) -> Tie:
    """A wait lasts no longer than the engineer of the pour asks for."""
    amount = min(tie.lag.amount, waits.get(tie.lag.wait, tie.lag.amount))
    return tie if amount == tie.lag.amount else replace(tie, lag=replace(tie.lag, amount=amount))


def _without_missed(
    tie: Tie, events: Mapping[str, tuple[datetime | None, datetime | None]], now: datetime
) -> Tie:
    event = events[tie.before][tie.relation.from_finish]
    met = events[tie.after][tie.relation.to_finish]
    if event is None or met is not None or tie.lag.at_most is None:
        return tie
    if event + timedelta(minutes=tie.lag.at_most) > now:
        return tie
    return replace(tie, lag=replace(tie.lag, at_most=None))


def _tie(link: models.Link) -> Tie:
    return Tie(
        before=link.before.uid,
        after=link.after.uid,
        relation=Relation(link.relation),
        lag=Lag(link.lag, Clock(link.clock), link.at_most, link.wait),
        rule=link.rule,
        why=Sentence(link.why[0], link.why[1]) if link.why else Sentence(""),
    )
