"""The company's settings, for its owners: Tuesday 16 June 2026."""

from __future__ import annotations

from datetime import date, time

import pytest
from django.urls import reverse

from crews.models import Crew, DayHours, Role, TimeOff
from jobs.models import Company, HistoryEntry
from jobs.services.pages.crews import company_off
from tests.office import NOW, signed_in

pytestmark = pytest.mark.django_db


def told(**changes: str) -> dict[str, str]:
    """The company's form as posted."""
    facts = {
        "name": "Quillback Yards", "state": "OR", "zone": "America/Los_Angeles", "phone": "555-0110",
        "units": "metric", "starts": "06:30", "lunch": "45", "finding_days": "5",
        "revision": str(Company.objects.get().revision),
    }  # fmt: skip
    return facts | changes


def test_everything_is_kept_and_stands_in_the_record(owner):
    """Name, place, units and the hours of most days; before and after."""
    owner.post(reverse("settings"), told())
    company, hours = Company.objects.get(), DayHours.objects.get()
    assert (company.name, company.state, company.zone) == (
        "Quillback Yards", "OR", "America/Los_Angeles",
    )  # fmt: skip
    assert (company.phone, company.units) == ("555-0110", "metric")
    assert (hours.starts, hours.lunch, hours.crew) == (time(6, 30), 45, None)
    entry = HistoryEntry.objects.get(what="company changed")
    assert (entry.before["name"], entry.after["day begins"]) == ("Thistlewick Yards", "06:30")
    page = owner.get(reverse("settings")).content.decode()
    assert "changed the company&#x27;s settings" in page
    assert 'value="06:30"' in page
    assert ">meters, millimeters, kilograms<" in page


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"name": " "}, "id_name", "missing"),
        ({"name": "x" * 121}, "id_name", "At most 120"),
        ({"state": "ZZ"}, "id_state", "none of the choices"),
        ({"zone": "Mars/Olympus"}, "id_zone", "none of the choices"),
        ({"units": "cubits"}, "id_units", "none of the choices"),
        ({"phone": "5" * 41}, "id_phone", "At most 40"),
        ({"starts": "noon"}, "id_starts", "A time of day"),
        ({"starts": "03:59"}, "id_starts", "between 4:00 and 11:00"),
        ({"starts": "11:01"}, "id_starts", "between 4:00 and 11:00"),
        ({"lunch": "-1"}, "id_lunch", "At least 0."),
        ({"lunch": "9" * 30}, "id_lunch", "At most 120."),
        ({"finding_days": "61"}, "id_finding_days", "At most 60."),
    ],
)
def test_what_is_wrong_is_told_beside_its_field(owner, changes, field, words):
    """And nothing is stored."""
    answer = owner.post(reverse("settings"), told(**changes))
    wrong = answer.content.decode().partition(f'id="{field}_wrong">')[2].partition("</p>")[0]
    assert (answer.status_code, words in wrong) == (422, True)
    assert Company.objects.get().name == "Thistlewick Yards"


def test_nothing_hostile_is_run(owner):
    """A name is text."""
    owner.post(reverse("settings"), told(name="<script>alert(1)</script>"))
    assert "<script>alert" not in owner.get(reverse("settings")).content.decode()


def test_the_second_of_two_editors_is_told(owner):
    """The first one's name stays."""
    stale = told(name="Second Yards")
    owner.post(reverse("settings"), told())
    answer = owner.post(reverse("settings"), stale, follow=True)
    assert "nothing was overwritten" in answer.content.decode()
    assert Company.objects.get().name == "Quillback Yards"


@pytest.mark.parametrize("role", [Role.SCHEDULER, Role.LEAD, Role.VIEWER])
def test_owners_only(owner, role):
    """Others are told, and have no link to it."""
    other = signed_in(role)
    assert other.get(reverse("settings")).status_code == 403
    assert other.post(reverse("settings"), told()).status_code == 403
    assert reverse("settings") not in other.get(reverse("jobs")).content.decode()
    assert reverse("settings") in owner.get(reverse("jobs")).content.decode()


class TestHours:
    """Seasons and crews of their own."""

    SUMMER = {
        "hours-first_month": "6", "hours-first_day": "1", "hours-last_month": "8",
        "hours-starts": "06:00", "hours-lunch": "30",
    }  # fmt: skip

    def test_summer_hours_are_kept_and_taken_out(self, owner):
        """To the end of August where no day is given."""
        owner.post(reverse("add-hours"), self.SUMMER)
        row = DayHours.objects.get()
        assert (row.last_month, row.last_day, row.weekdays) == (8, 31, 127)
        page = owner.get(reverse("settings")).content.decode()
        assert "Everybody, 1 Jun – 31 Aug" in page
        owner.post(reverse("remove-hours", args=[row.pk]))
        assert not DayHours.objects.exists()
        assert [entry.what for entry in HistoryEntry.objects.all()[:2]] == [
            "hours taken out",
            "hours told",
        ]

    def test_a_crew_on_fridays(self, owner):
        """All the year, two weekdays."""
        crew = Crew.objects.get(slug="green-crew")
        facts = {"hours-crew": str(crew.pk), "hours-weekdays": ["3", "4"]}
        owner.post(reverse("add-hours"), facts | {"hours-starts": "06:30", "hours-lunch": "30"})
        page = owner.get(reverse("settings")).content.decode()
        assert "Green crew, all the year, Thu Fri" in page

    @pytest.mark.parametrize(
        ("changes", "words"),
        [
            ({"hours-last_month": ""}, "a first and a last day"),
            ({"hours-first_month": "13"}, "none of the choices"),
            ({"hours-first_day": "31"}, "Jun has 30 days"),
            ({"hours-first_day": "0"}, "At least 1."),
            ({"hours-starts": "20:00"}, "between 4:00 and 11:00"),
            ({"hours-weekdays": ["9"]}, "none of the choices"),
            ({"hours-crew": "999"}, "none of the choices"),
        ],
    )
    def test_what_is_wrong_is_told(self, owner, changes, words):
        """And nothing is stored."""
        answer = owner.post(reverse("add-hours"), self.SUMMER | changes)
        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert not DayHours.objects.exists()


def test_holidays_of_the_state_are_closed_once(owner):
    """Of the six usual ones left this year and next, those not closed yet; a second time none."""
    before = TimeOff.objects.count()
    owner.post(reverse("close-holidays"), {"holidays": "usual"})
    closed = set(TimeOff.objects.values_list("first", flat=True))
    assert date(2026, 11, 26) in closed
    count = TimeOff.objects.count()
    assert count > before
    owner.post(reverse("close-holidays"), {"holidays": "usual"})
    assert TimeOff.objects.count() == count
    assert owner.post(reverse("close-holidays"), {"holidays": "mine"}).status_code == 422


def test_days_off_of_another_year_say_which(owner):
    """The fair of this year and of the next are told apart."""
    TimeOff.objects.all().delete()
    for year in (2026, 2027):
        TimeOff.objects.create(first=date(year, 7, 1), last=date(year, 7, 2), why="Fair")
    assert [off.when for off in company_off(NOW)] == ["Wed 1 – Thu 2 Jul", "Thu 1 – Fri 2 Jul 2027"]
