"""What stands in an event: where, who with, with what, what is brought, what to mind. Never a code.

The small yard, laid out by hand: Monday 22 June 2026 is its first day.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from crews.models import CalendarEvent, Crew, Machine
from crews.services.feeds import feed_body
from crews.services.redact import without_codes
from jobs.models import Activity, Delivery, Job, Link, Plan, PlanRow
from jobs.services.calendar.publish import plan_drafts, publish_plan
from tests.calendars import NEW_YORK, new_york, read_strictly
from tests.office import NOW, open_office, small_job

pytestmark = pytest.mark.django_db
WEDNESDAY = NOW + timedelta(days=1)


@pytest.fixture
def plan():
    """An empty plan of a yard with a front path and a bed."""
    open_office()
    small_job()
    return Plan.objects.create(
        number=1, world="w", made_at=NOW, status="by hand", method="by hand", late=0, finish_sum=0,
        late_bound=0, seconds=0,
    )  # fmt: skip


def put(plan, template, *days, crew="green-crew", people=3, machines=(), hours=None):
    """Lay a work on days of June; whole days, or the same hours of each."""
    first, last = hours or (7, 15)
    segments = [
        [new_york(6, day, first).isoformat(), new_york(6, day, last).isoformat(), hours is None]
        for day in days
    ]
    row, _ = PlanRow.objects.update_or_create(
        plan=plan,
        activity=Activity.objects.get(template=template),
        defaults={
            "crew": Crew.objects.get(slug=crew) if crew else None,
            "people": people,
            "start": new_york(6, days[0], first),
            "finish": new_york(6, days[-1], last),
            "segments": segments,
            "machines": [["kind", 0, slug] for slug in machines],
            "early_start": new_york(6, days[0], first),
            "late_finish": new_york(6, days[-1], last),
            "float_hours": 0,
        },
    )
    return row


def notes(subject, kind="work"):
    """The lines under the events of a subject, in order of time."""
    events = CalendarEvent.objects.filter(subject=subject, kind=kind).order_by("start")
    return [event.notes.split("\n") for event in events]


class TestCrew:
    """What a crew reads."""

    def test_where_who_with_what_and_what_to_mind(self, plan):
        """One line each, cautions last, the yard's address as the place."""
        put(plan, "amend-soil", 22, machines=["stand-on-loader-narrow"])
        publish_plan(plan, now=NOW)
        assert notes("crew:green-crew") == [
            [
                "Bed: 200 ft²",
                "Green crew, 3 people",
                "Machine: Stand-on loader, narrow",
                "Way in: Gate on the left, 48 in",
                "Take care:",
                "- Stay out of the root zone of every tree that stays, with spade, fill and wheel, "
                "unless an arborist agrees. Local ordinance may ask for more.",
                "- Give notice, wait for the marks, and use hand tools beside a mark: 24 in each side "
                "in some states. State law decides.",
            ]
        ]
        event = CalendarEvent.objects.get(subject="crew:green-crew", kind="work")
        assert event.place == "3 Finch Street, Asheville, NC"

    def test_in_spanish_where_the_crew_reads_it(self, plan):
        """Title and notes; what people typed stays as it is."""
        Crew.objects.update(language="es")
        put(plan, "amend-soil", 22, machines=["stand-on-loader-narrow"])
        publish_plan(plan, now=NOW)
        event = CalendarEvent.objects.get(subject="crew:green-crew", kind="work")
        assert event.title == "3 Finch Street: Aflojar y mejorar la tierra, bed"
        assert event.notes.split("\n")[:5] == [
            "Bed: 200 ft²",
            "Green crew, 3 personas",
            "Máquina: Stand-on loader, narrow",
            "Entrada: Gate on the left, 48 in",
            "Tenga cuidado:",
        ]
        assert "arborista" in event.notes

    def test_one_person_is_no_people(self, plan):
        """Plain speech."""
        put(plan, "plant-shrubs", 22, people=1)
        publish_plan(plan, now=NOW)
        assert notes("crew:green-crew")[0][1] == "Green crew, 1 person"

    def test_another_crew_in_the_yard_is_named_on_that_day_only(self, plan):
        """Green on Monday and Wednesday; Ground comes on Wednesday."""
        put(plan, "plant-shrubs", 22, 24)
        put(plan, "protect-site", 24, crew="ground-crew")
        publish_plan(plan, now=NOW)
        told = ["Also in this yard: Ground crew" in lines for lines in notes("crew:green-crew")]
        assert told == [False, True]
        assert "Also in this yard: Green crew" in notes("crew:ground-crew")[0]

    def test_a_delivery_is_told_to_whoever_is_there_that_day(self, plan):
        """Shrubs are planted from Tuesday; they come on Tuesday."""
        work = put(plan, "plant-shrubs", 23, 24).activity
        put(plan, "protect-site", 23, crew="ground-crew")
        Delivery.objects.create(job=work.job, activity=work, name="Twelve hollies")
        publish_plan(plan, now=NOW)
        for subject in ("crew:green-crew", "crew:ground-crew"):
            assert "Delivery due Tue 23 Jun: Twelve hollies" in notes(subject)[0]

    def test_what_has_arrived_is_not_due(self, plan):
        """The hollies stand in the yard already."""
        work = put(plan, "plant-shrubs", 23).activity
        arrived = date(2026, 6, 15)
        Delivery.objects.create(job=work.job, activity=work, name="Hollies", arrived_on=arrived)
        publish_plan(plan, now=NOW)
        assert "Hollies" not in "".join(notes("crew:green-crew")[0])
        assert notes("crew:green-crew", "delivery") == []


