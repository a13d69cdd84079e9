"""The classic project: activities of fixed length, links without waits, resources with a capacity.

What published test problems are made of (PSPLIB: R. Kolisch, A. Sprecher, European Journal of Operational
Research 96, 1996, 205-216); a job shop is one with resources of one unit. Here: reading checked, a plain
schedule from a list of priorities, and lists improved by justification (all right, then all left; V. Valls,
F. Ballestin, S. Quintanilla, European Journal of Operational Research 165, 2005, 375-386).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.dice import Dice
from jobs.scheduling.errors import BadWorld
from jobs.scheduling.kernel import order_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from jobs.scheduling.budget import Budget


@dataclass(frozen=True, slots=True)
class Project:
    """Activities by number, with followers, demands by resource, and capacities."""

    name: str
    durations: tuple[int, ...]
    after: tuple[tuple[int, ...], ...]
    demands: tuple[tuple[int, ...], ...]
    capacities: tuple[int, ...]

    def __post_init__(self) -> None:
        """Refuse rings, and demands that no capacity meets."""
        if len(order_of(self.after)) < len(self.durations):
            raise BadWorld(
                f"{self.name}: some activities wait for each other in a ring",
                remedy="remove a link",
            )
        for i, wanted in enumerate(self.demands):
            for units, most in zip(wanted, self.capacities, strict=True):
                if units > most:
                    raise BadWorld(
                        f"{self.name}: activity {i + 1} wants {units} of {most}",
                        remedy="raise the capacity",
                        culprits=(str(i + 1),),
                    )

    def turned(self) -> Project:
        """Return the same project with time running backwards."""
        after: list[list[int]] = [[] for _ in self.durations]
        for i, found in enumerate(self.after):
            for j in found:
                after[j].append(i)
        turned = tuple(map(tuple, after))
        return Project(self.name, self.durations, turned, self.demands, self.capacities)


class Packed(NamedTuple):
    """An activity as one number per question, a field per resource and slot it lasts.

    Attributes
    ----------
    window
        All bits of its slots.
    excess
        Added to what is in use, sets the top bit of every field that would be overdrawn.
    tops
        Top bits of the fields that it draws on.
    units
        What it draws.
    """

    length: int
    window: int
    excess: int
    tops: int
    units: int
    after: tuple[int, ...]


class Lister:
    """Schedules from lists: each activity in turn as early as links and resources allow.

    What is in use is one whole number: for each slot a field per resource, with a bit to spare at its top.
    One addition then shows for all slots and resources at once where an activity does not fit.
    """

    def __init__(self, project: Project) -> None:
        self.project = project
        bits = max(project.capacities, default=0).bit_length() + 1
        self.width = bits * len(project.capacities)
        self.packed = [self._pack(i, bits) for i in range(len(project.durations))]
        self.order = order_of(project.after)
        self.rest = tails(project)

    def _pack(self, i: int, bits: int) -> Packed:
        project, length = self.project, self.project.durations[i]
        top, tops, excess, units = 1 << (bits - 1), 0, 0, 0
        for r, (wanted, most) in enumerate(
            zip(project.demands[i], project.capacities, strict=True)
        ):
            if wanted:
                tops |= top << r * bits
                excess |= (top - 1 - most + wanted) << r * bits
                units |= wanted << r * bits
        each = sum(1 << self.width * slot for slot in range(length))
        window = (1 << self.width * length) - 1
        return Packed(length, window, excess * each, tops * each, units * each, project.after[i])

    def in_turn(self, keys: Sequence[float]) -> list[int]:
        """Return activities by key, forerunners first."""
        turns, after = list(keys), self.project.after
        for i in self.order:
            turn = turns[i]
            for j in after[i]:
                if turns[j] < turn:  # noqa: PLR1730 (a call of max costs more)
                    turns[j] = turn
        return sorted(self.order, key=turns.__getitem__)

    def schedule(self, order: Sequence[int], longest: float = inf) -> list[int]:
        """Return starts, or none at all if longer than that; ``order`` must have forerunners first."""
        used, width, packed, rest = 0, self.width, self.packed, self.rest
        starts, soonest = [0] * len(order), [0] * len(order)
        for i in order:
            length, window, excess, tops, units, after = packed[i]
            start = soonest[i]
            while clash := (((used >> width * start) & window) + excess) & tops:
                start += -(-clash.bit_length() // width)
            if start + rest[i] > longest:
                return []
            used += units << width * start
            starts[i] = start
            end = start + length
            for j in after:
                if soonest[j] < end:  # noqa: PLR1730 (a call of max costs more)
                    soonest[j] = end
        return starts


def makespan(project: Project, starts: Sequence[int]) -> int:
    """Return the end of the last activity."""
    return max(map(int.__add__, starts, project.durations))


def mirrored(project: Project, starts: Sequence[int]) -> list[int]:
    """Return the same schedule with time running backwards: one of the turned project."""
    end = makespan(project, starts)
    return [end - s - d for s, d in zip(starts, project.durations, strict=True)]


def least_makespan(project: Project) -> int:
    """Return what no schedule can beat: the longest path, and each resource's load over its capacity."""
    soonest = [0] * len(project.durations)
    for i in order_of(project.after):
        for j in project.after[i]:
            soonest[j] = max(soonest[j], soonest[i] + project.durations[i])
    load = max(
        (
            -(
                -sum(d * w[r] for d, w in zip(project.durations, project.demands, strict=True))
                // most
            )
            for r, most in enumerate(project.capacities)
            if most
        ),
        default=0,
    )
    return max(makespan(project, soonest), load)


