"""What came late has its own row, and why a finish moved adds up, on a letter and for the homeowner."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import Crew, CrewMember, Machine, TimeOff
from jobs.forms.allowance import AllowanceForm
from jobs.models import Change, Delivery, FinishChange, Job, Plan
from jobs.services.causes.late import come_later, out, take_back_change
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.moved import read_ledger, read_moved
from jobs.services.sky.forecast import keep_answer
from jobs.services.storm.accept_storm import accept_answer, undo
from tests.app.test_weather_windows import week
from tests.office import NOW, open_office, published_yard, signed_in, small_job
from tests.storms import BY, EASTERN, HOLIDAYS, first_day, rain, steady

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first work with a crew is the day that gets rained out."""
    return published_yard()


class TestLate:
    """Machines, people, deliveries and decisions write their own rows and can be taken back."""

    def walk_through(self):
        """Where the last work of the yard stands in the published plan."""
        rows = Plan.objects.get(state="published").rows
        return rows.get(activity__template="walk-through")

    def test_people_out_close_their_crew(self, job):
        """Time off is written, and gone again."""
        crew, day = Crew.objects.get(slug="green-crew"), first_day()
        change = out(crew, day, day, why="a wedding", by=BY, now=NOW)
        assert TimeOff.objects.get(crew__isnull=False).crew == crew
        assert change.why.endswith("a wedding")
        take_back_change(change, by=BY, now=NOW)
        assert (TimeOff.objects.count(), Change.objects.count()) == (HOLIDAYS, 0)

    @pytest.mark.parametrize(
        ("table", "field", "cause"),
        [(Machine, "machine", "machine"), (CrewMember, "member", "people")],
    )
    def test_a_machine_and_one_person(self, job, table, field, cause):
        """Each is told by its own cause."""
        subject = table.objects.all()[0]
        change = out(subject, first_day(), first_day(), why="", by=BY, now=NOW)
        assert TimeOff.objects.filter(**{field: subject}).count() == 1
        assert change.cause == cause

    def test_a_late_delivery_moves_its_work_and_the_ledger_names_it(self, job):
        """The walk-through waits two weeks for a bench; all of it is the delivery's."""
        last = self.walk_through()
        delivery = Delivery.objects.create(job=job, name="Bench", activity=last.activity)
        day = last.start.astimezone(EASTERN).date() + timedelta(days=14)
        come_later(delivery, day, why="lost on the way", by=BY, now=NOW)
        accept_answer(steady(), by=BY, now=NOW)
        change = FinishChange.objects.get()
        assert (change.becomes - change.was).days == 14
        assert [(s["cause"], s["days"]) for s in change.shares] == [("delivery", 14)]
        delivery.refresh_from_db()
        assert delivery.earliest == day, "reckoning shares left the table as it was"

    def test_undo_takes_the_lateness_back(self, job):
        """The delivery may come as before."""
        last = self.walk_through()
        delivery = Delivery.objects.create(job=job, name="Bench", activity=last.activity)
        come_later(delivery, date(2026, 8, 3), why="", by=BY, now=NOW)
        accept_answer(steady(), by=BY, now=NOW)
        undo(by=BY, now=NOW)
        delivery.refresh_from_db()
        assert (delivery.earliest, Change.objects.count()) == (None, 0)


class TestMoved:
    """Why the date moved."""

    def test_rain_is_told_and_adds_up(self, job):
        """From the first finish to today's, in calendar days."""
        rain(3)
        accept_answer(steady(), by=BY, now=NOW)
        ledger, plans = read_ledger(job)
        assert plans == (2,)
        assert sum(days for _, days in ledger.by_cause()) == (ledger.today - ledger.first).days
        assert ledger.days > 0
        page = read_moved(job, NOW.date())
        thursday_friday_monday = ["rain", "rain", "wet ground drying out"]
        assert [day.cause for day in page.weather] == thursday_friday_monday

    def test_weekends_are_no_weather_days(self, job):
        """Clay stays wet from Thursday over the weekend; only working days count."""
        job.soil = "clay"
        job.save()
        thursday = date(2026, 6, 25)
        lose_days(Lost(thursday, thursday, rain_in=Decimal("0.5")), by=BY, now=NOW)
        told = [day.day for day in read_moved(job, NOW.date()).weather]
        assert told == ["Thu 25 Jun 2026", "Fri 26 Jun 2026", "Mon 29 Jun 2026"]

    def test_what_the_forecast_said_of_a_lost_day_is_kept_with_its_source_and_hour(self, job):
        """12 mm at 9 in 10 were forecast for Thursday; a later reading does not change what was on file."""
        day = date(2026, 6, 18)
        job.latitude, job.longitude = Decimal("35.6"), Decimal("-82.55")
        job.save()
        keep_answer(job, week(day), NOW)
        lose_days(Lost(day, day, rain_in=Decimal("0.7")), by=BY, now=NOW)
        keep_answer(job, week(), NOW + timedelta(hours=6))
        told = read_moved(job, NOW.date()).weather[0]
        assert told.day == "Thu 18 Jun 2026"
        assert told.sky == (
            "0.7 in of rain in all, as test said; forecast of Tue 16 Jun 2026 6:00 pm: "
            "90 % chance of rain, 0.47 in (Forecast: US National Weather Service, public domain)"
        )

    def test_a_lost_day_without_a_forecast_says_so(self, job):
        """Nothing is made up."""
        rain(1)
        assert read_moved(job, NOW.date()).weather[0].sky == "no forecast on file"

    def test_weather_days_are_counted_against_a_contract(self, job):
        """A district's allowance, 29 days a year: of three lost in June one is expected, two are beyond.

        Source: a contract allowance given to us, January to December (from memory, not found again); only
        what is beyond it counts (ER 415-1-15 method).
        """
        district = "7 7 4 3 1 1 0 0 0 2 2 2"
        form = AllowanceForm({"allowed": district})
        assert form.is_valid()
        assert sum(form.cleaned_data["allowed"]) == 29
        rain(3)
        page = read_moved(job, NOW.date(), form.cleaned_data["allowed"])
        assert page.months == (("June 2026", 3, 1, 2),)
        accept_answer(steady(), by=BY, now=NOW)
        address = reverse("moved", args=[job.slug])
        told = signed_in().get(address, {"allowed": district.replace(" ", ", ")}).content.decode()
        assert '<td>June 2026</td><td class="number">3</td>' in told
        wrong = signed_in().get(address, {"allowed": "7 7 4"}).content.decode()
        assert "Give twelve whole numbers" in wrong

    def test_undo_brings_the_ledger_back_to_nothing(self, job):
        """What the storm moved, undoing moves back."""
        rain(3)
        accept_answer(steady(), by=BY, now=NOW)
        undo(by=BY, now=NOW)
        ledger, _ = read_ledger(job)
        assert ledger.days == 0
        assert dict(ledger.by_cause())["undone"] < 0

    def test_a_yard_never_published_has_no_ledger(self):
        """Its page says so."""
        open_office()
        assert read_ledger(small_job()) is None

    def test_the_homeowner_reads_when_and_why(self, job):
        """In one sentence, without crews."""
        rain(3)
        accept_answer(steady(), by=BY, now=NOW)
        told = read_homeowner(job, NOW).changed
        assert told.startswith("Changed on Tue 16 Jun: Your yard is now planned to be finished")
        assert "because of rain" in told
        assert "crew" not in told.lower()
