"""Halves of working days: a crew changes yards only between them."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from jobs.scheduling.slots import SlotAxis


def half_days(axis: SlotAxis) -> list[list[int]]:
    """Positions of each half of a day."""
    numbered = enumerate(axis.positions)
    return [[n for n, _ in group] for _, group in groupby(numbered, key=lambda pair: pair[1].half)]


REMEMBERED = 8192
"""Answers kept, by what the first day looks like: a pass or search asks for the same few patterns again and again."""


def spreader(halves: Sequence[Sequence[int]], size: int) -> Callable[[int], int]:
    """Return a function that widens slots to the half days they lie in."""
    per_day = sum(map(len, halves))
    day_firsts = sum(1 << slot for slot in range(0, size, per_day))
    parts = [(day_firsts << half[0], len(half)) for half in halves]

    @lru_cache(maxsize=REMEMBERED)
    def from_first_day(bits: int) -> int:
        found = 0
        for firsts, width in parts:
            low = bits
            for n in range(1, width):
                low |= bits >> n
            low &= firsts
            for n in range(width):
                found |= low << n
        return found

    def spread(bits: int) -> int:
        lowest = (bits & -bits).bit_length() - 1
        day = lowest - lowest % per_day if bits else 0
        return from_first_day(bits >> day) << day

    return spread
