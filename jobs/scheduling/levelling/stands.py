"""Where the free works of a part stand, as variables of one model, each hinted with what stands now.

Clashes with what is not free are already out of the starts there are to choose from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.scheduling.placing.spots import Spot
    from jobs.scheduling.search.neighbourhoods import Part, Stood


class Stands:
    """Starts, ends and who does it.

    Attributes
    ----------
    start, end
        Variables, or expressions, by work.
    chosen
        By work, a literal for each spot it may have.
    """

    def __init__(self, cp: Any, part: Part) -> None:
        self.cp, self.model, self.part = cp, cp.CpModel(), part
        self.board, self.ready = part.board, part.board.ready
        self.start: dict[int, Any] = {}
        self.end: dict[int, Any] = {}
        self.chosen: dict[int, list[tuple[Any, Spot]]] = {}
        self._spans: dict[int, Any] = {}
        for i, spots in part.spots.items():
            self._stand(i, spots)

    def _stand(self, i: int, spots: list[Spot]) -> None:
        """A work is done by one able crew, from one of the starts its calendar leaves."""
        model, stood = self.model, self.part.stood[i]
        starts = sorted({slot for spot in spots for slot in spot.starts})
        start = self.start[i] = self.one_of(starts, stood[0])
        chosen = self.chosen[i] = []
        for spot in spots:
            literal = self.when(start, spot.starts, hint=_is(spot, stood))
            chosen.append((literal, spot))
        model.add_exactly_one(literal for literal, _ in chosen)
        lengths = {spot.length for spot in spots}
        if len(lengths) == 1:
            self.end[i] = start + lengths.pop() - 1
            return
        ends = sorted({slot + spot.length - 1 for spot in spots for slot in spot.starts})
        end = self.end[i] = self.one_of(ends, stood[1])
        model.add(end == start - 1 + sum(spot.length * literal for literal, spot in chosen))

    def one_of(self, values: Iterable[int], hint: int) -> Any:
        """Return a variable that has one of some values."""
        variable = self.model.new_int_var_from_domain(self.cp.Domain.from_values(values), "")
        self.model.add_hint(variable, hint)
        return variable

    def between(self, low: int, high: int, hint: int) -> Any:
        """Return a variable within bounds."""
        variable = self.model.new_int_var(low, high, "")
        self.model.add_hint(variable, hint)
        return variable

    def either(self, *, hint: bool) -> Any:
        """Return a literal."""
        literal = self.model.new_bool_var("")
        self.model.add_hint(literal, int(hint))
        return literal

    def when(self, event: Any, slots: Iterable[int], *, hint: bool) -> Any:
        """Return a literal that keeps an event to some slots."""
        literal = self.either(hint=hint)
        domain = self.cp.Domain.from_values(slots)
        self.model.add_linear_expression_in_domain(event, domain).only_enforce_if(literal)
        return literal

    def event(self, i: int, *, finish: bool) -> Any:
        """Return the last slot of a work, or the first."""
        return self.end[i] if finish else self.start[i]

    def span(self, i: int) -> Any:
        """Return the slots from the first to the last of a work, as an interval made once."""
        if i not in self._spans:
            start, end = self.start[i], self.end[i]
            lengths = {spot.length for _, spot in self.chosen[i]}
            if len(lengths) == 1:
                made = self.model.new_fixed_size_interval_var(start, lengths.pop(), "")
            else:
                stood = self.part.stood[i]
                size = self.one_of(sorted(lengths), stood[1] + 1 - stood[0])
                made = self.model.new_interval_var(start, size, end + 1, "")
            self._spans[i] = made
        return self._spans[i]

    def if_there(self, i: int, literal: Any, length: int, offset: int = 0) -> Any:
        """Return slots that are taken if a literal holds, so many from so many after the start of a work."""
        start = self.start[i] + offset
        return self.model.new_optional_fixed_size_interval_var(start, length, literal, "")


def _is(spot: Spot, stood: Stood) -> bool:
    start, end, way = stood
    return (
        (spot.way.option.crew, spot.way.units) == (way.option.crew, way.units)
        and spot.length == end + 1 - start
        and start in spot.starts
    )
