"""A plan read for its reasons: who is on what, and how to name and date it in a sentence."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.fits import first_fit
from jobs.scheduling.waits import slower_by
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Tie

Key = tuple[str, ...]


class Away(NamedTuple):
    """What would have to be gone for a cause to be gone; nothing where it cannot be.

    Attributes
    ----------
    work
        The work in the way, by number.
    tie
        The link.
    own
        ``pin`` or ``release`` of the work itself, or ``at-most`` of the link.
    """

    work: int | None = None
    tie: Tie | None = None
    own: str = ""


NOTHING = Away()


class Cause(NamedTuple):
    """What holds a work back, and how to say it.

    Attributes
    ----------
    bound
        First slot free of this cause.
    start
        First start of the work that it allows by itself.
    sentence
        Says all but the day it allows, which ``explain`` adds.
    """

    bound: int
    start: int
    sentence: Sentence
    away: Away = NOTHING


class Reading:
    """A plan read by crew, machine unit, zone, yard, passage and ground.

    Attributes
    ----------
    gone
        Works that are taken to hold nothing, for the time being.
    """

    def __init__(self, ready: Ready, placed: Sequence[Placement]) -> None:
        self.ready, self.placed = ready, placed
        self.gone: frozenset[int] = frozenset()
        self._worked: dict[int, int] = {}
        self.held: dict[Key, list[int]] = defaultdict(list)
        for i, at in enumerate(placed):
            for key in _keys(ready, i, at):
                self.held[key].append(i)

    def holders(self, i: int, key: Key) -> list[int]:
        """Other works that hold a thing."""
        return [j for j in self.held[key] if j != i and j not in self.gone]

    def before(self, i: int, key: Key) -> list[int]:
        """Works that hold the same thing and end before a work begins."""
        start = self.placed[i].start
        return [j for j in self.holders(i, key) if self.placed[j].end < start]

    def during(self, i: int, key: Key, slot: int) -> list[int]:
        """Other works that hold a thing in a slot."""
        return [
            j for j in self.holders(i, key) if self.placed[j].start <= slot <= self.placed[j].end
        ]

    def worked(self, i: int) -> int:
        """Bitmap of the slots a work is done in."""
        if i not in self._worked:
            at = self.placed[i]
            first = max(at.start, 0)
            span = ((1 << max(at.end + 1 - first, 0)) - 1) << first
            self._worked[i] = span & self.ready.held(i, at).bits
        return self._worked[i]

    def end(self, i: int) -> int:
        """Last slot of a work."""
        return self.placed[i].end

    def fit(self, i: int, start: int, end: int = 0, *, one_go: bool = True) -> int:
        """First start of a work with its crew and machines, nobody in its way."""
        work, at = self.ready.works[i], self.placed[i]
        slots = work.crews.get(at.crew, work.slots)
        day = self.ready.per_day if work.one_go and one_go else 0
        return first_fit(self.ready.held(i, at), slots, start, end, day)[0]

    def when(self, i: int, slot: int, *, finish: bool = False) -> str:
        """ISO text of the begin or end of a slot where a work is done."""
        axis = self.ready.axis(self.ready.works[i])
        slot = min(max(slot, 0), axis.size - 1)
        return (axis.ends(slot) if finish else axis.begins(slot)).isoformat()

    def since(self, i: int, slot: int) -> str:
        """ISO text of the begin of a slot; of its day alone where the day begins with it."""
        axis = self.ready.axis(self.ready.works[i])
        return self.when(i, slot) if slot % axis.per_day else self.day(i, slot)

    def slower(self, bind: Bind, event: int) -> int:
        """Return by how many minutes cold makes the wait of a link longer after an event."""
        work = self.ready.works[bind.before]
        return slower_by(bind.tie.lag, self.ready.axis(work), event)

    def day(self, i: int, slot: int) -> str:
        """ISO text of the day of a slot where a work is done; it may lie before the axis."""
        return self.ready.axis(self.ready.works[i]).day(slot).isoformat()

    def name(self, i: int) -> str:
        """Return what people call a work."""
        return self.ready.works[i].name

    def until(self, j: int) -> dict[str, str]:
        """Name and end of a work that is in the way."""
        return {"other": self.name(j), "until": self.when(j, self.end(j), finish=True)}

    def cause(
        self, i: int, bound: int, key: str, away: Away = NOTHING, **values: str | int
    ) -> Cause:
        """Return a cause that lets a work start from a slot on."""
        sentence = Sentence(f"explain-{key}", {"work": self.name(i), **values})
        return Cause(bound, self.fit(i, bound), sentence, away)


def _keys(ready: Ready, i: int, at: Placement) -> Iterator[Key]:
    """Everything a placed work holds, treads on or keeps clear."""
    work = ready.works[i]
    for crew in work.held_by(at.crew):
        yield "crew", crew
    for name, unit in at.machines:
        yield "unit", name, str(unit)
    if work.crews:
        yield "yard", work.job, work.shift
        if work.place:
            yield "zone", work.place, work.shift
    for name in work.hauls:
        yield "way", name
    for name in work.treads:
        yield "tread", name
    for name in {keepout.place for keepout in work.keepouts}:
        yield "rest", name
