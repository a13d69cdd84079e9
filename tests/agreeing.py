"""What every place must tell of an office, taken from the rows of the published plan alone.

A work that is over is told for no day after that one; a yard that is over, for no day ahead.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from crews.services.hours import working_hours
from jobs.models import Job, Plan
from jobs.services.numbers.library_words import machine_name, work_name
from jobs.services.pages.frame import outsider
from jobs.services.world.lacking import nobody_of

if TYPE_CHECKING:
    from crews.models import Crew

NEAR = timedelta(days=10)
"""How far the first page and a phone look for the next day with work."""


class Day(NamedTuple):
    """A work on a day, with its crew and the one helping it."""

    crews: tuple[Crew, ...]
    day: date
    begins: time
    ends: time
    whole: bool
    row: object

    @property
    def job(self):
        """Its yard."""
        return self.row.activity.job

    @property
    def uid(self):
        """What it is known by."""
        return self.row.activity.uid

    @property
    def hours(self):
        """As a calendar tells them: none for a whole day."""
        return (None, None) if self.whole else (self.begins, self.ends)

    def name(self, crew):
        """Its name as a crew reads it."""
        return work_name(self.row.activity, crew.language)

    def machines(self, language="en"):
        """Names of the kinds it takes."""
        return machines(self.row, language)


class Truth:
    """Everything that the published plan says at some moment."""

    def __init__(self, now: datetime) -> None:
        self.now, self.today = now, now.date()
        self.plan = Plan.objects.get(state="published")
        rows = self.plan.rows.select_related("activity__job", "crew", "lent")
        self.rows = [row for row in rows if row.activity.job.state in Job.OPEN]
        planned = self.plan.jobs.select_related("job")
        self.jobs = {row.job: row for row in planned if row.job.state in Job.OPEN}
        self.days = [day for row in self.rows if row.crew for day in days_of(row)]
        self.waits = nobody_of(self.plan)

    def of(self, crew: Crew) -> list[Day]:
        """Days of one crew, its own and those it helps on."""
        return [one for one in self.days if crew in one.crews]

    def following(self, days: list[Day]) -> date:
        """The next of some days within reach; the next of the calendar if there is none."""
        near = [one.day for one in days if one.day > self.today and one.row.start < self.now + NEAR]
        return min(near, default=self.today + timedelta(days=1))

    def finish(self, job: Job) -> date:
        """The day on which a yard is done."""
        return local(self.jobs[job].finish, job).date()

    def rows_of(self, job: Job) -> list:
        """Works of a yard."""
        return [row for row in self.rows if row.activity.job == job]

    def milestones(self, job: Job) -> list[tuple[str, date]]:
        """Milestones to come, the last of each by words, with their days; what hangs on nobody is told none.

        One that is begun and late cannot be before today; where nobody said anything, its day is believed.
        """
        rows = sorted(self.rows_of(job), key=lambda row: (row.finish, row.pk))
        last = {words: row for row in rows if (words := row.activity.detail.get("milestone"))}
        return [
            (words, max(local(row.finish, job).date(), self.today))
            for words, row in sorted(last.items(), key=lambda it: (it[1].finish, it[1].pk))
            if row.activity.uid not in self.waits.follow
            and not row.activity.finished_at
            and (row.finish > self.now or row.activity.started_at)
        ]

    def closed(self, ahead: int) -> set[date]:
        """Days on which nobody works, two weeks back and so many ahead."""
        first = self.today - timedelta(days=14)
        hours = working_hours(first, self.today + timedelta(days=ahead))
        masks = zip(*(crew.masks for crew in hours.crews.values()), strict=True)
        return {first + timedelta(days=n) for n, there in enumerate(masks) if not any(there)}


def who(row) -> str:
    """Who does a planned work: its crews, or who is not ours."""
    return row.crew_names or outsider(row.activity)


def machines(row, language="en") -> list[str]:
    """Names of the kinds a planned work takes, a unit each."""
    return [machine_name(kind, language) for kind, _, _ in row.machines]


def same(where: str, told, wanted) -> None:
    """Refuse what a place tells and is not so, or is so and it does not tell."""
    told, wanted = Counter([*told]), Counter([*wanted])
    more, less = told - wanted, wanted - told
    if more or less:
        raise AssertionError(f"{where}: told {[*more]}, not told {[*less]}")


def local(moment, job):
    """A moment on the clock of a yard."""
    return moment.astimezone(ZoneInfo(job.zone))


def days_of(row) -> list[Day]:
    """Days of a planned work, none after the one on which it was over."""
    over, job = row.activity.finished_at, row.activity.job
    last = local(over, job).date() if over else date.max
    spans = [
        (*(local(datetime.fromisoformat(it), job) for it in (start, finish)), whole)
        for start, finish, whole in row.segments
    ]
    return [
        Day(row.crews, begins.date(), begins.time(), ends.time(), whole, row)
        for begins, ends, whole in spans
        if begins.date() <= last
    ]
