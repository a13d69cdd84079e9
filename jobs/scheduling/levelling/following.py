"""What follows what in a part: links with their waits, and ground at rest."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

from jobs.trade.work import Lag, Relation

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.scheduling.binds import Bind, Lookup
    from jobs.scheduling.world import Keepout

    from .stands import Stands


class Following:
    """Links and rests as constraints; the end of a wait is an expression made once."""

    def __init__(self, at: Stands) -> None:
        self.at, self.model, self.ready = at, at.model, at.ready
        self.reached: dict[tuple[int, bool, int], Any] = {}

    def links(self) -> None:
        """What follows comes after its wait, and no later than it must."""
        at = self.at
        for i in at.start:
            for bind in self.ready.into[i]:
                if bind.before in at.start:
                    self._follow(i, bind, None)
            for literal, spot in at.chosen[i]:
                for bind in spot.way.option.binds:
                    self._follow(i, bind, literal)

    def _follow(self, i: int, bind: Bind, literal: Any) -> None:
        after = self.at.event(i, finish=bind.to_finish)
        self._if(self.model.add(after >= self._end_of_wait(bind, bind.earliest)), literal)
        if bind.latest is not None:
            self._if(self.model.add(after <= self._end_of_wait(bind, bind.latest)), literal)

    def _end_of_wait(self, bind: Bind, table: Lookup) -> Any:
        if bind.before in self.at.start:
            return self._reach(bind.before, table, finish=bind.from_finish)
        board = self.at.board
        return table[(board.end if bind.from_finish else board.start)[bind.before]]

    @staticmethod
    def _if(constraint: Any, literal: Any) -> None:
        if literal is not None:
            constraint.only_enforce_if(literal)

    def _reach(self, i: int, table: Lookup, *, finish: bool) -> Any:
        """Slot a wait ends in: the event and a distance that may depend on it."""
        key = (i, finish, id(table))
        if key not in self.reached:
            distances: dict[int, list[int]] = defaultdict(list)
            for slot in self._slots(i, finish=finish):
                distances[table[slot] - slot].append(slot)
            event = self.at.event(i, finish=finish)
            first, last, _ = self.at.part.stood[i]
            stood = last if finish else first
            self.reached[key] = event + self._distance(event, distances, stood)
        return self.reached[key]

    def _slots(self, i: int, *, finish: bool) -> Sequence[int]:
        """Slots in which a work may start, or end."""
        shift = int(finish)
        chosen = self.at.chosen[i]
        return sorted({s + (spot.length - 1) * shift for _, spot in chosen for s in spot.starts})

    def _distance(self, event: Any, distances: Mapping[int, Sequence[int]], stood: int) -> Any:
        if len(distances) == 1:
            return next(iter(distances))
        literals = {
            distance: self.at.when(event, slots, hint=stood in slots)
            for distance, slots in distances.items()
        }
        self.model.add_exactly_one(literals.values())
        return sum(distance * literal for distance, literal in literals.items())

    def rests(self) -> None:
        """Ground at rest is not trodden on: a work is over before, or begins after."""
        works, start = self.ready.works, self.at.start
        for owner in start:
            for keepout in works[owner].keepouts:
                for other in start:
                    if other != owner and self._treads(other, keepout):
                        self._rest(owner, other, keepout)

    def _treads(self, i: int, keepout: Keepout) -> bool:
        work = self.ready.works[i]
        tread = work.treads.get(keepout.place)
        return tread is not None and tread >= keepout.keeps_out and work.id not in keepout.exempt

    def _rest(self, owner: int, other: int, keepout: Keepout) -> None:
        at, works = self.at, self.ready.works
        lag = Lag(keepout.minutes)
        wait = self.ready.lookups(works[owner], works[other], lag, Relation.FINISH_START)[0]
        stood = at.part.stood
        before = at.either(hint=stood[other][1] <= stood[owner][1])
        self.model.add(at.end[other] <= at.end[owner]).only_enforce_if(before)
        after = self._reach(owner, wait, finish=True)
        self.model.add(at.start[other] >= after).only_enforce_if(~before)
