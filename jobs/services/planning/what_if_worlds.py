"""What may be asked of "what if": a change as it is told, stored and read into a second world."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from functools import partial
from typing import TYPE_CHECKING, Any

from jobs import clock, models
from jobs.scheduling.asking.what_if import with_crew, with_days, with_machine, with_start
from jobs.scheduling.errors import SchedulingError
from jobs.services.numbers.library_words import machine_name
from jobs.services.sky.weather_windows import with_weather
from jobs.services.telling.speech import say_day, say_people, say_span
from jobs.services.telling.words import say
from jobs.services.world.hands import hired_for
from jobs.services.world.read_world import read_world
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from crews.services.hours import Hours
    from jobs.scheduling.world import World
    from jobs.services.world.planning import Planning

SATURDAY = 5
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
EVERY_CREW = ""


class Change(StrEnum):
    """Kinds of changes."""

    CREW = "crew"
    MACHINE = "machine"
    SATURDAYS = "saturdays"
    START = "start"
    BID = "bid"
    PEOPLE = "people"


@dataclass(frozen=True, slots=True)
class Question:
    """One change.

    Attributes
    ----------
    subject
        Slug of the crew or job, or kind of the machine; every crew if empty.
    first, last
        Its span, or the new first day of a yard.
    weekdays
        Days of the week of one more crew, Monday being 0; empty for all it works.
    by
        People more or fewer.
    """

    change: Change
    subject: str = EVERY_CREW
    first: date | None = None
    last: date | None = None
    weekdays: tuple[int, ...] = ()
    by: int = 1

    def stored(self) -> dict[str, Any]:
        """Return it as a row keeps it."""
        return {
            "change": self.change.value,
            "subject": self.subject,
            "first": self.first.isoformat() if self.first else None,
            "last": self.last.isoformat() if self.last else None,
            "weekdays": list(self.weekdays),
            "by": self.by,
        }


def question_of(stored: Mapping[str, Any]) -> Question:
    """Read a stored question."""
    first, last = (
        date.fromisoformat(stored[key]) if stored[key] else None for key in ("first", "last")
    )
    change, weekdays = Change(stored["change"]), tuple(stored["weekdays"])
    return Question(change, stored["subject"], first, last, weekdays, stored["by"])


@dataclass(frozen=True, slots=True)
class Pair:
    """The world as it is, the world with a change, and every job of either."""

    planning: Planning
    changed: World
    jobs: dict[str, models.Job]
    words: str


def read_pair(question: Question, now: datetime) -> Pair:
    """Read the world twice over, or once and change it; nothing is written.

    Raises
    ------
    SchedulingError
        If what is asked about is not there (any more), or nobody could do some work.
    """
    planning = with_weather(read_world(now), now)
    if not planning.world.works:
        raise SchedulingError(
            "There is nothing to plan", remedy="add a job with something to build"
        )
    return _Reader(planning, now).read(question)


@dataclass(frozen=True, slots=True)
class _Reader:
    planning: Planning
    now: datetime

    def read(self, question: Question) -> Pair:
        """Make the change."""
        make = {
            Change.CREW: self._crew,
            Change.MACHINE: self._machine,
            Change.SATURDAYS: self._saturdays,
            Change.START: self._start,
            Change.BID: self._bid,
            Change.PEOPLE: self._people,
        }
        try:
            with clock.telling_on(clock.EVER):  # a solve row keeps the words
                return make[question.change](question)
        except KeyError as missing:
            raise SchedulingError(
                f"There is no {question.change.value} called {missing.args[0]}",
                remedy="choose another one",
            ) from missing

    def _pair(self, changed: World, words: str) -> Pair:
        return Pair(self.planning, changed, dict(self.planning.jobs), words)

    def _span(self, question: Question) -> tuple[date, date]:
        first = question.first or self.now.date()
        return first, question.last or first + timedelta(days=27)

    def _crew(self, question: Question) -> Pair:
        world, (first, last) = self.planning.world, self._span(question)
        weekdays = question.weekdays or tuple(range(7))
        name = world.crews[question.subject].name
        days = f" on {', '.join(WEEKDAYS[day] for day in weekdays)}" if question.weekdays else ""
        words = f"One more crew like {name}{days}, {say_span(first, last)}"
        return self._pair(with_crew(world, question.subject, first, last, weekdays), words)

    def _machine(self, question: Question) -> Pair:
        world, (first, last) = self.planning.world, self._span(question)
        changed = with_machine(world, question.subject, first, last)
        name = machine_name(question.subject)
        return self._pair(changed, f"One more {name.lower()}, {say_span(first, last)}")

    def _saturdays(self, question: Question) -> Pair:
        world, (first, last) = self.planning.world, self._span(question)
        ours = [name for name, crew in world.crews.items() if not crew.hired]
        crews = [question.subject] if question.subject else ours
        who = world.crews[question.subject].name if question.subject else "every crew"
        words = f"Saturdays for {who}, {say_span(first, last)}"
        return self._pair(with_days(world, crews, first, last, SATURDAY), words)

    def _start(self, question: Question) -> Pair:
        first, _ = self._span(question)
        job = {job.slug: job for job in self.planning.jobs.values()}[question.subject]
        changed = with_start(self.planning.world, job.uid, first)
        return self._pair(changed, f"{job.name} begins {say_day(first)}")

    def _bid(self, question: Question) -> Pair:
        bid = models.Job.objects.filter(state=models.Job.State.BID, slug=question.subject).first()
        if bid is None:
            raise KeyError(question.subject)
        won = with_weather(read_world(self.now, bids=[bid]), self.now)
        if not any(work.job == bid.uid for work in won.world.works.values()):
            raise SchedulingError(
                f"{bid.name} has nothing to build yet", remedy="add what is built"
            )
        jobs = {**self.planning.jobs, bid.uid: bid}
        words = f"The bid for {bid.name} is won"
        if lacking := self._new_lacks(won):
            words += f". {say(Sentence('nobody-bid', {'works': ', '.join(lacking)}))}"
        return Pair(self.planning, won.world, jobs, words)

    def _new_lacks(self, changed: Planning) -> list[str]:
        """Names of works that nobody can do in a changed world, as somebody can now, or that are new in it."""
        before = self.planning.world.crews
        return [
            activity.name
            for uid, activity in changed.activities.items()
            if hired_for(uid) in changed.world.works[uid].crews
            and hired_for(uid) not in before
            and not activity.by_others
        ]

    def _people(self, question: Question) -> Pair:
        name = self.planning.world.crews[question.subject].name
        count = abs(question.by)
        more = "more" if question.by > 0 else "fewer"
        words = f"{say_people(count)} {more} in {name}"
        changed = with_weather(
            read_world(self.now, staffed=partial(_staffed, question=question)), self.now
        )
        if lacking := self._new_lacks(changed):
            raise SchedulingError(
                f"{words}: then nobody can do {', '.join(lacking)}",
                remedy="leave them as they are, or give another crew the skill",
            )
        return self._pair(changed.world, words)


def _staffed(hours: Hours, question: Question) -> Hours:
    """Put people in a crew, or take them out, on every day it works; whoever comes can do what the crew does."""
    crew = hours.crews[question.subject]

    def changed(counts: list[int]) -> list[int]:
        days = zip(counts, crew.masks, strict=True)
        return [max(0, count + question.by) if mask else count for count, mask in days]

    able = {skill: changed(counts) for skill, counts in crew.able.items()}
    other = replace(crew, people=changed(crew.people), able=able)
    return replace(hours, crews={**hours.crews, question.subject: other})
