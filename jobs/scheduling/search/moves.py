"""What a try takes out, and the turns in which it is put back.

Some tries look at what holds a job's finish up: a work there goes before one that is in its way, or first of
all that a crew or machine does about that time, whose turns are drawn anew. The others are blind: a few works
change their turns, but far, or whole jobs are shifted. The first job is more often a late one, and the others
stand near it on a crew or machine that it could use.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .hold_ups import hold_ups, in_line, in_the_way

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from jobs.scheduling.dice import Dice
    from jobs.scheduling.placing.board import Board

    from .hold_ups import HoldUp

IN_LINE, SOONER = 0.3, 0.4
"""Shares of tries that draw anew who stands in line for a crew or machine, and that let a work go before one that
is in its way. Without the first, long walks at 20 and 40 yards end with a fifth more days late."""
LINE_DAYS = 5
"""Days after the end of the work that waits within which others stand in line with it, at most."""
MOST_IN_LINE = 8
"""Works that change their turns in a line."""
OTHER_CREW = 0.5
"""Share of the latter that look at who is in the way on any able crew, not on its own."""
JUST_TWO = 0.5
"""Share of these that take out just the two and what follows them, not all later works of their jobs."""
ONE_MORE = 0.3
"""Share of the rest that take out a third job as well."""
LATE_FIRST = 0.6
"""Share of tries that begin with a late job."""
WHOLE = 0.25
"""Share of blind tries that take jobs out whole."""
FEW, FEW_JOBS = 0.85, 5
"""Share of blind tries in which only one to four works change their turns, but far; among many jobs the order
between jobs matters more than within them, so the share falls beyond ``FEW_JOBS``."""
FAR_DAYS = 15.0
"""Standard distance by which these move, in days."""
SHIFTS = (0.5, 2.0, 6.0)
"""Standard widths in days by which turns of jobs are shifted."""
NEAR_DAYS = 8
"""Days within which two works are neighbours."""

Turns = dict[int, float]
"""Works taken out, and in which turn each is put back: lower first, where it stands being its own."""


@dataclass
class Moves:
    """Chooses what to try.

    Attributes
    ----------
    late
        Weighted days by which each job is late; the search writes it.
    of, members, counted
        Job of each work; works of each job that may move, and those that count for its finish.
    """

    board: Board
    dice: Dice
    late: Sequence[int]
    of: list[int] = field(init=False)

    def __post_init__(self) -> None:
        """Read what the jobs are made of."""
        ready, lots = self.board.ready, self.board.lots
        number = {name: n for n, name in enumerate(ready.world.jobs)}
        self.of = [number[work.job] for work in ready.works]
        self.members = self._by_job(i for i in range(len(ready.works)) if lots.ways[i])
        self.counted = self._by_job(i for i, work in enumerate(ready.works) if work.counts)
        self.movable = [n for n, members in enumerate(self.members) if members]
        self.after: list[list[int]] = [[] for _ in ready.works]
        for i, j in lots.first:
            self.after[i].append(j)
        self.crossing = any(self.of[i] != self.of[j] for i, j in lots.first)
        self._read_fans()

    def _by_job(self, works: Iterable[int]) -> list[list[int]]:
        found: list[list[int]] = [[] for _ in self.late]
        for i in works:
            found[self.of[i]].append(i)
        return found

    def _read_fans(self) -> None:
        """Read which works could use each crew and machine."""
        works, ways = self.board.ready.works, self.board.lots.ways
        self.drawn = [
            [("crew", way.option.crew) for way in ways[i] if way.option.crew]
            + [("machine", name) for name in work.machines]
            for i, work in enumerate(works)
        ]
        self.fans: dict[tuple[str, str], list[int]] = {}
        for i, drawn in enumerate(self.drawn):
            for what in dict.fromkeys(drawn):
                self.fans.setdefault(what, []).append(i)

    def choose(self) -> Turns:
        """Choose works to take out, and their turns."""
        share = self.dice.share()
        if share >= IN_LINE + SOONER:
            return self._blind()
        counted, end = self.counted[self.choose_first()], self.board.end
        held = list(hold_ups(self.board, max(counted, key=end.__getitem__))) if counted else []
        if not held:
            return self._blind()
        chosen = held[self.dice.below(len(held))]
        return (self._line(chosen) if share < IN_LINE else self._sooner(chosen)) or self._blind()

    def _line(self, held: HoldUp) -> Turns:
        """Draw anew who stands in line for what a held up work could use, the work itself first; or nothing."""
        board, dice, i = self.board, self.dice, held.work
        if not self.drawn[i]:
            return {}
        what, per_day = self.drawn[i][dice.below(len(self.drawn[i]))], board.ready.per_day
        until = board.end[i] + int(LINE_DAYS * per_day * dice.share())
        line = in_line(board, held, until, what, self.fans[what])
        while len(line) >= MOST_IN_LINE:
            line.pop(dice.below(len(line)))
        width = SHIFTS[dice.below(len(SHIFTS))] * per_day
        moved = {j: board.start[j] + dice.bell(width) for j in line}
        moved[i] = held.could - 0.5
        return {j: moved.get(j, float(board.start[j])) for j in self.closed(list(moved))}

    def _sooner(self, held: HoldUp) -> Turns:
        """Let a work that holds a job's finish up go before one that is in its way; or nothing."""
        board, dice = self.board, self.dice
        i = held.work
        ways, way = board.lots.ways[i], board.by[i]
        if way is None or dice.share() < OTHER_CREW:
            way = ways[dice.below(len(ways))]
        needed = [("crew", way.option.crew)] if way.option.crew else []
        needed += [("machine", name) for name in board.ready.works[i].machines]
        fans = dict.fromkeys(j for what in needed for j in self.fans[what])
        others = in_the_way(board, held, way, fans)
        if not others:
            return {}
        j = others[dice.below(len(others))]
        turns = {k: float(board.start[k]) for k in self._with(i, j)}
        turns[i] = board.start[j] - 0.5
        return turns

    def _with(self, i: int, j: int) -> list[int]:
        """What is taken out for a work to go before another one."""
        dice, start, of = self.dice, self.board.start, self.of
        if dice.share() < JUST_TWO:
            return self.closed([i, j])
        jobs, moment = {of[i], of[j]}, start[j]
        if dice.share() < ONE_MORE:
            jobs.add(self.neighbour(of[j], moment))
        return self.closed([k for n in sorted(jobs) for k in self.members[n] if start[k] >= moment])

    def _blind(self) -> Turns:
        """Take out a job and its neighbours, whole or from a moment on, and change their turns."""
        dice, start = self.dice, self.board.start
        first = self.choose_first()
        anchor = self.members[first][dice.below(len(self.members[first]))]
        moment = -1 if dice.share() < WHOLE else start[anchor]
        jobs = {first}
        for _ in range(dice.below(4)):
            jobs.add(self.neighbour(first, moment))
        freed = [i for n in sorted(jobs) for i in self.members[n] if start[i] >= moment]
        if moment >= 0 or self.crossing:
            freed = self.closed(freed)
        few = min(FEW, FEW_JOBS / len(self.movable))
        if len(jobs) == 1 or dice.share() < few:
            return self._far(freed)
        return self._shifted(freed)

    def _far(self, freed: Sequence[int]) -> Turns:
        """Move the turns of a few works far; what comes before all of them stays where it is."""
        dice, per_day, start = self.dice, self.board.ready.per_day, self.board.start
        moved: Turns = {}
        for _ in range(1 + dice.below(4)):
            i = freed[dice.below(len(freed))]
            moved[i] = moved.get(i, start[i]) + dice.bell(FAR_DAYS * per_day)
        first = min(min(turn, start[i]) for i, turn in moved.items())
        later = self.closed([i for i in freed if start[i] >= first])
        return {i: moved.get(i, float(start[i])) for i in later}

    def _shifted(self, freed: Sequence[int]) -> Turns:
        """Shift the turns of each job as a whole."""
        dice, start, of = self.dice, self.board.start, self.of
        width = SHIFTS[dice.below(len(SHIFTS))] * self.board.ready.per_day
        shift = {n: dice.bell(width) for n in sorted({of[i] for i in freed})}
        return {i: start[i] + shift[of[i]] for i in freed}

    def choose_first(self) -> int:
        """Choose a job, more often one that is late."""
        late = [n for n in self.movable if self.late[n]]
        if late and self.dice.share() < LATE_FIRST:
            return late[self.dice.below(len(late))]
        return self.movable[self.dice.below(len(self.movable))]

    def neighbour(self, job: int, moment: int = -1) -> int:
        """Return a job that stands near in time on a crew or machine that this one could use."""
        dice, start, of = self.dice, self.board.start, self.of
        members, near = self.members[job], NEAR_DAYS * self.board.ready.per_day
        for _ in range(4):
            i = members[dice.below(len(members))]
            if start[i] < moment or not self.drawn[i]:
                continue
            fans = self.fans[self.drawn[i][dice.below(len(self.drawn[i]))]]
            j = fans[dice.below(len(fans))]
            if of[j] != job and abs(start[j] - start[i]) < near and self.members[of[j]]:
                return of[j]
        return job

    def closed(self, freed: list[int]) -> list[int]:
        """Add whatever follows a work that is taken out."""
        found, fixed = set(freed), self.board.ready.fixed
        for i in freed:  # grows as it is read
            for j in self.after[i]:
                if j not in found and j not in fixed:
                    found.add(j)
                    freed.append(j)
        return freed
