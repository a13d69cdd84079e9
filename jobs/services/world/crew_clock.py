"""Crews that begin earlier or later than everybody: their times as shown, and waits that hold for them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from jobs.trade.work import Clock

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from crews.services.day_hours import HoursBook
    from jobs.scheduling.world import Tie, Work


def on_crews_clocks(
    ties: Iterable[Tie], works: Mapping[str, Work], book: HoursBook
) -> tuple[Tie, ...]:
    """Return links whose waits hold on the clock on the wall whoever does the two works.

    The slots of a plan have everybody's times. Where a crew may be later with the first work, or earlier with the
    second, the wait is so much longer; where the other way round, an at-most is so much shorter.
    """
    spans = {uid: _span(work, book) for uid, work in works.items()}
    return tuple(_told(tie, spans[tie.before], spans[tie.after]) for tie in ties)


def shown(moment: datetime, crew: str, book: HoursBook) -> datetime:
    """Return a moment of everybody's day at the hour it has in a crew's day."""
    return moment + timedelta(minutes=book.shift(crew, moment.date()))


def _span(work: Work, book: HoursBook) -> tuple[int, int]:
    """Least and most minutes by which whoever does a work is later than everybody."""
    spans = [book.shifts(crew) for crew in work.crews] or [(0, 0)]
    return min(low for low, _ in spans), max(high for _, high in spans)


def _told(tie: Tie, before: tuple[int, int], after: tuple[int, int]) -> Tie:
    longer, shorter = before[1] - after[0], after[1] - before[0]
    if not (longer or shorter) or tie.lag.clock is not Clock.ELAPSED:
        return tie
    amount = tie.lag.amount + longer
    most = tie.lag.at_most
    if most is not None:
        most = max(amount, most - shorter)
    return replace(tie, lag=replace(tie.lag, amount=amount, at_most=most))
