"""What a walk near an old plan tries next: a visit that is missing, one that is strange, a late yard, or anything."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

from .room import Aim, Wish

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from jobs.scheduling.crew_days import CrewDay
    from jobs.scheduling.dice import Dice
    from jobs.scheduling.placing.ways import Way

    from .standing import Standing

UPSET = 0.75
"""Share of tries that begin with a changed crew-day."""
LATE, NOT_TOO_LATE = 0.35, 0.1
"""Share of tries that begin with a late yard, while the plan is too late, and once it is not."""
TAILS = 0.15
"""Share of tries that lay out the rest of one or two yards anew."""
TIME_PRICES = (1.0, 0.3, 0.05)
"""What a slot later costs when places are compared: a try takes one by lot."""
BEHIND_PRICE = 1.0
"""What a slot later costs works of yards that are later than they may be."""
PUSHED_ON = 0.5
"""Share of tries in which it costs them that."""
KEEPING = 0.85
"""Share of tries in which works go back where they stood when there is room."""
OLD_TURNS = 0.5
"""Share of tries in which works find places in their old order."""
HURRY = (0.0, 0.0, 0.2, 1.0)
"""Shares of the price of a crew-day that count where a yard is late."""
SHIFTS = (0.0, 3.0, 12.0, 36.0)
"""Standard widths in slots by which turns of yards are shifted."""
FORERUNNERS, WHOLE_VISIT = 0.7, 0.3
"""Share of tries for a missing visit that bring its forerunners back, and all its works."""
ELSEWHERE = 0.3
"""Share of tries against a strange visit that press its works where they stood."""
SAME_CREW = 0.6
"""Share of hurried works that stay with their crew."""
MORE_PRESSED = 0.2
"""Share of the works after a hurried one that make room for themselves, too."""
MORE_YARDS = 0.4
"""Share of tries at the rest of yards that take any other yard besides."""
REST_DAYS, REST_PRICES = range(4, 24, 4), (24.0, 48.0)
"""Days after the last one lost from which the rest of all yards is laid out anew, and prices of a crew-day in it."""
FAR_DAYS = 3
"""Days within which works of a yard are moved together."""


class Aims:
    """The choice, by lot.

    Parameters
    ----------
    day_price
        What a changed crew-day costs, in slots.
    """

    def __init__(self, standing: Standing, dice: Dice, day_price: float) -> None:
        self.standing, self.dice, self.day_price = standing, dice, day_price
        self.board, self.per_day = standing.board, standing.per_day
        self.hurry: Mapping[int, float] = {}

    def choose(self, late: Sequence[int], behind: Sequence[int], *, too_late: bool) -> Aim:
        """Return what to try next.

        Parameters
        ----------
        late, behind
            Yards that are late, by number (where none is, those that end later than was told), and those that are
            later than they may be.
        """
        dice = self.dice
        self.hurry = dict.fromkeys(behind, BEHIND_PRICE) if dice.share() < PUSHED_ON else {}
        if dice.share() < TAILS:
            return self._tail()
        if late and dice.share() < (LATE if too_late else NOT_TOO_LATE):
            return self._hurried(late)
        aim = self._upset() if dice.share() < UPSET else None
        return aim if aim is not None else self._anything()

    def _one(self, of: Sequence[int]) -> int:
        return of[self.dice.below(len(of))]

    def _aim(self, works: Iterable[int], pressed: Iterable[int], **more: object) -> Aim:
        """Return an aim with prices drawn by lot."""
        dice = self.dice
        given = {
            "time_price": TIME_PRICES[dice.below(len(TIME_PRICES))],
            "day_price": self.day_price,
            "keep": dice.share() < KEEPING,
            "old_turns": dice.share() < OLD_TURNS,
            "hurry": self.hurry,
        }
        return Aim(tuple(sorted(works)), frozenset(pressed), **(given | more))  # type: ignore[arg-type]

    def _upset(self) -> Aim | None:
        """Mend a crew-day on which a crew misses a yard it was to be in, or is in a strange one."""
        crew_days = self.standing.crew_days
        if not crew_days.wrong:
            return None
        changed = list(crew_days.wrong)
        key = changed[self.dice.below(len(changed))]
        jobs = [n for n in crew_days.differing(key) if self.standing.members[n]]
        if not jobs:
            return None
        job = self._one(jobs)
        if job in crew_days.was.get(key, ()):
            return self._missing(key, job)
        return self._strange(key, job)

    def _missing(self, key: CrewDay, job: int) -> Aim | None:
        """Bring a work back that stood on a visit, perhaps with what must be before it."""
        standing, dice = self.standing, self.dice
        able = [i for i in standing.visits.get((key, job), ()) if standing.moved(i)]
        if not able:
            return None
        works = {self._one(able)}
        if dice.share() < FORERUNNERS:
            works |= self._slipped_before(works)
        if dice.share() < WHOLE_VISIT:
            works |= set(able)
        return self._aim(works, works)

    def _slipped_before(self, works: Iterable[int]) -> set[int]:
        """Return the forerunners of works that stand later than they stood, as far as they do."""
        standing, found, todo = self.standing, set[int](), list(works)
        while todo:
            for j in standing.before[todo.pop()]:
                stood = standing.stood.get(j)
                if j not in found and stood is not None and self.board.start[j] > stood[0]:
                    found.add(j)
                    todo.append(j)
        return found

    def _strange(self, key: CrewDay, job: int) -> Aim | None:
        """Move what a crew does in a yard on a day when it was not to be there."""
        board, (crew, day) = self.board, key
        first, last = day * self.per_day, (day + 1) * self.per_day - 1
        works = [
            i
            for i in self.standing.members[job]
            if crew in self.standing.held(board.by[i])
            and board.start[i] <= last
            and board.end[i] >= first
        ]
        pressed = works if self.dice.share() < ELSEWHERE else ()
        return self._aim(works, pressed, shun=key) if works else None

    def _hurried(self, late: Sequence[int]) -> Aim:
        """Do a work of a late yard as soon as the links let it, and what follows it."""
        dice, standing = self.dice, self.standing
        first = self._one(standing.members[self._one(late)])
        works = self._with_followers([first])
        pressed = {first, *(i for i in works if dice.share() < MORE_PRESSED)}
        return self._aim(
            works,
            pressed,
            wish=Wish.SOONEST,
            ways={i: self._somebody(i) for i in sorted(pressed)},
            time_price=1.0,
            day_price=self.day_price * HURRY[dice.below(len(HURRY))],
        )

    def _somebody(self, i: int) -> Way:
        ways, by = self.board.lots.ways[i], self.board.by[i]
        if by is not None and self.dice.share() < SAME_CREW:
            return by
        return ways[self.dice.below(len(ways))]

    def _with_followers(self, works: Iterable[int]) -> list[int]:
        found = list(works)
        known = set(found)
        for i in found:  # grows as it is read
            for j in self.standing.after[i]:
                if j not in known:
                    known.add(j)
                    found.append(j)
        return found

    def _tail(self) -> Aim:
        """Lay out the rest of some yards anew, from shortly before a changed crew-day or any moment on."""
        dice, standing, start = self.dice, self.standing, self.board.start
        jobs, moment = self._changed() or self._anywhere()
        if dice.share() < MORE_YARDS:
            jobs = {*jobs, self._one(standing.movable)}
        works = [i for n in sorted(jobs) for i in standing.members[n] if start[i] >= moment]
        width = SHIFTS[dice.below(len(SHIFTS))]
        return self._aim(
            self._with_followers(works),
            (),
            shift={n: dice.bell(width) for n in sorted(jobs)},
            time_price=1.0,
            day_price=self.day_price * HURRY[dice.below(len(HURRY))],
        )

    def _changed(self) -> tuple[set[int], int] | None:
        """Return the yards that differ on a changed crew-day, and a slot shortly before it."""
        crew_days, dice = self.standing.crew_days, self.dice
        changed = list(crew_days.wrong)
        if not changed or dice.share() >= UPSET:
            return None
        key = changed[dice.below(len(changed))]
        jobs = {n for n in crew_days.differing(key) if self.standing.members[n]}
        return (jobs, (key[1] - dice.below(1 + FAR_DAYS)) * self.per_day) if jobs else None

    def _anywhere(self) -> tuple[set[int], int]:
        """Return any yard, and the slot in which one of its works starts."""
        job = self._one(self.standing.movable)
        return {job}, self.board.start[self._one(self.standing.members[job])]

    def _anything(self) -> Aim:
        """Move any work, perhaps with what its yard has in the days after it."""
        dice, standing, start = self.dice, self.standing, self.board.start
        members = standing.members[self._one(standing.movable)]
        first = self._one(members)
        reach = dice.below(1 + FAR_DAYS) * self.per_day
        works = [i for i in members if 0 <= start[i] - start[first] <= reach] if reach else [first]
        return self._aim(works, works if dice.below(2) else ())


def rests(standing: Standing, last_lost: int) -> Iterator[Aim]:
    """Lay out anew, in the old turns, all that stands from some day after the last one lost on."""
    for days, price in product(REST_DAYS, REST_PRICES):
        moment = (last_lost + 1 + days) * standing.per_day
        works = tuple(i for i in standing.free if standing.board.start[i] >= moment)
        if works:
            yield Aim(works, day_price=price, old_turns=True)
