"""How strong a crew is for a work: its usual number of people, and the slots it loses on days with fewer."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import TYPE_CHECKING

from .durations import CROWDING, GRACE

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Strength:
    """What a crew brings to a work.

    Attributes
    ----------
    people
        How many are at it on most days on which they are enough: what its duration is reckoned with.
    lost
        For each day the day slots lost to the work, one bit a slot, the first slot lowest.
    barred
        Numbers of the days on which the crew has too few people for it.
    """

    people: int
    lost: tuple[int, ...]
    barred: frozenset[int]


def strength_of(
    able: Sequence[int], masks: Sequence[int], *, least: int, most: int, since: int = 0
) -> Strength | None:
    """Return how strong a crew is for a work; None if it never has people enough.

    Parameters
    ----------
    able
        For each day how many of its people are there and can do such work.
    masks
        For each day the day slots the crew works, one bit a slot; nothing on days off.
    least, most
        Below the least the work cannot be done; more than the most would be in each other's way.
    since
        Number of the first day that can still be planned.

    Notes
    -----
    Pace goes with the people to the power of 0.9. A day on which two of three are there is worth
    (2/3) ^ 0.9 = 0.69 of one: 1.22 of its four slots are lost. Losses of days one after the other add up, and
    as many whole slots as that, less the usual grace, are taken from the ends of the days: two the
    first day, one the next, one the third. Days with more people than most have win nothing.
    """
    worked = [min(able[day], most) for day in range(since, len(able)) if masks[day]]
    counts = Counter(hands for hands in worked if hands >= least)
    if not counts:
        return None
    usual = max(counts, key=lambda hands: (counts[hands], hands))
    lost, barred, owed, taken = [], set[int](), Decimal(0), 0
    for day, mask in enumerate(masks):
        hands = min(able[day], most)
        closed = 0
        if mask and hands < least:
            closed = mask
            barred.add(day)
        elif mask and hands < usual:
            owed += mask.bit_count() * (1 - (Decimal(hands) / usual) ** CROWDING)
            due = int((owed - GRACE).to_integral_value(ROUND_CEILING)) - taken
            closed = _last(mask, due)
            taken += closed.bit_count()
        elif mask:
            owed, taken = Decimal(0), 0
        lost.append(closed)
    return Strength(usual, tuple(lost), frozenset(barred))


def together(one: Sequence[int], other: Sequence[int]) -> list[int]:
    """Return day by day how many of two crews can do something; of one crew alone if the other cannot."""
    return [a + b for a, b in zip(one, other, strict=True)] if other else list(one)


def _last(mask: int, count: int) -> int:
    """The last few slots of a day."""
    found = 0
    for _ in range(min(count, mask.bit_count())):
        found |= 1 << ((mask & ~found).bit_length() - 1)
    return found
