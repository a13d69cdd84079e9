"""When a rented machine comes and goes: the cheapest stretches that cover the days it is needed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Hire:
    """One stretch on hire.

    Attributes
    ----------
    first, last
        Days on which it comes and goes, both paid.
    paid
        Days paid: calendar days on hire, or the least period if that is longer.
    idle
        Days on hire on which nobody works with it.
    """

    first: date
    last: date
    paid: int
    idle: tuple[date, ...]


def hires_of(
    needed: Collection[date], *, least: int = 1, worked: Collection[date] | None = None
) -> tuple[Hire, ...]:
    """Return the cheapest stretches on hire that cover the days needed; of equal ones the fewest, then the least idle.

    Parameters
    ----------
    needed
        Days on which it must be there, nights between them included in a stretch.
    least
        Fewest days that are paid for a stretch.
    worked
        Days on which somebody works with it; None for all that are needed.

    Notes
    -----
    Between two needed days it is kept if that costs no more than bringing it back and hiring it
    again. Paid by calendar days, weekends included (common practice; a contract may say otherwise).
    """
    runs = _runs(sorted(set(needed)))
    busy = set(needed if worked is None else worked)
    best: list[tuple[int, int, int, int]] = [(0, 0, 0, 0)]
    for end in range(1, len(runs) + 1):
        best.append(
            min(
                (
                    best[begin][0] + _paid(runs[begin][0], runs[end - 1][1], least),
                    best[begin][1] + 1,
                    best[begin][2] + _idle(runs[begin][0], runs[end - 1][1], busy),
                    begin,
                )
                for begin in range(end)
            )
        )
    found, end = [], len(runs)
    while end:
        begin = best[end][3]
        found.append(_hire(runs[begin][0], runs[end - 1][1], least, busy))
        end = begin
    return tuple(reversed(found))


def _runs(days: Sequence[date]) -> list[tuple[date, date]]:
    """Days that follow each other as first and last."""
    if not days:
        return []
    breaks = [(a, b) for a, b in pairwise(days) if b - a > DAY]
    firsts = [days[0], *(b for _, b in breaks)]
    lasts = [*(a for a, _ in breaks), days[-1]]
    return list(zip(firsts, lasts, strict=True))


def _paid(first: date, last: date, least: int) -> int:
    return max((last - first).days + 1, least)


def _idle(first: date, last: date, busy: Collection[date]) -> int:
    return (last - first).days + 1 - sum(first <= day <= last for day in busy)


def _hire(first: date, last: date, least: int, busy: Collection[date]) -> Hire:
    days = [first + n * DAY for n in range((last - first).days + 1)]
    idle = tuple(day for day in days if day not in busy)
    return Hire(first, last, _paid(first, last, least), idle)
