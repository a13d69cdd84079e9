"""Settle a part of a plan with CP-SAT; ortools is imported only when a part is solved.

Everything else stands: clashes with it are already out of the starts there are to choose from, so only
the free works are variables. One constraint is one short method with its sentence. Every variable is hinted
with what stands, so that the solver begins there and never ends worse. One worker, because two inside the
library were seen to crash on hinted parts; whoever calls this does so in a process of its own.
"""

from __future__ import annotations

from collections import defaultdict
from math import ceil
from typing import TYPE_CHECKING, Any

from jobs.scheduling.placing.hurdles import distant
from jobs.scheduling.result import Score
from jobs.scheduling.search.neighbourhoods import Answer
from jobs.trade.work import Lag, Relation

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.scheduling.binds import Bind, Lookup
    from jobs.scheduling.budget import Budget
    from jobs.scheduling.placing.spots import Spot
    from jobs.scheduling.placing.ways import Way
    from jobs.scheduling.search.neighbourhoods import Part, Stood
    from jobs.scheduling.world import Keepout


def solve_part(part: Part, stop: Budget) -> Answer | None:
    """Settle a part; None if nothing was found, which leaves what stood.

    Parameters
    ----------
    stop
        Asked at every better answer.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415 (0.6 s to import: only when it is needed)

    if any(not spots for spots in part.spots.values()):
        return None
    model = _Model(cp_model, part)
    model.build()
    return model.solve(stop)


class _Model:
    """Starts, ends and who does it, for the free works of a part."""

    def __init__(self, cp: Any, part: Part) -> None:
        self.cp, self.model, self.part = cp, cp.CpModel(), part
        self.board, self.ready = part.board, part.board.ready
        self.start: dict[int, Any] = {}
        self.end: dict[int, Any] = {}
        self.chosen: dict[int, list[tuple[Any, Spot]]] = {}
        self.steps: dict[tuple[object, ...], Any] = {}
        self.hints: list[tuple[Any, int]] = []

    def build(self) -> None:
        """Put the constraints in, in a fixed order."""
        for i, spots in self.part.spots.items():
            self._stand(i, spots)
        self._one_thing_at_a_time()
        self._no_more_than_there_are()
        self._room_in_the_ways()
        self._half_days()
        self._links()
        self._rests()
        self._late_first_then_finishes()
        for variable, value in self.hints:
            self.model.add_hint(variable, value)

    def _stand(self, i: int, spots: list[Spot]) -> None:
        """A work is done by one able crew, from one of the starts its calendar leaves."""
        model, stood = self.model, self.part.stood[i]
        starts = sorted({slot for spot in spots for slot in spot.starts})
        start = self.start[i] = self._variable(starts, stood[0])
        chosen = self.chosen[i] = []
        for spot in spots:
            literal = model.new_bool_var("")
            domain = self.cp.Domain.from_values(spot.starts)
            model.add_linear_expression_in_domain(start, domain).only_enforce_if(literal)
            chosen.append((literal, spot))
            self.hints.append((literal, int(_is(spot, stood))))
        model.add_exactly_one(literal for literal, _ in chosen)
        lengths = {spot.length for spot in spots}
        if len(lengths) == 1:
            self.end[i] = start + lengths.pop() - 1
            return
        ends = sorted({slot + spot.length - 1 for spot in spots for slot in spot.starts})
        end = self.end[i] = self._variable(ends, stood[1])
        model.add(end == start - 1 + sum(spot.length * literal for literal, spot in chosen))

    def _variable(self, values: list[int], hint: int) -> Any:
        variable = self.model.new_int_var_from_domain(self.cp.Domain.from_values(values), "")
        self.hints.append((variable, hint))
        return variable

    def _one_thing_at_a_time(self) -> None:
        """A crew does one thing at a time, and so does a machine that is like no other."""
        held: dict[int, list[Any]] = defaultdict(list)
        for i, chosen in self.chosen.items():
            for literal, spot in chosen:
                interval = self.model.new_optional_fixed_size_interval_var(
                    self.start[i], spot.length, literal, ""
                )
                for key in spot.way.keys:
                    held[key].append(interval)
        for intervals in held.values():
            if len(intervals) > 1:
                self.model.add_no_overlap(intervals)

    def _no_more_than_there_are(self) -> None:
        """No more machines of a kind, crews in a zone, crews in a yard than there are or fit."""
        drawn: dict[int, list[tuple[int, int]]] = defaultdict(list)
        counts: dict[int, int] = {}
        lots = self.board.lots
        for i in self.start:
            pools = [(first, 1, 1) for first in lots.single[i]]
            for first, count, units in (*pools, *lots.stacks[i]):
                drawn[first].append((i, units))
                counts[first] = count
        for first, works in drawn.items():
            if sum(units for _, units in works) > 1:
                self._pool(first, counts[first], works)

    def _pool(self, first: int, count: int, works: list[tuple[int, int]]) -> None:
        intervals = [self._span(i) for i, _ in works]
        demands = [units for _, units in works]
        if count == 1:
            self.model.add_no_overlap(intervals)
            return
        for key in range(first, first + count):
            for start, length in _runs(self.board.held[key]):
                intervals.append(self.model.new_fixed_size_interval_var(start, length, ""))
                demands.append(1)
        self.model.add_cumulative(intervals, demands, count)

    def _span(self, i: int) -> Any:
        """Slots from the first to the last of a work, as an interval made once."""
        key = ("span", i)
        if key not in self.steps:
            start, end = self.start[i], self.end[i]
            lengths = {spot.length for _, spot in self.chosen[i]}
            if len(lengths) == 1:
                made = self.model.new_fixed_size_interval_var(start, lengths.pop(), "")
            else:
                stood = self.part.stood[i]
                size = self._variable(sorted(lengths), stood[1] + 1 - stood[0])
                made = self.model.new_interval_var(start, size, end + 1, "")
            self.steps[key] = made
        return self.steps[key]

    def _room_in_the_ways(self) -> None:
        """What is hauled through a way in within one slot fits into that slot."""
        hauled: dict[str, list[tuple[Any, int]]] = defaultdict(list)
        for i, chosen in self.chosen.items():
            for way in self.board.ledger.demands[i].ways:
                for literal, spot in chosen:
                    for offset, length in spot.runs:
                        interval = self.model.new_optional_fixed_size_interval_var(
                            self.start[i] + offset, length, literal, ""
                        )
                        hauled[way.key[1]].append((interval, way.share))
        for name, carried in hauled.items():
            for load, mask in self.board.ledger.held.get(("way", name), ()):
                for start, length in _runs(mask):
                    fixed = self.model.new_fixed_size_interval_var(start, length, "")
                    carried.append((fixed, load))
            most = self.ready.world.places[name].share
            self.model.add_cumulative([it for it, _ in carried], [n for _, n in carried], most)

    def _half_days(self) -> None:
        """A crew changes yards only between halves of a day, and loses a slot to a far one."""
        by: dict[tuple[str, str], list[tuple[int, Any, Spot]]] = defaultdict(list)
        for i, chosen in self.chosen.items():
            for literal, spot in chosen:
                if spot.way.halves:
                    work = self.ready.works[i]
                    for crew in work.held_by(spot.way.option.crew):
                        by[crew, work.job].append((i, literal, spot))
        for (crew, job), mine in by.items():
            for far in (False, True):
                there = [
                    it
                    for (who, name), found in by.items()
                    if who == crew and name != job and distant(self.board.ledger, job, name) is far
                    for it in found
                ]
                self._keep_apart(mine, there, int(far))

    def _keep_apart(
        self, mine: list[tuple[int, Any, Spot]], others: list[tuple[int, Any, Spot]], far: int
    ) -> None:
        """Nothing of another yard begins in the rest of a half day."""
        model, rests = self.model, []
        for i, literal, spot in mine:
            if spot.rest[far]:
                rests.append(
                    model.new_optional_fixed_size_interval_var(
                        self.start[i] + spot.length, spot.rest[far], literal, ""
                    )
                )
        if not rests or not others:
            return
        works = [
            model.new_optional_fixed_size_interval_var(self.start[i], spot.length, literal, "")
            for i, literal, spot in others
        ]
        demands = [1] * len(rests) + [len(rests)] * len(works)
        model.add_cumulative([*rests, *works], demands, len(rests))

    def _event(self, i: int, *, finish: bool) -> Any:
        return self.end[i] if finish else self.start[i]

    def _links(self) -> None:
        """What follows comes after its wait, and no later than it must."""
        for i in self.start:
            for bind in self.ready.into[i]:
                if bind.before in self.start:
                    self._follow(i, bind, None)
            for literal, spot in self.chosen[i]:
                for bind in spot.way.option.binds:
                    self._follow(i, bind, literal)

    def _follow(self, i: int, bind: Bind, literal: Any) -> None:
        after = self._event(i, finish=bind.to_finish)
        if bind.before not in self.start:
            at = self.board.end if bind.from_finish else self.board.start
            self._if(self.model.add(after >= bind.earliest[at[bind.before]]), literal)
            if bind.latest is not None:
                self._if(self.model.add(after <= bind.latest[at[bind.before]]), literal)
            return
        self._if(self.model.add(after >= self._reach(bind, bind.earliest, "least")), literal)
        if bind.latest is not None:
            self._if(self.model.add(after <= self._reach(bind, bind.latest, "most")), literal)

    @staticmethod
    def _if(constraint: Any, literal: Any) -> None:
        if literal is not None:
            constraint.only_enforce_if(literal)

    def _reach(self, bind: Bind, table: Lookup, kind: str) -> Any:
        """Slot of a wait's end as an expression: the event and a distance that may depend on it."""
        return self._shifted(bind.before, table, kind, finish=bind.from_finish)

    def _shifted(self, i: int, table: Lookup, kind: str, *, finish: bool) -> Any:
        key = (kind, i, finish, id(table))
        if key not in self.steps:
            shift = int(finish)
            distances: dict[int, list[int]] = defaultdict(list)
            for slot in sorted(
                {s + (spot.length - 1) * shift for _, spot in self.chosen[i] for s in spot.starts}
            ):
                distances[table[slot] - slot].append(slot)
            event = self._event(i, finish=finish)
            first, last, _ = self.part.stood[i]
            stood = last if finish else first
            self.steps[key] = event + self._distance(event, distances, stood)
        return self.steps[key]

    def _distance(self, event: Any, distances: Mapping[int, list[int]], stood: int) -> Any:
        if len(distances) == 1:
            return next(iter(distances))
        terms, literals = [], []
        for distance, slots in distances.items():
            literal = self.model.new_bool_var("")
            domain = self.cp.Domain.from_values(slots)
            self.model.add_linear_expression_in_domain(event, domain).only_enforce_if(literal)
            self.hints.append((literal, int(stood in slots)))
            literals.append(literal)
            terms.append(distance * literal)
        self.model.add_exactly_one(literals)
        return sum(terms)

    def _rests(self) -> None:
        """Ground at rest is not trodden on: a work is over before, or begins after."""
        for owner in self.start:
            for keepout in self.ready.works[owner].keepouts:
                for other in self.start:
                    if other != owner and self._treads(other, keepout):
                        self._rest(owner, other, keepout)

    def _treads(self, i: int, keepout: Keepout) -> bool:
        work = self.ready.works[i]
        tread = work.treads.get(keepout.place)
        return tread is not None and tread >= keepout.keeps_out and work.id not in keepout.exempt

    def _rest(self, owner: int, other: int, keepout: Keepout) -> None:
        works = self.ready.works
        lag = Lag(keepout.minutes)
        waits = self.ready.lookups(works[owner], works[other], lag, Relation.FINISH_START)[0]
        before = self.model.new_bool_var("")
        self.model.add(self.end[other] <= self.end[owner]).only_enforce_if(before)
        reach = self._shifted(owner, waits, "rest", finish=True)
        self.model.add(self.start[other] >= reach).only_enforce_if(~before)
        stood = self.part.stood
        self.hints.append((before, int(stood[other][1] <= stood[owner][1])))

    def _late_first_then_finishes(self) -> None:
        """Weighted days late come first, then the sum of finishes."""
        self.late: list[Any] = []
        self.finish: list[Any] = []
        world, per_day = self.ready.world, self.ready.per_day
        names = list(world.jobs)
        for n, stays in self.part.jobs.items():
            job = world.jobs[names[n]]
            stood = max([stays, *(self.part.stood[i][1] for i in self.part.counted[n])])
            finish = self._variable_from(stays, self.ready.size - 1, stood)
            for i in self.part.counted[n]:
                self.model.add(finish >= self.end[i])
            self.finish.append(finish)
            if job.promise is not None:
                day = job.promise // per_day
                hint = max(0, stood // per_day - day)
                late = self._variable_from(0, self.ready.size // per_day, hint)
                self.model.add(finish <= per_day * (day + late) + per_day - 1)
                self.late.append(job.weight * late)
        self.price = len(self.finish) * self.ready.size + 1
        self.model.minimize(self.price * sum(self.late) + sum(self.finish))

    def _variable_from(self, low: int, high: int, hint: int) -> Any:
        variable = self.model.new_int_var(low, high, "")
        self.hints.append((variable, hint))
        return variable

    def solve(self, stop: Budget) -> Answer | None:
        """Run the solver within its limits and read its answer."""
        solver = self.cp.CpSolver()
        self._limit(solver.parameters)
        status = solver.solve(self.model, _watcher(self.cp, stop))
        if status not in {self.cp.OPTIMAL, self.cp.FEASIBLE}:
            return None
        stands = {i: self._stands(solver, i) for i in self.start}
        least = max(0, ceil(solver.best_objective_bound - 1e-6))
        late, finish = divmod(least, self.price)
        return Answer(stands, status == self.cp.OPTIMAL, Score(late=late, finish=finish))

    def _limit(self, parameters: Any) -> None:
        """Without linear relaxations and long presolves: both were measured to cost more than they give."""
        parameters.num_workers = 1
        parameters.random_seed = self.part.seed % (1 << 31)
        parameters.cp_model_probing_level = 0
        parameters.max_presolve_iterations = 1
        parameters.symmetry_level = 0
        parameters.linearization_level = 0
        if self.part.seconds is not None:
            parameters.max_time_in_seconds = self.part.seconds
        if self.part.work is not None:
            parameters.max_deterministic_time = self.part.work

    def _stands(self, solver: Any, i: int) -> Stood:
        way: Way = next(s.way for literal, s in self.chosen[i] if solver.boolean_value(literal))
        return solver.value(self.start[i]), solver.value(self.end[i]), way


def _is(spot: Spot, stood: Stood) -> bool:
    start, end, way = stood
    return (
        (spot.way.option.crew, spot.way.units) == (way.option.crew, way.units)
        and spot.length == end + 1 - start
        and start in spot.starts
    )


def _runs(bits: int) -> Iterable[tuple[int, int]]:
    """Runs of set bits as first and length."""
    while bits:
        first = (bits & -bits).bit_length() - 1
        rest = ~(bits >> first)
        length = (rest & -rest).bit_length() - 1
        yield first, length
        bits &= ~(((1 << length) - 1) << first)


def _watcher(cp: Any, stop: Budget) -> Any:
    class Watcher(cp.CpSolverSolutionCallback):  # type: ignore[misc]
        def on_solution_callback(self) -> None:
            if stop():
                self.stop_search()

    return Watcher()
