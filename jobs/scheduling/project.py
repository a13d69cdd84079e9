"""The classic project: activities of fixed length, links without waits, resources with a capacity.

What published test problems are made of (PSPLIB: R. Kolisch, A. Sprecher, European Journal of Operational
Research 96, 1996, 205-216); a job shop is one with resources of one unit. Here: reading checked, a plain
schedule from a list of priorities, and lists improved by justification (all right, then all left; V. Valls,
F. Ballestin, S. Quintanilla, European Journal of Operational Research 165, 2005, 375-386).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .dice import Dice
from .errors import BadWorld
from .kernel import order_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from .budget import Budget


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


class Lister:
    """Schedules from lists: each activity in turn as early as links and resources allow."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.wanted = [
            [(r, units) for r, units in enumerate(wanted) if units] for wanted in project.demands
        ]

    def schedule(self, order: Sequence[int]) -> list[int]:
        """Return starts; ``order`` must have forerunners first."""
        project = self.project
        size = sum(project.durations) + 1
        free = [[most] * size for most in project.capacities]
        starts, soonest = [0] * len(order), [0] * len(order)
        for i in order:
            start, length = soonest[i], project.durations[i]
            if length:
                start = self._fit(free, i, start, length)
                for r, units in self.wanted[i]:
                    line = free[r]
                    for slot in range(start, start + length):
                        line[slot] -= units
            starts[i] = start
            for j in project.after[i]:
                soonest[j] = max(soonest[j], start + length)
        return starts

    def _fit(self, free: list[list[int]], i: int, start: int, length: int) -> int:
        """First start from which all resources have room for the whole length."""
        slot = start
        while slot < start + length:
            for r, units in self.wanted[i]:
                if free[r][slot] < units:
                    start = slot + 1
                    break
            slot += 1
        return start


def makespan(project: Project, starts: Sequence[int]) -> int:
    """Return the end of the last activity."""
    return max(s + d for s, d in zip(starts, project.durations, strict=True))


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


FEW = 0.5
"""Share of tries that move only a few activities."""
FAR = 0.3
"""Standard distance by which these move, as a share of the makespan."""
WIDTHS = (0.05, 0.15, 0.4)
"""The same for all activities about one moment."""


class Walk:
    """Better lists by changing the best one in places and justifying it both ways."""

    def __init__(self, project: Project, seed: int) -> None:
        self.project, self.dice = project, Dice(seed, "project")
        self.forward, self.backward = Lister(project), Lister(project.turned())
        keys = [float(-tail) for tail in tails(project)]
        self.best = self.justified(keys)
        self.length = makespan(project, self.best)

    def run(self, budget: Budget, told: Callable[[list[int]], None] | None = None) -> None:
        """Change turns here and there until the budget is spent or nothing can be better."""
        least = least_makespan(self.project)
        current, length = self.best, self.length
        while self.length > least and not budget():
            starts = self.justified(self._shaken(current))
            found = makespan(self.project, starts)
            if found <= length:
                current, length = starts, found
            if found < self.length:
                self.best, self.length = starts, found
                if told is not None:
                    told(starts)

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
        """Schedule by keys, then all as late as they can, then all as early as they can."""
        project = self.project
        starts = self.forward.schedule(in_turn(project, keys))
        length = makespan(project, starts)
        ends = [-float(s + d) for s, d in zip(starts, project.durations, strict=True)]
        late = self.backward.schedule(in_turn(self.backward.project, ends))
        keys = [float(length - s - d) for s, d in zip(late, project.durations, strict=True)]
        better = self.forward.schedule(in_turn(project, keys))
        return min(starts, better, key=lambda it: makespan(project, it))


def in_turn(project: Project, keys: Sequence[float]) -> list[int]:
    """Return activities by key, forerunners first."""
    turns = list(keys)
    for i in order_of(project.after):
        for j in project.after[i]:
            turns[j] = max(turns[j], turns[i] + 1e-6)
    return sorted(range(len(turns)), key=turns.__getitem__)


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