class TestMachine:
    """What is read in a machine's calendar."""

    def test_where_it_stands_and_who_runs_it(self, plan):
        """The crew with its lead, in the title too."""
        put(plan, "dig-out", 22, crew="ground-crew", machines=["mini-excavator-17-ton"])
        publish_plan(plan, now=NOW)
        event = CalendarEvent.objects.get(subject="machine:mini-excavator-17-ton")
        assert (event.title, event.place) == (
            "3 Finch Street: Dig out, front path (Ground crew)",
            "3 Finch Street, Asheville, NC",
        )
        assert event.notes.split("\n")[:2] == [
            "Operator: Ground crew, led by Ines Farrow",
            "Front path: 2.2 yd³",
        ]


class TestVisits:
    """Deliveries and inspections: timed, in the calendar of the crew that must be there."""

    def test_a_delivery_comes_when_the_crew_starts(self, plan):
        """Work begins at 11; the truck is met at 7, and two hours are kept for it."""
        work = put(plan, "plant-shrubs", 23, hours=(11, 15)).activity
        Delivery.objects.create(job=work.job, activity=work, name="Twelve hollies")
        publish_plan(plan, now=NOW)
        event = CalendarEvent.objects.get(kind="delivery")
        assert (event.subject, event.start, event.end, event.all_day) == (
            "crew:green-crew",
            new_york(6, 23, 7),
            new_york(6, 23, 9),
            False,
        )
        assert (event.title, event.notes) == (
            "Delivery to 3 Finch Street: Twelve hollies",
            "Needed for: Plant shrubs, bed\nWay in: Gate on the left, 48 in",
        )

    def test_a_delivery_moves_with_its_work(self, plan):
        """Same event, higher sequence, and a line that says what it was."""
        work = put(plan, "plant-shrubs", 23).activity
        Delivery.objects.create(job=work.job, activity=work, name="Twelve hollies")
        publish_plan(plan, now=NOW)
        before = CalendarEvent.objects.get(kind="delivery")
        put(plan, "plant-shrubs", 25)
        publish_plan(plan, now=WEDNESDAY)
        after = CalendarEvent.objects.get(kind="delivery")
        assert (after.uid, after.sequence, after.start) == (before.uid, 1, new_york(6, 25, 7))
        assert after.changed == "Changed Wed 17 Jun: was Tue 23 Jun, 7:00 am to 9:00 am."

    @pytest.fixture
    def inspection(self, plan):
        """An inspector on Wednesday from nine to eleven, between digging and laying."""
        job = Job.objects.get()
        visit = Activity.objects.create(
            job=job, key="look", name="Base inspection", template="look", skill="inspection",
            quantity=1, unit="days", days_low=1, days=1, days_high=1, people=1, material="paper",
        )  # fmt: skip
        put(plan, "look", 24, crew=None, hours=(9, 11))
        return visit

    def linked(self, before, after):
        """Tie two works together."""
        Link.objects.create(job=before.job, before=before, after=after)

    def test_an_inspection_is_met_by_the_crew_whose_work_is_looked_at(self, plan, inspection):
        """Ground dug on Tuesday, Stone goes on on Thursday: Ground stands by."""
        dig = put(plan, "dig-out", 23, crew="ground-crew")
        lay = put(plan, "dg-path", 25, crew="stone-crew")
        self.linked(dig.activity, inspection)
        self.linked(inspection, lay.activity)
        publish_plan(plan, now=NOW)
        event = CalendarEvent.objects.get(kind="inspection")
        assert (event.subject, event.title, event.start, event.end) == (
            "crew:ground-crew",
            "3 Finch Street: Base inspection",
            new_york(6, 24, 9),
            new_york(6, 24, 11),
        )
        assert event.notes.split("\n")[0] == (
            "Ground crew stands by; work goes on once it has passed."
        )

    def test_one_that_took_place_before_its_day_is_not_waited_for(self, plan, inspection):
        """Passed on Tuesday 16 June: nobody stands by on the 24th."""
        Activity.objects.filter(pk=inspection.pk).update(
            started_at=NOW - timedelta(hours=2), finished_at=NOW
        )
        assert [draft.kind for draft in plan_drafts(plan)] == []

    def test_else_by_the_crew_that_goes_on_after_it(self, plan, inspection):
        """Nobody of ours worked before."""
        lay = put(plan, "dg-path", 25, crew="stone-crew")
        self.linked(inspection, lay.activity)
        publish_plan(plan, now=NOW)
        assert CalendarEvent.objects.get(kind="inspection").subject == "crew:stone-crew"

    def test_else_it_stands_where_everything_stands(self, plan, inspection):
        """Tied to nobody's work: in the calendar of everything alone, and there once."""
        publish_plan(plan, now=NOW)
        assert CalendarEvent.objects.get(kind="inspection").subject == "all"
        body = feed_body("all", NOW)
        titles = [part.one("SUMMARY").text for part in read_strictly(body).inside("VEVENT")]
        assert titles == ["3 Finch Street: Base inspection"]


