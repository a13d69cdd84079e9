"""Every calendar of the demo, before and after days off push its work: all readers see the same."""

from __future__ import annotations

from datetime import date

import pytest

from crews.models import CalendarEvent, Crew, Machine, Person, Role, TimeOff
from crews.services.feeds import feed_body
from jobs import clock
from jobs.models import Job
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from tests.office import the_demo
from tests.readers import READERS, strictly

pytestmark = pytest.mark.django_db


def bodies():
    """The body of every calendar there is."""
    subjects = [
        *(f"crew:{slug}" for slug in Crew.objects.values_list("slug", flat=True)),
        *(f"machine:{slug}" for slug in Machine.objects.values_list("slug", flat=True)),
        *(f"person:{pk}" for pk in Person.objects.filter(role=Role.LEAD).values_list("pk", flat=True)),
        *(f"homeowner:{uid}" for uid in Job.objects.values_list("uid", flat=True)),
        "all",
    ]  # fmt: skip
    return {subject: feed_body(subject, clock.now(), "A yard") for subject in subjects}


def agreed(told):
    """What our strict reader finds in each feed, once every other reader found the same."""
    found = {subject: strictly(body) for subject, body in told.items()}
    for name, reader in READERS.items() - {("strict", strictly)}:
        for subject, body in told.items():
            assert reader(body) == found[subject], f"{name} reads {subject} differently"
    return found


def test_all_readers_agree_on_every_feed_before_and_after_a_replan():
    """And between the two no event vanished, none changed without a higher sequence."""
    the_demo()
    before = agreed(bodies())
    assert len(before) == 3 + 5 + 1 + 3 + 1
    day = date(2026, 6, 18)
    TimeOff.objects.create(crew=Crew.objects.get(slug="stone-crew"), first=day, last=day)
    made = plan_jobs(now=clock.now(), by="test")
    accept_plan(made.plan, by="test", now=clock.now())
    after = agreed(bodies())
    changed = 0
    for subject, events in before.items():
        for uid, told in events.items():
            again = after[subject][uid]
            assert (again[-1] > told[-1]) == (again[:-1] != told[:-1]), (subject, uid)
            changed += again != told
    assert changed > 0


def test_events_of_the_demo_are_of_every_kind():
    """Work, milestones, deliveries and an inspection; each crew event with a place and a caution or a way in."""
    the_demo()
    kinds = set(CalendarEvent.objects.order_by().values_list("kind", flat=True).distinct())
    assert kinds >= {"work", "milestone", "delivery", "inspection"}
    bare = CalendarEvent.objects.filter(subject__startswith="crew:", kind="work")
    assert not [event.title for event in bare if not event.place or "Way in: " not in event.notes]
