"""Tales of an office, drawn by lot: a history of yards with all the rest that moves who is told to be where.

On top of what a history knows: whole new plans, works tied to days by hand, parted or helped by a second crew, other names, days off,
crews and machines that leave, yards paused, resumed and handed over, lines of the log taken back, mornings and evenings.
"""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import timedelta
from io import StringIO

from django.core.management import CommandError, call_command
from django.urls import reverse

from crews.models import Crew, Machine
from crews.services.links import make_link
from crews.services.today import wall_now
from jobs.models import Company, DayLog, Job, Plan
from jobs.services.by_hand.split import split
from jobs.services.by_hand.works import Pins, lend_crew, pin
from jobs.services.company.crew_changes import close_days, keep_machine
from jobs.services.company.leaving import leave
from jobs.services.company.stage import Stage, set_stage
from jobs.services.day.take_back_line import take_back_line
from jobs.services.scope.yard import JobFacts, Yard, ZoneFacts, change_yard, seen_of
from jobs.services.sky.outlook import say_outlook
from tests.histories import BY, History
from tests.office import signed_in
from tests.phones import phone_in_hand

FUTURES = 60
"""Futures walked where odds are said: enough for days to be told."""


class Tale(History):
    """A history with everything told: an office signed in, a phone for each crew, a calendar for everybody."""

    def __init__(self, seed: int, weeks: int, settings) -> None:
        self.settings, self.printed = settings, None
        super().__init__(seed, weeks)

    def prepare(self) -> None:
        """Hire one of the machines, let one crew read Spanish and one help another; give links out."""
        Company.objects.update(demo_day=None)
        wanted = [row for row in Machine.objects.all() if row.kind in {"plate-compactor", "mixer"}]
        Machine.objects.filter(pk=self.one_of(wanted).pk).update(
            rented=True, day_price=90, lead_days=self.dice.whole(1, 5), least_days=2
        )
        Crew.objects.filter(slug="green-crew").update(language="es")
        self.helped()
        self.office = signed_in()
        self.phones = {crew.pk: phone_in_hand(crew) for crew in Crew.objects.all()}
        self.feeds = {"all": self.linked("all")}
        for crew in Crew.objects.all():
            self.feeds[f"crew:{crew.slug}"] = self.linked(f"crew:{crew.slug}")
        for machine in Machine.objects.all():
            self.feeds[f"machine:{machine.slug}"] = self.linked(f"machine:{machine.slug}")

    def linked(self, subject: str) -> str:
        """Return the address of a calendar of a subject."""
        _, token = make_link(subject, now=wall_now())
        return f"/feed/{token}.ics"

    def owner_of(self, job: Job) -> tuple[str, str]:
        """Return the addresses of an owner's page and calendar, one token for both."""
        subject = f"homeowner:{job.uid}"
        if subject not in self.feeds:
            self.feeds[subject] = self.linked(subject)
        token = self.feeds[subject].removeprefix("/feed/").removesuffix(".ics")
        return reverse("homeowner", args=[token]), self.feeds[subject]

    def kinds(self):
        """Return what may happen: work oftenest."""
        more = [
            self.helped, self.pinned, self.pinned, self.loosened, self.day_off, self.gone,
            self.parted, self.renamed,
            self.resumed, self.handed_over, self.taken_back, self.morning, self.morning, self.ahead,
            self.half, self.odds, self.odds, self.odds, self.work,
        ]  # fmt: skip
        return [*super().kinds(), *more]

    def work_to_do(self):
        """Some work of ours that is not done."""
        rows = Plan.objects.filter(state="published").first()
        works = self.job.activities.filter(retired=False, started_at=None, finished_at=None)
        if rows is not None:
            works = works.filter(plan_rows__plan=rows, plan_rows__crew__isnull=False)
        return self.one_of(works)

    def helped(self) -> None:
        """A second crew helps with a work."""
        work, crew = self.work_to_do(), self.one_of(Crew.objects.filter(active=True))
        lend_crew(work, crew, self.who, revision=work.revision)

    def pinned(self) -> None:
        """A work is not to begin before some day."""
        work, day = self.work_to_do(), self.day()
        pin(work, Pins(not_before=day), self.who, revision=work.revision)

    def loosened(self) -> None:
        """Whatever is tied to days is loosened again."""
        work = self.one_of(self.job.activities.filter(not_before__isnull=False))
        pin(work, Pins(), self.who, revision=work.revision)

    def parted(self) -> None:
        """A work is to be done in two parts."""
        work = self.work_to_do()
        split(work, self.dice.whole(20, 80), self.who, revision=work.revision)

    def renamed(self) -> None:
        """A yard with one of its places, or a machine, is called otherwise."""
        if self.dice.share() < 0.3:
            one = self.one_of(Machine.objects.filter(active=True))
            keep_machine(one, {"name": f"New {one.name}"[:60]}, self.who, revision=one.revision)
            return
        job = self.one_of(Job.objects.filter(state__in=Job.OPEN))
        zone = self.one_of(job.zones.filter(whole=False))
        facts = JobFacts(**{field.name: getattr(job, field.name) for field in fields(JobFacts)})
        yard = Yard([ZoneFacts(zone.uid, f"New {zone.name}"[:60], zone.area_ft2)], [], job.options)
        facts = replace(facts, name=f"New {job.name}"[:60])
        change_yard(job, facts, yard, seen=seen_of(job), by=BY, now=self.now)

    def day_off(self) -> None:
        """Nobody works on a day, or from Thursday to Monday."""
        first = self.day()
        last = first + timedelta(days=4 if self.dice.share() < 0.5 else 0)
        close_days(first, last, "fair", {}, self.who)

    def gone(self) -> None:
        """A crew or a machine leaves for good, once."""
        table = Machine if self.dice.share() < 0.7 else Crew
        one = self.one_of(table.objects.filter(active=True))
        if one.gone_from is None and "gone" not in self.said:
            leave(one, self.day(), 1, self.who, revision=one.revision)

    def resumed(self) -> None:
        """A yard that rests goes on at once."""
        job = self.one_of(Job.objects.filter(state="paused"))
        set_stage(job, Stage("active"), self.who, revision=job.revision)

    def handed_over(self) -> None:
        """The neighbour's yard is over, whatever is left of it."""
        job = self.one_of(Job.objects.filter(state__in=Job.OPEN).exclude(pk=self.job.pk))
        set_stage(job, Stage("handed-over"), self.who, revision=job.revision)

    def taken_back(self) -> None:
        """The last line about a work was wrong."""
        line = DayLog.objects.filter(activity__isnull=False).latest("pk")
        take_back_line(line, by=BY, now=self.now)

    def morning(self) -> None:
        """The next day, at some hour of it."""
        hour = self.dice.whole(5, 16)
        self.now = (self.now + timedelta(days=1)).replace(hour=hour, minute=0)

    def half(self) -> None:
        """What should be at work by now is half done."""
        plan = Plan.objects.get(state="published")
        rows = plan.rows.filter(crew__isnull=False, finish__gt=self.now, start__lte=self.now)
        self.log(self.one_of(rows.filter(activity__finished_at=None)).activity, self.now, 50)

    def odds(self) -> None:
        """The odds of what stands are said."""
        say_outlook(now=self.now, runs=FUTURES)

    def decide(self) -> None:
        """As in a history, or plan all again and publish, which prints the plan."""
        if self.dice.share() < 0.65:
            super().decide()
            return
        self.now += timedelta(minutes=5)
        self.settings.TODAY = self.now.isoformat()
        printed = StringIO()
        try:
            call_command("plan", "--publish", "--json", stdout=printed)
            self.printed = json.loads(printed.getvalue())
            self.said.append("planned again")
        except CommandError as refused:
            self.said.append(str(refused))
