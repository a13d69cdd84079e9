"""Build a plan for all jobs at once: several priority rules, one pass each, the best plan kept.

This is the first answer, in milliseconds for hundreds of works, and where every search begins. After the
rules, the order of the best plan is shaken a few times. Same world, same seed, same plan.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.dice import Dice
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board
from jobs.scheduling.placing.builder import build_in_turn
from jobs.scheduling.placing.exact import search
from jobs.scheduling.placing.held_back import held_back
from jobs.scheduling.placing.priorities import RULES, facts_of
from jobs.scheduling.placing.requests import pull_requests
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Plan, Result, Score, Status
from jobs.scheduling.untidy import untidy_of

from .bounds import lower_bound, score_plan
from .published import next_day, settled

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.result import Placement, Stop
    from jobs.scheduling.world import World

SHAKES = 8
"""Passes with the order of the best plan shaken."""
SHAKE_SLOTS = 8.0
"""Standard width of a shake: a little over a day."""
FEW_RULES = ("late start", "weighted slack")
"""What ``build_quickly`` tries."""
MOST_URGENT = 12
"""Times a pass is begun again with a work that found no place moved to the front."""


@dataclass
class _Best:
    """The best plan so far, and how it was come by."""

    score: Score | None = None
    placed: Mapping[int, Placement] = field(default_factory=dict)
    rule: str = ""
    tried: int = 0
    trace: list[tuple[int, Score]] = field(default_factory=list)

    def offer(self, rule: str, score: Score, placed: Mapping[int, Placement]) -> None:
        """Keep a plan if it is better."""
        if self.score is None or score < self.score:
            self.score, self.placed, self.rule = score, placed, rule
            self.trace.append((self.tried, score))


def build_plan(
    world: World, *, seed: int = 0, stop: Stop | None = None, rules: Sequence[str] | None = None
) -> Result:
    """Plan everything, each work as soon as its turn comes and its crew is free.

    Parameters
    ----------
    seed
        For the shaken passes.
    stop
        Asked between passes; the first pass is always finished.
    rules
        Names of priority rules (see ``priorities.RULES``); just these are tried, unshaken. None
        tries all of them and shakes the best.

    Raises
    ------
    NoPlan
        If links, at-mosts and dates fixed by hand leave no place for some work. What the network alone
        forbids, and tiny worlds tried through and through, are certain; else none was found.
    """
    return build_from(Outset.of(world), seed=seed, stop=stop, rules=rules)


class Outset(NamedTuple):
    """What is read of a world once, before anything is placed.

    Attributes
    ----------
    kept
        The published plan, mended; None without one.
    """

    ready: Ready
    early: Early
    kept: Plan | None

    @classmethod
    def of(cls, world: World) -> Outset:
        """Take what is published for the next working day as given, and read the rest."""
        world, kept = settled(world)
        ready = Ready(world)
        return cls(ready, early_dates(ready), kept)

    @property
    def keeps(self) -> int | None:
        """Day that stays as published, as of a ``Result``."""
        return None if self.kept is None else next_day(self.ready.world)


def build_from(
    outset: Outset, *, seed: int, stop: Stop | None = None, rules: Sequence[str] | None = None
) -> Result:
    """Do what ``build_plan`` does with a world that is read already."""
    ready, early, kept = outset
    bound = lower_bound(ready, early)
    board, after = Board(ready, early), held_back(ready)
    best, refusal = _Best(), None
    if kept is not None:
        placed = {i: kept[work.id] for i, work in enumerate(ready.works)}
        best.offer("as published", score_plan(ready, placed), placed)
    for rule, keys in _orders(ready, early, best, seed=seed, rules=rules):
        best.tried += 1
        try:
            build_in_turn(board, after, keys, MOST_URGENT)
        except NoPlan as error:
            refusal = error
        else:
            _keep(board, best, rule)
        if best.score is not None and (best.score == bound or (stop is not None and stop())):
            break
    if best.score is None:
        _last_resort(board, best, refusal)
    return _result(ready, best, bound, seed, outset.keeps)


def build_quickly(world: World, *, seed: int = 0) -> Result:
    """Plan by a few good rules only: for questions that take many plans to answer."""
    return build_plan(world, seed=seed, rules=FEW_RULES)


def _orders(
    ready: Ready, early: Early, best: _Best, *, seed: int, rules: Iterable[str] | None
) -> Iterator[tuple[str, list[float]]]:
    """Yield priorities to try: each rule's, then those of the best plan so far, shaken."""
    facts = facts_of(ready, early)
    for name in RULES if rules is None else rules:
        yield name, RULES[name](facts)
    if rules is None:
        dice = Dice(seed, "dispatch")
        for turn in range(1, SHAKES + 1):
            if best.score is None:
                return
            starts = [float(best.placed[i].start) for i in range(len(ready.works))]
            yield f"shaken {turn}", dice.shake(starts, SHAKE_SLOTS)


def _keep(board: Board, best: _Best, rule: str) -> None:
    placed = pull_requests(board)
    best.offer(rule, score_plan(board.ready, placed), placed)


def _last_resort(board: Board, best: _Best, refusal: NoPlan | None) -> None:
    """Try a tiny world through and through before giving up."""
    if not search(board):
        raise refusal or NoPlan("there is no rule to plan by", remedy="name one, or none")
    _keep(board, best, "every place tried")


def _result(ready: Ready, best: _Best, bound: Score, seed: int, keeps: int | None) -> Result:
    plan = Plan({work.id: best.placed[i] for i, work in enumerate(ready.works)})
    score = best.score or Score(0)
    proven = score == bound
    status = (
        Status.PROVEN if proven else Status.BOUNDED if score.late == bound.late else Status.FOUND
    )
    return Result(
        plan=plan,
        score=score._replace(untidy=untidy_of(ready.world, plan.placements).points),
        bound=bound,
        status=status,
        seed=seed,
        rule=best.rule,
        tried=best.tried,
        trace=tuple(best.trace),
        keeps=keeps,
    )
