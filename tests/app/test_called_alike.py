"""What works, yards, crews and machines are called reaches calendars as soon as the office calls them so; no date moves."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from crews.models import CalendarEvent, Crew, Machine
from jobs.models import ChangeLine, Plan
from jobs.services.by_hand.split import split
from jobs.services.causes.late import take_back_change
from jobs.services.company.crew_changes import keep_crew, keep_machine
from jobs.services.history import Who
from jobs.services.numbers.library_words import work_name
from jobs.services.scope.yard import JobFacts, Yard, ZoneFacts, change_yard, seen_of
from jobs.services.storm.answer_order import Signature, sign
from jobs.services.storm.change_orders import Wording, add_line, ask
from tests.app.test_feed_language import facts_of
from tests.office import NOW, published_plan, published_yard

pytestmark = pytest.mark.django_db
WHO = Who("test", NOW)
KEPT = ("uid", "start", "end", "status", "subject", "activity")


@pytest.fixture
def job():
    """A small yard, published."""
    return published_yard()


def events():
    """What of calendars no other name may change."""
    return list(CalendarEvent.objects.order_by("pk").values(*KEPT))


def titles():
    """Titles of works in crews' calendars, each with its crew, as events tell them."""
    rows = CalendarEvent.objects.filter(kind="work", subject__startswith="crew:")
    return set(rows.exclude(status="CANCELLED").values_list("subject", "title"))


def called():
    """The same as pages call them now."""
    rows = Plan.objects.get(state="published").rows.filter(crew__isnull=False)
    return {
        (f"crew:{crew.slug}", f"{row.activity.job.name}: {work_name(row.activity, crew.language)}")
        for row in rows
        for crew in row.crews
    }


def more_of(work):
    """Have the owner sign for one day more of a work."""
    order = ask(work.job, Wording("More of it"), WHO)
    days = ChangeLine(does=ChangeLine.Does.DAYS, activity=work, days=Decimal(1))
    add_line(order, days, WHO)
    order.refresh_from_db()
    return sign(order, Signature("Ann Holloway", NOW.date()), WHO, revision=order.revision)


def test_a_second_order_numbers_the_first_part_everywhere(job):
    """Its first part is *more of it* as published, and *more of it (1)* once there are two; once only one stands, as it was."""
    path = job.activities.get(template="dg-path")
    more_of(path)
    published_plan()
    before, first = events(), titles()
    assert first == called()
    change = more_of(path)
    part = path.parts.earliest("pk")
    assert part.name.endswith("more of it (1)")
    assert titles() == called()
    assert events() == before
    take_back_change(change, by="test", now=NOW)
    assert titles() == called() == first


def test_a_work_split_in_two_is_called_the_first_of_them(job):
    """Its second part is planned later; a calendar that is told so keeps its days."""
    before, path = events(), job.activities.get(template="dg-path")
    split(path, 50, WHO, revision=path.revision)
    path.refresh_from_db()
    assert path.name.endswith("(1 of 2)")
    assert titles() == called()
    assert events() == before


def test_a_yard_and_its_places_are_called_by_their_new_names(job):
    """In titles, addresses and notes; what stays as it was is not told again."""
    before, zone = events(), job.zones.get(name="Front path")
    facts = JobFacts(**{name: getattr(job, name) for name in JobFacts.__dataclass_fields__})
    places = (ZoneFacts(zone.uid, "Entry", zone.area_ft2),)
    new = replace(facts, name="The Finches", address="5 Finch Street, Asheville, NC")
    change_yard(job, new, Yard(places, (), job.options), seen=seen_of(job), by="test", now=NOW)
    assert titles() == called()
    path = job.activities.get(template="dg-path")
    assert path.name.endswith(", entry")
    assert f"The Finches: {path.name}" in {title for _, title in titles()}
    assert {event.place for event in CalendarEvent.objects.filter(job=job.uid)} == {new.address}
    assert events() == before
    told = list(CalendarEvent.objects.order_by("pk").values())
    job.refresh_from_db()
    change_yard(job, new, Yard(places, (), job.options), seen=seen_of(job), by="test", now=NOW)
    assert list(CalendarEvent.objects.order_by("pk").values()) == told


def test_a_crew_and_a_machine_are_called_by_their_new_names(job):
    """A machine's calendar names its crew, a crew's notes its machines."""
    before = events()
    event = CalendarEvent.objects.filter(subject__startswith="machine:").earliest("pk")
    machine = Machine.objects.get(slug=event.subject.partition(":")[2])
    crew = Plan.objects.get(state="published").rows.get(activity__uid=event.activity).crew
    keep_crew(crew, facts_of(crew, name="The diggers"), WHO, revision=crew.revision)
    event.refresh_from_db()
    assert event.title.endswith("(The diggers)")
    names = (
        "kind",
        "count",
        "width",
        "weight_lb",
        "rented",
        "day_price",
        "lead_days",
        "least_days",
    )
    facts = {name: getattr(machine, name) for name in names}
    keep_machine(machine, facts | {"name": "Old Faithful"}, WHO, revision=machine.revision)
    notes = CalendarEvent.objects.get(subject=f"crew:{crew.slug}", activity=event.activity).notes
    assert "Old Faithful" in notes
    assert events() == before
    assert Crew.objects.get(pk=crew.pk).name == "The diggers"