class TestMoved:
    """The line that tells whoever looks what it was before."""

    def test_it_stands_first_and_raises_the_sequence(self, plan):
        """Days moved from Monday and Tuesday to Thursday."""
        put(plan, "plant-shrubs", 22, 23)
        publish_plan(plan, now=NOW)
        put(plan, "plant-shrubs", 25)
        publish_plan(plan, now=WEDNESDAY)
        (part,) = [
            part
            for part in read_strictly(feed_body("crew:green-crew", NOW)).inside("VEVENT")
            if "shrubs" in part.one("SUMMARY").text
        ]
        assert part.one("DESCRIPTION").text.split("\n")[0] == (
            "Changed Wed 17 Jun: was Mon 22 Jun to Tue 23 Jun."
        )
        assert part.one("SEQUENCE").value == "1"

    def test_publishing_again_changes_nothing(self, plan):
        """The line stays, with its day; no sequence rises."""
        put(plan, "plant-shrubs", 22)
        publish_plan(plan, now=NOW)
        put(plan, "plant-shrubs", 25)
        publish_plan(plan, now=WEDNESDAY)
        before = list(CalendarEvent.objects.order_by("uid").values())
        publish_plan(plan, now=WEDNESDAY + timedelta(days=1))
        assert list(CalendarEvent.objects.order_by("uid").values()) == before

    def test_cancelled_and_on_again_are_told_with_their_day(self, plan):
        """Off on Wednesday, on again on Thursday."""
        row = put(plan, "plant-shrubs", 22)
        publish_plan(plan, now=NOW)
        row.delete()
        publish_plan(plan, now=WEDNESDAY)
        event = CalendarEvent.objects.get(kind="work")
        assert event.changed == "Changed Wed 17 Jun: cancelled."
        put(plan, "plant-shrubs", 22)
        publish_plan(plan, now=WEDNESDAY + timedelta(days=1))
        event.refresh_from_db()
        assert (event.changed, event.sequence) == ("Changed Thu 18 Jun: on again.", 2)