def tails(project: Project) -> list[int]:
    """Length of the longest path from the start of each activity to the end."""
    found = list(project.durations)
    for i in reversed(order_of(project.after)):
        for j in project.after[i]:
            found[i] = max(found[i], project.durations[i] + found[j])
    return found


HOPELESS = 1.05
"""Length of a schedule over the best one's beyond which it is not justified."""
FEW = 0.5
"""Share of tries that move only a few activities."""
FAR = 0.3
"""Standard distance by which these move, as a share of the makespan."""
WIDTHS = (0.05, 0.15, 0.4)
"""The same for all activities about one moment."""
PATIENCE = 25
"""A walk ends after a 25th of a try for every three activities without a better schedule: at 30 activities a third of a
second, at 60 some three, when a proof or another walk may do more; at 120 longer than anybody waits."""


class Walk:
    """Better lists by changing the best one in places and justifying it both ways."""

    def __init__(self, project: Project, seed: int) -> None:
        self.project, self.dice = project, Dice(seed, "project")
        self.forward, self.backward = Lister(project), Lister(project.turned())
        self.length = sum(project.durations)
        self.best = self.justified([float(-tail) for tail in tails(project)])
        self.length = makespan(project, self.best)

    def run(self, budget: Budget, told: Callable[[list[int]], None] | None = None) -> None:
        """Change turns here and there until the budget, or patience, is spent or nothing can be better."""
        least, patience = least_makespan(self.project), len(self.best) ** 3 // PATIENCE
        current, length, idle = self.best, self.length, 0
        while self.length > least and idle < patience and not budget():
            starts = self.justified(self._shaken(current))
            idle += 1
            if not starts:
                continue
            found = makespan(self.project, starts)
            if found <= length:
                current, length = starts, found
            if self.take(starts):
                idle = 0
                if told is not None:
                    told(starts)

    def take(self, starts: list[int]) -> bool:
        """Keep a schedule if it is better."""
        length = makespan(self.project, starts)
        if length >= self.length:
            return False
        self.best, self.length = starts, length
        return True

    def _shaken(self, starts: Sequence[int]) -> list[float]:
        """Move a few activities far, or all those about one moment a little."""
        dice, keys = self.dice, [float(start) for start in starts]
        if dice.share() < FEW:
            for _ in range(1 + dice.below(4)):
                keys[dice.below(len(keys))] += dice.bell(FAR * self.length)
            return keys
        middle = starts[dice.below(len(keys))]
        reach = (0.05 + 0.15 * dice.share()) * self.length
        width = WIDTHS[dice.below(len(WIDTHS))] * self.length
        for i, start in enumerate(starts):
            if abs(start - middle) < reach:
                keys[i] += dice.bell(width)
        return keys

    def justified(self, keys: Sequence[float]) -> list[int]:
        """Schedule by keys, then all as late as they can, then all as early as they can; nothing if hopeless."""
        project = self.project
        starts = self.forward.schedule(self.forward.in_turn(keys), self.length * HOPELESS)
        if not starts:
            return []
        late = self.backward.schedule(self.backward.in_turn(self._turned(starts)))
        better = self.forward.schedule(self.forward.in_turn(self._turned(late)))
        return min(starts, better, key=lambda it: makespan(project, it))

    def _turned(self, starts: Sequence[int]) -> list[float]:
        """Turns with time running backwards: what ends last comes first."""
        return [-float(s + d) for s, d in zip(starts, self.project.durations, strict=True)]


def faults_of(project: Project, starts: Sequence[int]) -> list[str]:
    """Say what is wrong with a schedule, slot by slot; nothing is shared with what makes them."""
    wrong = [
        f"activity {j + 1} starts before {i + 1} ends"
        for i, found in enumerate(project.after)
        for j in found
        if starts[j] < starts[i] + project.durations[i]
    ]
    for slot in range(makespan(project, starts)):
        under_way = [i for i, s in enumerate(starts) if s <= slot < s + project.durations[i]]
        for r, most in enumerate(project.capacities):
            if sum(project.demands[i][r] for i in under_way) > most:
                wrong.append(f"resource {r + 1} is overdrawn in slot {slot}")
    return wrong
