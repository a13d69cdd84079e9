"""The best plan that a budget buys: the quick builder, then a search from its answer, then a solver.

Whatever comes out is never worse than what was given, and the best so far is told as it is found.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.placing.board import Board
from jobs.scheduling.placing.requests import pull_requests
from jobs.scheduling.placing.units import give_units, placements_on
from jobs.scheduling.result import Plan, Result, Status
from jobs.scheduling.untidy import untidy_of

from .bounds import score_plan
from .dispatch import Outset, build_from
from .neighbourhoods import SMALL_WORKS, Parts
from .search import Search, stood_on
from .tidying import tidy

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.result import Placement, Score
    from jobs.scheduling.world import World

    from .neighbourhoods import Solver
    from .search import Stood

QUICK_RULES = ("late start", "weighted slack")
"""Rules tried in large worlds before a search: it finds the rest faster than the other rules do."""
FEW_WORKS = 400
"""Works up to which all rules are tried: a tenth of a second."""
FEW_JOBS = 10
"""Up to so many jobs a solver has more of the time: it settles two to six of them at once."""
SEARCHED = {"small": 0.35, "few": 0.7, "many": 0.85}
"""Shares of the budget that go to the search before the solver has its turn; a small world it settles as a whole."""

ANEW_JOBS, ROUNDS = 6, 2
"""With so few jobs a search walks several times, from the plan of each quick rule in turn: short walks stay with some
days late as often as long ones, but not all of them do. With more jobs one long walk is better."""
LONG_WALK = 0.06
"""Seconds of a budget for each pair of jobs (their number squared) beyond which a walk begins from the plan by late starts,
though that may be much worse than the best one. Mean days late of walks from late starts and from weighted slack, four
to twenty of each: ten yards in 7 s 16.5 and 19.9; twenty yards in 40 s 47.5 and 65.5, but in 8 s 97 and 84; one run of
forty yards in 60 s 31 and 10."""

LAST_SECONDS, LAST_SHARE = 0.65, 0.07
"""Seconds of the budget, or the share of a short one, that are kept for the last pass and for the answer."""
TIDIED = 0.6
"""Share of these after which the last pass ends: laying the answer out takes the rest."""


class Progress(NamedTuple):
    """What is known while a plan is being made: the best score so far, and what none can beat.

    Attributes
    ----------
    plan
        Makes the best plan so far, requests not yet moved late.
    keeps
        As of a ``Result``.
    risky
        True just before a solver is called that may bring its process down.
    """

    best: Score
    bound: Score
    rule: str
    plan: Callable[[], Plan]
    keeps: int | None = None
    risky: bool = False


def make_plan(
    world: World,
    *,
    stop: Budget,
    seed: int = 0,
    start: Plan | None = None,
    progress: Callable[[Progress], None] | None = None,
    solver: Solver | None = None,
) -> Result:
    """Plan everything, as well as the budget allows.

    What is published for the next working day counts as given, as far as it can still stand; the bound, too,
    is one of plans that keep it.

    Parameters
    ----------
    stop
        Made by the caller; asked often.
    start
        A sound plan to begin with; one that does not fit the world is left aside.
    progress
        Told whenever something better is found or proven.
    solver
        ``levelling.Levelling`` for parts, and for proofs in small worlds; None searches only.

    Returns
    -------
    Result
        Never worse than ``start`` nor than the quick builder's first answers.

    Raises
    ------
    NoPlan
        If the quick builder finds no plan to begin with.
    """
    return _Maker(Outset.of(world), stop, seed, progress, solver).make(start)


class _Maker:
    def __init__(
        self,
        outset: Outset,
        stop: Budget,
        seed: int,
        progress: Callable[[Progress], None] | None,
        solver: Solver | None,
    ) -> None:
        self.outset, self.keeps = outset, outset.keeps
        self.ready, self.early = outset.ready, outset.early
        self.world, self.seed = outset.ready.world, seed
        self.stop, self.neat = _shared_out(stop)
        self.progress, self.solver = progress, solver
        self.phase = ""
        self.trace: list[tuple[int, Score]] = []

    def make(self, start: Plan | None) -> Result:
        first = self._first()
        self.bound, self.rule = first.bound, first.rule
        board = self._board(first.plan)
        if board is None:
            return replace(first, keeps=self.keeps)
        self.search = Search(board, self.seed, self._found)
        for plan in (start, self.outset.kept):
            given = None if plan is None else self._board(plan)
            if given is not None:
                kept = Search(given, self.seed, self._found)
                if self._full_score(kept) <= self._full_score(self.search):
                    self.search, self.rule = kept, "given"
        self._found(self.search.score, 0)
        self._improve()
        return self._result(first)

    def _first(self) -> Result:
        """Let the quick builder answer; with all its rules only if it must."""
        if len(self.world.works) > FEW_WORKS:
            try:
                return build_from(self.outset, seed=self.seed, rules=QUICK_RULES, stop=self.stop)
            except NoPlan:
                pass
        return build_from(self.outset, seed=self.seed)

    def _board(self, plan: Plan) -> Board | None:
        """Lay a plan out; None if it does not fit the world."""
        board = Board(self.ready, self.early)
        for i in self.ready.order:
            at = plan.placements.get(self.ready.works[i].id)
            if i not in self.ready.fixed and (at is None or not board.put_where(i, at)):
                return None
        return board

    def _full_score(self, search: Search) -> Score:
        """Score of a search's board, tidiness included."""
        placed = placements_on(search.board)
        return search.score._replace(untidy=untidy_of(self.world, self._named(placed)).points)

    def _named(self, placed: Mapping[int, Placement]) -> dict[str, Placement]:
        return {work.id: placed[i] for i, work in enumerate(self.ready.works)}

    def _found(self, score: Score, tried: int) -> None:
        self.rule = self.phase or self.rule
        self.trace.append((tried, score))
        self._tell(score)

    def _tell(self, score: Score, *, risky: bool = False) -> None:
        if self.progress is not None:
            self.progress(
                Progress(score, self.bound, self.rule, self._so_far, self.keeps, risky=risky)
            )

    def _so_far(self) -> Plan:
        """Return the best plan the search has kept."""
        start, end, by = self.search.best
        return Plan(self._named(give_units(self.ready, start, end, by)))

    def _improve(self) -> None:
        """Search; what is left of the budget then is the solver's, if there is one."""
        if not self._done():
            self.phase = "search"
            self._search(self.stop.part(SEARCHED[self._size()] if self.solver else 1.0))
        if self.solver is None or self._done():
            return
        self._tell(self.search.score, risky=True)
        self.phase = "solver"
        parts = Parts(self.search, self.solver, self.seed, (self.early.start, self.early.end))
        parts.run(self.stop)
        self.bound = max(self.bound, parts.bound)

    def _search(self, budget: Budget) -> None:
        """Walk; from plans of single rules if none was given: the best may lie in a valley that no walk leaves."""
        jobs, seconds = len(self.search.moves.movable), self.stop.seconds() or 0
        few, long = jobs <= ANEW_JOBS, seconds > LONG_WALK * jobs**2
        if self.rule == "given" or not (few or long):
            self.search.run(budget)
            return
        begins = self._begins()
        self.search.run_from(begins * ROUNDS if few else begins[:1], budget)

    def _begins(self) -> list[Stood]:
        """Lay out the plan of each quick rule that finds one; the best of all rules' if none does."""
        begins = []
        for rule in QUICK_RULES:
            with suppress(NoPlan):
                plan = build_from(self.outset, seed=self.seed, rules=(rule,)).plan
                if (board := self._board(plan)) is not None:
                    begins.append(stood_on(board))
        return begins or [stood_on(self.search.board)]

    def _size(self) -> str:
        moves = self.search.moves
        if sum(map(len, moves.members)) <= SMALL_WORKS:
            return "small"
        return "few" if len(moves.movable) <= FEW_JOBS else "many"

    def _done(self) -> bool:
        return self.search.score == self.bound or self.stop()

    def _result(self, first: Result) -> Result:
        self.search.to_best()
        tidy(self.search, self.neat)
        placed = pull_requests(self.search.board)
        plan = Plan(self._named(placed))
        untidy = untidy_of(self.world, plan.placements).points
        score = score_plan(self.ready, placed)._replace(untidy=untidy)
        return Result(
            plan=plan,
            score=score,
            bound=self.bound,
            status=status_of(score, self.bound),
            seed=self.seed,
            rule=self.rule,
            tried=first.tried + self.search.tried,
            trace=tuple(self.trace),
            keeps=self.keeps,
        )


def _shared_out(stop: Budget) -> tuple[Budget, Budget | None]:
    """Return when to end searching, and when to end tidying; that counts its own tries where no clock is read."""
    seconds = stop.seconds()
    if seconds is None:
        return stop, None
    kept = min(LAST_SHARE, LAST_SECONDS / max(seconds, 1e-3))
    return stop.part(1 - kept), stop.part(1 - kept * (1 - TIDIED))


def status_of(score: Score, bound: Score) -> Status:
    """Return how good a score is proven to be, tidiness left aside."""
    if score.main == bound.main:
        return Status.PROVEN
    return Status.BOUNDED if score.late == bound.late else Status.FOUND


def with_bound(result: Result, bound: Score) -> Result:
    """Return a result with a bound from elsewhere, if that says more."""
    if bound <= result.bound:
        return result
    return replace(result, bound=bound, status=status_of(result.score, bound))
