"""What one phone sees over months of publishing, whatever is published: no ghost, no silent change.

A machine of random steps against the feed itself, read as a phone reads it. 300 steps in the suite;
``FEED_STEPS=10000`` for the long run.
"""

from __future__ import annotations

import os
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from crews.models import CalendarEvent, FeedLink
from crews.services.drafts import EventDraft, Run
from crews.services.events import publish_events
from crews.services.feeds import BODIES, open_feed
from crews.services.links import make_link
from crews.services.nothing import fill_feeds
from tests.calendars import NEW_YORK, read_strictly
from tests.factories import CrewFactory

pytestmark = pytest.mark.django_db
STEPS, STEPS_A_TALE = int(os.environ.get("FEED_STEPS", "300")), 50
BEGIN = datetime(2026, 2, 23, 18, tzinfo=NEW_YORK)
"""Monday evening, two weeks before the clocks go forward."""
CREWS, JOBS, WORKS = ("ground", "stone"), ("maple", "finch"), ("dig", "lay")
SILENT = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "CREATED")
KEPT_FOR = timedelta(days=14)


@st.composite
def laid(draw):
    """Runs of one work: some days apart from each other, whole days or hours."""
    runs, day = [], draw(st.integers(-3, 12))
    for _ in range(draw(st.integers(0, 3))):
        length = draw(st.integers(1, 3))
        runs.append((day, length, draw(st.booleans())))
        day += length + draw(st.integers(0, 2))
    return runs


PLANS = st.fixed_dictionaries(
    {work: st.tuples(st.sampled_from(CREWS), laid(), st.sampled_from("ab")) for work in WORKS}
)


class Phone(RuleBasedStateMachine):
    """Publishes at random, reads after each step, and compares with what was read before."""

    def __init__(self):
        super().__init__()
        CalendarEvent.objects.all().delete()
        FeedLink.objects.all().delete()
        BODIES.things.clear()
        self.now = BEGIN
        self.plans = {}
        self.tokens = {
            subject: make_link(subject, now=BEGIN)[1] for subject in ("all", "crew:ground")
        }
        self.seen = {subject: {} for subject in self.tokens}
        self.bodies = {}

    @rule(job=st.sampled_from(JOBS), plan=PLANS)
    def publish(self, job, plan):
        """Another plan for one of the jobs."""
        self.plans[job] = [
            EventDraft(
                subject=f"crew:{crew}",
                activity=f"{job}-{work}",
                job=job,
                kind="work",
                runs=tuple(self.run(*run) for run in runs),
                zone=NEW_YORK.key,
                title=f"{job}: {work}",
                notes=f"Way {notes}",
            )
            for work, (crew, runs, notes) in plan.items()
        ]
        self.again(job)

    @rule(job=st.sampled_from(JOBS))
    def again(self, job):
        """The same plan once more: by somebody who pressed the button twice."""
        publish_events(self.plans.get(job, ()), job, self.now)
        fill_feeds(self.now)

    @rule(job=st.sampled_from(JOBS))
    def drop(self, job):
        """A job that was lost."""
        self.plans[job] = []
        self.again(job)

    @rule(hours=st.sampled_from([1, 10, 24, 24 * 8, 24 * 20]))
    def wait(self, hours):
        """Time goes by, and every night the standing events are looked after."""
        self.now += timedelta(hours=hours)
        fill_feeds(self.now)

    def run(self, day, length, whole):
        """Days or hours some days from today."""
        first = self.now.date() + timedelta(days=day)
        if whole:
            return Run(at(first), at(first + timedelta(days=length)), all_day=True)
        return Run(at(first, 7), at(first, 7 + 2 * length), all_day=False)

    @invariant()
    def nothing_changes_silently(self):
        """RFC 5545 3.8.7.4 (SEQUENCE), 3.8.7.3 (LAST-MODIFIED), 3.8.4.7 (UID), for each feed."""
        for subject, token in self.tokens.items():
            feed, _ = open_feed(token, self.now)
            kept = self.bodies.setdefault((subject, feed.tag), feed.body)
            assert kept == feed.body, "one tag, two bodies"
            found = events_of(feed.body)
            assert found, "an empty calendar"
            for uid, before in self.seen[subject].items():
                self.compare(before, found.get(uid))
            self.seen[subject] = found

    def compare(self, before, after):
        """One event, as it was read before and now."""
        if after is None:
            assert before["STATUS"] == "CANCELLED", "vanished unannounced"
            assert end_of(before) < self.now, "vanished before its time"
            assert stamp_of(before) < self.now - KEPT_FOR, "not shown as cancelled long enough"
            return
        changed = any(before.get(name) != after.get(name) for name in {*before, *after} - {*SILENT})
        if changed:
            assert int(after["SEQUENCE"]) > int(before["SEQUENCE"]), "changed in silence"
            assert stamp_of(after) > stamp_of(before), "a phone would not look"
        else:
            assert after == before, "raised without a change"

    @invariant()
    def what_is_to_come_is_what_was_published(self):
        """No ghost and no gap: live events that begin later are the runs that begin later."""
        wanted = {
            (draft.activity, run.start, run.end)
            for plan in self.plans.values()
            for draft in plan
            for run in draft.runs
            if run.start > self.now
        }
        live = CalendarEvent.objects.filter(start__gt=self.now, kind="work", status="CONFIRMED")
        assert set(live.values_list("activity", "start", "end")) == wanted


def at(day: date, hour: int = 0):
    """An hour of a day in New York."""
    return datetime(day.year, day.month, day.day, hour, tzinfo=NEW_YORK)


def events_of(body):
    """Events by UID, each as names with their parameters and values."""
    return {
        part.one("UID").value: {
            line.name: line.value if not line.parameters else (line.value, str(line.parameters))
            for line in part.lines
        }
        for part in read_strictly(body).inside("VEVENT")
    }


def stamp_of(event):
    """When the event changed last."""
    return datetime.strptime(event["LAST-MODIFIED"], "%Y%m%dT%H%M%S%z").astimezone(UTC)


def end_of(event):
    """When the event ends."""
    value, parameters = event["DTEND"]
    if "VALUE" in parameters:
        return datetime.strptime(value, "%Y%m%d").replace(tzinfo=NEW_YORK)
    return datetime.strptime(value, "%Y%m%dT%H%M%S").replace(tzinfo=NEW_YORK)


def test_whatever_is_published_a_phone_sees_every_change_and_no_ghost():
    """Sequences never fall, no UID vanishes unannounced, unchanged events keep theirs."""
    CrewFactory(name="Ground crew", slug="ground")
    run_state_machine_as_test(
        Phone,
        settings=settings(
            max_examples=max(1, STEPS // STEPS_A_TALE),
            stateful_step_count=STEPS_A_TALE,
            deadline=None,
            phases=(Phase.generate,),  # making a failing tale shorter takes minutes here
            report_multiple_bugs=False,
            suppress_health_check=list(HealthCheck),
        ),
    )
