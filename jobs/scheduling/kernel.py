"""The critical path in plain numbers: four relations with lags, at-mosts, both floats.

Time is continuous and begins at 0; an activity is not split, so a finish is a start and a duration,
and every link, whatever its relation, says that one start comes at least so much after another. The
end of the last activity counts as a follower of every activity: that is what bounds the free float.

Without an at-most the links make no ring and each is looked at twice, in the order of Kahn (1962).
With at-mosts the same figures are found by correcting labels until none is left to correct, and a
ring that corrects itself for ever is named (Bellman 1958).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from operator import add, sub
from typing import TYPE_CHECKING, NamedTuple

from .errors import BadWorld, NoPlan

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from jobs.trade.work import Relation

Step = tuple[int, float]
"""A follower and how long after the start of its forerunner it starts at the soonest."""


class Bond(NamedTuple):
    """A link between two activities by number, in one unit of time."""

    before: int
    after: int
    relation: Relation
    lag: float = 0
    at_most: float | None = None


@dataclass(frozen=True, slots=True)
class Prepared:
    """A network made ready: per activity its followers, in starts alone.

    Attributes
    ----------
    after
        For each activity, its followers with the least distance of the two starts.
    befores
        For each activity, how many forerunners it has.
    bound
        True if some link has an at-most; ``after`` then runs back along it, too.
    """

    durations: Sequence[float]
    after: Sequence[Sequence[Step]]
    befores: Sequence[int]
    bound: bool = False


class Dates(NamedTuple):
    """Early and late starts and both floats, by number of activity, and the finish of all."""

    early: list[float]
    late: list[float]
    total: list[float]
    free: list[float]
    finish: float


def prepare(durations: Sequence[float], bonds: Iterable[Bond]) -> Prepared:
    """Turn links of all relations into least distances between starts.

    Raises
    ------
    BadWorld
        If a duration is negative.
    """
    if min(durations, default=0) < 0:
        raise BadWorld("work cannot take less than no time", remedy="give a duration of 0 or more")
    after: list[list[Step]] = [[] for _ in durations]
    befores, bound = [0] * len(after), False
    for bond in bonds:
        shift = _shift(durations, bond)
        befores[bond.after] += 1
        after[bond.before].append((bond.after, bond.lag + shift))
        if bond.at_most is not None:
            bound = True
            after[bond.after].append((bond.before, -bond.at_most - shift))
    return Prepared(durations, after, befores, bound)


def _shift(durations: Sequence[float], bond: Bond) -> float:
    """Distance of two starts when the two events that a link binds coincide."""
    before = durations[bond.before] if bond.relation.from_finish else 0
    after = durations[bond.after] if bond.relation.to_finish else 0
    return before - after


def find_dates(network: Prepared, names: Sequence[str] = ()) -> Dates:
    """Compute early and late starts and both floats.

    Parameters
    ----------
    names
        What to call the activities if there is no plan; their numbers are used without.

    Raises
    ------
    NoPlan
        If links and at-mosts form a ring that cannot be kept; its members are the culprits.
    """
    if not network.bound:
        order, early = _forward(network)
        if len(order) == len(network.after):
            return _backward(network, order, early)
    return _corrected(network, names)


def order_of(after: Sequence[Sequence[int]]) -> list[int]:
    """Return all numbers with forerunners first; those in or behind a ring are left out."""
    waiting = [0] * len(after)
    for followers in after:
        for v in followers:
            waiting[v] += 1
    order = [u for u, count in enumerate(waiting) if not count]
    for u in order:  # grows as it is read
        for v in after[u]:
            waiting[v] -= 1
            if not waiting[v]:
                order.append(v)
    return order


def _forward(network: Prepared) -> tuple[list[int], list[float]]:
    """Order and early starts; the order is short if there is a ring."""
    after, waiting = network.after, list(network.befores)
    early: list[float] = [0] * len(after)
    order = [u for u, count in enumerate(waiting) if not count]
    for u in order:  # grows as it is read
        start = early[u]
        for v, least in after[u]:
            if start + least > early[v]:  # noqa: PLR1730 (a call of max or min costs more)
                early[v] = start + least
            waiting[v] -= 1
            if not waiting[v]:
                order.append(v)
    return order, early


def _backward(network: Prepared, order: list[int], early: list[float]) -> Dates:
    """Late starts and floats, followers first."""
    durations, after = network.durations, network.after
    finish = max(map(add, early, durations), default=0)
    late: list[float] = [0] * len(after)
    free: list[float] = [0] * len(after)
    for u in reversed(order):
        latest = soonest = finish - durations[u]
        for v, least in after[u]:
            if late[v] - least < latest:  # noqa: PLR1730 (a call of max or min costs more)
                latest = late[v] - least
            if early[v] - least < soonest:  # noqa: PLR1730 (a call of max or min costs more)
                soonest = early[v] - least
        late[u] = latest
        free[u] = soonest - early[u]
    return Dates(early, late, list(map(sub, late, early)), free, finish)


def _corrected(network: Prepared, names: Sequence[str]) -> Dates:
    """Find the same figures where links run in rings."""
    durations, count = network.durations, len(network.after)
    early = _longest(network, network.after, [0.0] * count, names)
    finish = max((a + b for a, b in zip(early, durations, strict=True)), default=0.0)
    back: list[list[Step]] = [[] for _ in durations]
    for u, steps in enumerate(network.after):
        for v, least in steps:
            back[v].append((u, least))
    tails = _longest(network, back, list(map(float, durations)), names)
    late = [finish - tail for tail in tails]
    free = [
        min([early[v] - least for v, least in steps] + [finish - durations[u]]) - early[u]
        for u, steps in enumerate(network.after)
    ]
    return Dates(early, late, [b - a for a, b in zip(early, late, strict=True)], free, finish)


def _longest(
    network: Prepared, after: Sequence[Sequence[Step]], label: list[float], names: Sequence[str]
) -> list[float]:
    """Raise labels along the links until each is kept."""
    turns = [0] * len(label)
    queue, waiting = deque(range(len(label))), [True] * len(label)
    while queue:
        u = queue.popleft()
        waiting[u] = False
        for v, least in after[u]:
            if label[u] + least > label[v]:
                label[v] = label[u] + least
                if not waiting[v]:
                    waiting[v] = True
                    turns[v] += 1
                    if turns[v] > len(label):
                        raise _ring(network, names)
                    queue.append(v)
    return label


def _ring(network: Prepared, names: Sequence[str]) -> NoPlan:
    """Name the members of a ring of links that can never be kept.

    What is still corrected after as many rounds as there are activities lies on a ring or behind one, and
    what corrected it leads back into the ring.
    """
    count = len(network.after)
    label, by, last = [0.0] * count, [0] * count, 0
    for _ in range(count):
        for u, steps in enumerate(network.after):
            for v, least in steps:
                if label[u] + least > label[v]:
                    label[v], by[v], last = label[u] + least, u, v
    for _ in range(count):
        last = by[last]
    ring = [last]
    while by[ring[-1]] != last:
        ring.append(by[ring[-1]])
    ring.reverse()
    first = ring.index(min(ring))
    culprits = tuple(names[u] if names else str(u) for u in ring[first:] + ring[:first])
    return NoPlan(
        f"the links {' - '.join(culprits)} run in a ring and cannot all be kept",
        remedy="remove one of them, shorten a wait, or allow more time",
        culprits=culprits,
    )
