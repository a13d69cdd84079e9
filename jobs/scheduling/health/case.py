"""What the checks of a schedule read and give back: a world with its plan, and a check with its findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.paths.network import critical_path, usual_calendar
from jobs.trade.work import Sentence, Shift

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.paths.network import Network
    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.world import Tie, Work, World

HUNDRED = 100


class Verdict(StrEnum):
    """How a check comes out."""

    PASSES = "passes"
    FAILS = "fails"
    LISTED = "listed"
    """Told, and neither good nor bad by itself."""
    NOTHING = "nothing to measure"


class Unit(StrEnum):
    """In what a check is measured."""

    PERCENT = "percent"
    COUNT = "count"
    RATIO = "ratio"
    DAYS = "working days"


class Finding(NamedTuple):
    """One thing to mend: the work or job concerned (one of them empty), and a sentence that says it."""

    work: str
    job: str
    sentence: Sentence


@dataclass(frozen=True, slots=True)
class Check:
    """One check, measured.

    Attributes
    ----------
    key
        Names it, its title and its explanation in the words.
    value, limit
        What was measured, and what is allowed; no limit where everything is.
    of
        Over how many works, links or jobs it was measured.
    source
        Where check and limit come from.
    """

    key: str
    verdict: Verdict
    unit: Unit
    value: float
    limit: float | None
    of: int
    source: str
    findings: tuple[Finding, ...] = ()


class Due(NamedTuple):
    """A work that was first published to be done by now: the instants (UTC minutes) it was due and done."""

    work: str
    due: int
    finished: int | None


@dataclass(frozen=True)
class Case:
    """A world with a sound plan of it, read once for all checks.

    Attributes
    ----------
    shown
        Placements as people see them: a plan may lie in the past by now.
    due
        Works first published to be done by now.
    job
        Check the works of one job alone; empty for all.
    nobody
        Works that are given to somebody hired because nobody of the house can do them, and nobody has been hired.
    """

    world: World
    plan: Plan
    shown: Mapping[str, Placement]
    due: Sequence[Due] = ()
    job: str = ""
    nobody: Collection[str] = ()
    network: Network = field(init=False)

    def __post_init__(self) -> None:
        """Date the network once."""
        object.__setattr__(self, "network", critical_path(self.world, self.plan))

    def jobs(self) -> tuple[str, ...]:
        """Return the jobs that are checked and have something left to do."""
        left = {work.job for work in self.left()}
        return tuple(job for job in self.world.jobs if job in left)

    def works(self) -> Iterator[Work]:
        """Every work that is checked."""
        for work in self.world.works.values():
            if self.job in ("", work.job):
                yield work

    def all_of(self, job: str) -> list[Work]:
        """Return all works of a job."""
        return [work for work in self.world.works.values() if work.job == job]

    def left(self) -> list[Work]:
        """Return the works that are not done yet: a schedule is checked for what is to come."""
        return [work for work in self.works() if work.done is None or work.done.end is None]

    def ties(self) -> list[Tie]:
        """Return the links into works that are not done yet."""
        left = {work.id for work in self.left()}
        return [tie for tie in self.world.ties if tie.after in left]

    def slots_a_day(self, work: Work) -> int:
        """Slots in which a work can be done on a day of its shift."""
        axis = self.world.axes[self.world.jobs[work.job].zone]
        return max(1, axis.day_mask(work.shift).bit_count())

    def days(self, work: Work) -> float:
        """Working days a work takes with the crew the plan gives it."""
        slots = work.crews.get(self.plan[work.id].crew, work.slots)
        return slots / self.slots_a_day(work)

    def by_others(self, work: Work) -> bool:
        """True if people who are not of the house do a work."""
        return not work.crews or self.world.is_hired(self.plan[work.id].crew)

    def float_days(self, work: Work) -> float:
        """Working days a work can slip with its job still done as planned."""
        return self.network.rows[work.id].total_float / self.slots_a_day(work)

    def usual(self, job: str) -> Calendar:
        """Return the usual working slots of a yard."""
        return usual_calendar(self.world, self.world.jobs[job])

    def day_slots(self, job: str) -> int:
        """Day slots of a day in a yard."""
        axis = self.world.axes[self.world.jobs[job].zone]
        return axis.day_mask(Shift.DAY).bit_count()

    def finish(self, job: str, plan: Plan | None = None) -> int:
        """Last counted slot of a job in the plan, or in another one."""
        placed = self.plan if plan is None else plan
        return max(placed[work.id].end for work in self.all_of(job) if work.counts)

    def counted(self, job: str) -> bool:
        """Return True if a job has a finish: a work that counts."""
        return any(work.counts for work in self.all_of(job))

    def day(self, work: Work, slot: int) -> str:
        """ISO text of the day of a slot where a work is done."""
        return self.world.axes[self.world.jobs[work.job].zone].day(slot).isoformat()

    def about(self, work: Work, key: str, **values: str | int) -> Finding:
        """Return what is to be mended in a work."""
        return Finding(work.id, "", Sentence(f"health-{key}", {"work": work.name, **values}))

    def about_job(self, job: str, key: str, **values: str | int) -> Finding:
        """Return what is to be mended in a job."""
        name = self.world.jobs[job].name
        return Finding("", job, Sentence(f"health-{key}", {"job": name, **values}))


def share_at_most(key: str, found: Sequence[Finding], of: int, limit: int, source: str) -> Check:
    """Return a check by which no more than some percent may be found; exactly as many pass."""
    verdict = Verdict.PASSES if HUNDRED * len(found) <= limit * of else Verdict.FAILS
    value = HUNDRED * len(found) / of if of else 0.0
    verdict = verdict if of else Verdict.NOTHING
    return Check(key, verdict, Unit.PERCENT, value, limit, of, source, tuple(found))


def none_allowed(key: str, found: Sequence[Finding], of: int, source: str) -> Check:
    """Return a check by which nothing may be found."""
    verdict = Verdict.FAILS if found else Verdict.PASSES if of else Verdict.NOTHING
    return Check(key, verdict, Unit.COUNT, len(found), 0, of, source, tuple(found))
