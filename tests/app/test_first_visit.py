"""An empty database becomes a company, and the demo goes out again."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from crews.models import Crew, Machine, Person, Role, TimeOff
from jobs.models import Company, Job, Plan
from jobs.services.company.first_visit import CREWS, MACHINES
from jobs.services.company.holidays import holidays_of
from jobs.services.numbers.library import current_library
from jobs.services.planning.plan_jobs import plan_jobs
from tests.office import NOW, open_office, signed_in, small_job, the_demo

pytestmark = pytest.mark.django_db
WEEK = {f"day_{day}": "all day" for day in ("monday", "tuesday", "wednesday", "thursday")} | {
    "day_friday": "morning", "day_saturday": "off", "day_sunday": "off",
}  # fmt: skip
FACTS = {
    "name": "Quillback Yards", "state": "NC", "zone": "America/New_York", "holidays": "usual",
    "crews": [crew.key for crew in CREWS], "machines": [machine.key for machine in MACHINES],
    "begin": "sample", **WEEK,
}  # fmt: skip


@pytest.fixture(autouse=True)
def june(settings):
    """It is Tuesday 16 June 2026."""
    settings.TODAY = "2026-06-16"


class TestSetUp:
    """One page, one company."""

    def test_an_owner_is_led_to_it_and_others_wait(self):
        """The first screen of an empty database."""
        assert signed_in().get("/").url == reverse("first-visit")
        assert signed_in(Role.VIEWER).get("/").status_code == 200
        assert signed_in(Role.LEAD).get(reverse("first-visit")).status_code == 403

    def test_company_week_holidays_crews_machines_and_a_yard(self):
        """Everything that was ticked is there, and the yard opens."""
        answer = signed_in().post(reverse("first-visit"), FACTS)
        assert answer.url == reverse("job", args=["sample-yard"])
        company = Company.objects.get()
        assert (company.name, company.state, company.demo) == ("Quillback Yards", "NC", False)
        assert [crew.name for crew in Crew.objects.all()] == [
            "Green crew",
            "Ground crew",
            "Stone crew",
        ]
        assert {crew.week.masks for crew in Crew.objects.all()} == {(15, 15, 15, 15, 3, 0, 0)}
        assert Machine.objects.count() == 5
        off = TimeOff.objects.filter(first__year=2026).values_list("first", "why")
        assert list(off) == [
            (date(2026, 7, 3), "Independence Day (observed)"),
            (date(2026, 7, 4), "Independence Day"),
            (date(2026, 9, 7), "Labor Day"),
            (date(2026, 11, 26), "Thanksgiving Day"),
            (date(2026, 12, 25), "Christmas Day"),
        ]

    def test_the_sample_yard_can_be_planned_at_once(self):
        """By the usual crews and machines, with nothing in the way."""
        signed_in().post(reverse("first-visit"), FACTS)
        job = Job.objects.get()
        assert job.starts_on == date(2026, 6, 22)
        page = signed_in().get(reverse("job", args=[job.slug])).content.decode()
        assert "In the way" not in page
        made = plan_jobs(now=NOW, by="test")
        assert made.plan.jobs.get().job == job

    def test_a_blank_sheet_begins_with_a_new_job(self):
        """Nothing ticked, nothing made but the company."""
        bare = FACTS | {"crews": [], "machines": [], "holidays": "none", "begin": "blank"}
        assert signed_in().post(reverse("first-visit"), bare).url == reverse("new-job")
        counts = [t.objects.count() for t in (Company, Crew, Machine, TimeOff, Job)]
        assert counts == [1, 0, 0, 0, 0]

    def test_sent_twice_is_one_company(self):
        """The second click changes nothing."""
        client = signed_in()
        client.post(reverse("first-visit"), FACTS)
        answer = client.post(reverse("first-visit"), FACTS | {"name": "Another"})
        assert answer.url == reverse("tomorrow")
        assert Company.objects.get().name == "Quillback Yards"
        assert (Crew.objects.count(), Job.objects.count()) == (3, 1)

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"name": "  "}, "missing"),
            ({"name": "x" * 121}, "At most 120"),
            ({"state": "ZZ"}, "none of the choices"),
            ({"zone": "Mars/Crater"}, "none of the choices"),
            ({"crews": ["pirates"]}, "none of the choices"),
            ({"begin": "anywhere"}, "none of the choices"),
            (dict.fromkeys(WEEK, "off"), "Nobody works on any day"),
        ],
    )
    def test_what_is_wrong_is_told(self, told, words):
        """With 422, and nothing is made."""
        answer = signed_in().post(reverse("first-visit"), FACTS | told)
        assert (answer.status_code, words in answer.content.decode()) == (422, True)
        assert Company.objects.count() == 0

    def test_holidays_are_shown_before_they_are_kept(self):
        """A part for htmx, by state and choice."""
        answer = signed_in().get(
            reverse("first-visit"),
            {"state": "TX", "holidays": "all"},
            headers={"HX-Request": "true", "HX-Target": "holidays"},
        )
        page = answer.content.decode()
        assert page.strip().startswith('<div id="holidays"')
        assert "Veterans Day" in page

    @pytest.mark.parametrize("page", ["tomorrow", "jobs", "plan", "crews", "machines"])
    def test_every_page_of_a_blank_company_says_the_next_step(self, page):
        """A link to what comes next on each."""
        client = signed_in()
        client.post(
            reverse("first-visit"),
            FACTS | {"crews": [], "machines": [], "holidays": "none", "begin": "blank"},
        )
        told = client.get(reverse(page)).content.decode().partition("<main")[2]
        assert any(reverse(name) in told for name in ("new-job", "new-crew", "new-machine"))


def test_usual_crews_can_do_all_that_is_not_left_to_others():
    """Every kind of work of our own has a crew with enough people for it."""
    library = current_library()
    able: dict[str, int] = {}
    for crew in CREWS:
        for skill, people in crew.skills.items():
            able[skill] = max(able.get(skill, 0), people)
    own = [t for t in library.templates.values() if not library.crews[t.crew].outside]
    short = [t.key for t in own if able.get(library.crews[t.crew].skill, 0) < t.least]
    assert short == []


def test_usual_machines_are_kinds_the_library_counts():
    """Each of the five is a kind of which capacity is kept."""
    kinds = current_library().machines
    assert [kinds[machine.key].counted for machine in MACHINES] == [True] * 5


class TestHolidays:
    """From the holidays library, by state; dates by the calendar of 2026 and 2027."""

    def test_a_state_keeps_days_of_its_own(self):
        """North Carolina keeps Good Friday, in 2026 the third of April."""
        days = [holiday.day for holiday in holidays_of("NC", "all", date(2026, 1, 1))]
        assert date(2026, 4, 3) in days

    def test_none_is_none(self):
        """Some crews work through."""
        assert holidays_of("NC", "none", date(2026, 1, 1)) == ()

    def test_days_gone_by_are_not_told(self):
        """From the middle of December on, Christmas is what is left of the year."""
        left = [h for h in holidays_of("NC", "usual", date(2026, 12, 15)) if h.day.year == 2026]
        assert [holiday.name for holiday in left] == ["Christmas Day"]


class TestRemoveDemo:
    """The invented company goes, a real one stays."""

    def test_the_database_is_as_new(self):
        """No job, plan, crew, machine or sign-in of the demo is left."""
        the_demo()
        call_command("remove_demo")
        tables = (Company, Job, Plan, Crew, Machine, TimeOff, Person)
        assert [table.objects.count() for table in tables] == [0] * len(tables)

    def test_a_real_company_is_left_alone(self):
        """With its jobs."""
        Company.objects.create(name="Real")
        with pytest.raises(CommandError, match="belongs to Real"):
            call_command("remove_demo")

    def test_jobs_of_ones_own_are_not_thrown_away_unasked(self):
        """They are named, with the way out."""
        open_office()
        small_job()
        with pytest.raises(CommandError, match="3 Finch Street: set up by you"):
            call_command("remove_demo")
        assert Job.objects.count() == 1
        call_command("remove_demo", "--with-mine")
        assert Job.objects.count() == 0

    def test_without_a_demo_there_is_nothing_to_remove(self):
        """And it is said."""
        with pytest.raises(CommandError, match="There is no demo"):
            call_command("remove_demo")