class TestElsewhere:
    """A job in another zone than the office."""

    def test_events_are_told_in_the_zone_of_the_yard(self, plan):
        """Planned from New York, built in Denver: seven there is nine here."""
        Job.objects.update(zone="America/Denver")
        put(plan, "plant-shrubs", 22, hours=(9, 13))
        publish_plan(plan, now=NOW)
        event = CalendarEvent.objects.get(kind="work")
        assert event.start == datetime(2026, 6, 22, 9, tzinfo=NEW_YORK)
        (part,) = [
            part
            for part in read_strictly(feed_body("crew:green-crew", NOW)).inside("VEVENT")
            if "shrubs" in part.one("SUMMARY").text
        ]
        start = part.one("DTSTART")
        assert (start.parameters, start.value) == ({"TZID": "America/Denver"}, "20260622T070000")

    def test_company_is_counted_by_days_of_the_yard(self, plan):
        """An evening in Honolulu ends on the next day in UTC, and is Monday's company all the same."""
        Job.objects.update(zone="Pacific/Honolulu")
        put(plan, "plant-shrubs", 22, hours=(13, 23))
        put(plan, "protect-site", 22, crew="ground-crew", hours=(13, 15))
        put(plan, "dig-out", 23, crew="stone-crew", hours=(13, 15))
        publish_plan(plan, now=NOW)
        assert "Also in this yard: Ground crew" in notes("crew:green-crew")[0]


class TestCodes:
    """A gate code never reaches a calendar."""

    @pytest.mark.parametrize(
        ("written", "told"),
        [
            ("Gate on the left, 48 in", "Gate on the left, 48 in"),
            ("The gate is 120 in wide; drive of 10 ft", "The gate is 120 in wide; drive of 10 ft"),
            ("Gate code 4471. Dog in the yard", "Dog in the yard"),
            ("Gate 4471#; ring first", "ring first"),
            ("Code for the gate, 4471. Latch sticks", "Latch sticks"),
            ("Keypad on the left. 4 4 7 1", ""),
            ("Código 2288; perro", "perro"),
            ("Side door: 9031", ""),
            ("PIN 12\nDog", "Dog"),
            ("", ""),
        ],
    )
    def test_a_clause_that_may_hold_one_is_left_out_and_that_is_told(self, written, told):
        """Measures stay; rather a clause too many is lost than a code let through."""
        lost = "There is a code: ask the office for it."
        expected = told if told == written else f"{told}\n{lost}".strip()
        assert without_codes(written) == expected

    def test_no_event_of_any_calendar_has_it(self, plan):
        """Crew, machine, delivery: written by somebody who did not know better."""
        Job.objects.update(access_notes="Gate code 4471; dog")
        put(plan, "dig-out", 22, crew="ground-crew", machines=["mini-excavator-17-ton"])
        work = put(plan, "plant-shrubs", 23).activity
        Delivery.objects.create(job=work.job, activity=work, name="Hollies. Gate code 4471")
        publish_plan(plan, now=NOW)
        told = "".join(
            event.title + event.place + event.notes for event in CalendarEvent.objects.all()
        )
        assert "4471" not in told
        assert told.count("dog") == 4


def test_queries_do_not_grow_with_the_plan(plan, django_assert_num_queries):
    """Rows, machines, units, deliveries; what crews store besides is counted in its own tests."""
    put(plan, "plant-shrubs", 22)
    with django_assert_num_queries(4):
        plan_drafts(plan)
    put(plan, "protect-site", 22, crew="ground-crew")
    put(plan, "dig-out", 23, crew="ground-crew", machines=[Machine.objects.first().slug])
    with django_assert_num_queries(4):
        assert len(plan_drafts(plan)) == 5
