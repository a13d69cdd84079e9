"""Office pages: who may see and change them, what they say, and how many questions they ask."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from crews.models import Role, TimeOff
from jobs.models import Activity, Company, Job, Plan, PlanRow
from jobs.services.files.load_job import load_job
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.sky.outlook import say_first_outlook
from tests.office import (
    NOW,
    SLUG,
    SMALL_YARD,
    open_office,
    published_plan,
    published_yard,
    signed_in,
    the_demo,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

pytestmark = pytest.mark.django_db
READ = (
    "tomorrow",
    "jobs",
    "plan",
    "odds",
    "health",
    "what-if",
    "crews",
    "machines",
    "crews:calendars",
)
OF_A_JOB = ("job", "sheet", "job-health", "activities", "numbers", "record")


@pytest.fixture
def job():
    """A small yard, planned and published."""
    return published_yard()


def addresses(job: Job) -> list[str]:
    """Every office page one can look at."""
    uid = job.activities.filter(retired=False)[0].uid
    return [
        *(reverse(name) for name in READ),
        *(reverse(name, args=[job.slug]) for name in OF_A_JOB),
        reverse("activity", args=[job.slug, uid]),
        reverse("first-finish", args=[job.slug]),
        reverse("sooner", args=[job.slug]),
        reverse("export-job", args=[job.slug]),
        reverse("rough"),
        f"{reverse('sheet', args=[job.slug])}?open={uid}",
        f"{reverse('sheet', args=[job.slug])}?by=trade",
    ]


def edits(job: Job) -> list[str]:
    """Every office page one can change something with."""
    item = job.items.all()[0]
    return [
        reverse("new-job"),
        reverse("yard", args=[job.slug]),
        reverse("new-item", args=[job.slug]),
        reverse("item", args=[job.slug, item.uid]),
        reverse("new-crew"),
        reverse("edit-crew", args=["ground-crew"]),
        reverse("new-machine"),
        reverse("edit-machine", args=["plate-compactor"]),
    ]


class TestAccess:
    """Everybody signed in may look; owners and schedulers may change; strangers sign in."""

    def test_strangers_are_sent_to_sign_in(self, job):
        """No page, no fragment, no change without a sign-in."""
        for address in [*addresses(job), *edits(job)]:
            answer = Client().get(address)
            assert (answer.status_code, answer.url.partition("?")[0]) == (302, "/sign-in/")

    @pytest.mark.parametrize("role", list(Role))
    def test_every_role_may_look(self, job, role):
        """Owner, scheduler, lead and viewer."""
        client = signed_in(role)
        assert [client.get(a).status_code for a in addresses(job)] == [200] * len(addresses(job))

    @pytest.mark.parametrize(
        ("role", "status"),
        [(Role.OWNER, 200), (Role.SCHEDULER, 200), (Role.LEAD, 403), (Role.VIEWER, 403)],
    )
    def test_owner_and_scheduler_may_change(self, job, role, status):
        """The others are told that it is not theirs."""
        client = signed_in(role)
        assert [client.get(a).status_code for a in edits(job)] == [status] * len(edits(job))

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_nobody_else_plans_or_publishes(self, job, role):
        """A post by hand is refused too, and nothing has happened."""
        proposal = plan_jobs(now=NOW, by="test").plan
        client = signed_in(role)
        assert client.post(reverse("make-plan")).status_code == 403
        assert client.post(reverse("publish-plan", args=[proposal.number])).status_code == 403
        proposal.refresh_from_db()
        assert proposal.state == Plan.State.PROPOSED


class TestSignIn:
    """By e-mail address and password."""

    def test_a_wrong_password_is_told_without_telling_which(self, db):
        """The address stays typed."""
        answer = Client().post(
            reverse("sign-in"), {"username": "who@example.com", "password": "guess"}
        )
        assert "do not belong together" in answer.content.decode()
        assert 'value="who@example.com"' in answer.content.decode()


class TestEmpty:
    """A company with nothing yet is told the next step on every page."""

    @pytest.mark.parametrize(
        ("name", "told"),
        [
            ("tomorrow", "Add the first one"),
            ("jobs", "Set the first one up"),
            ("plan", "Nothing is published yet"),
            ("crews", "Add the first one"),
            ("machines", "Add the first one"),
        ],
    )
    def test_next_step(self, db, name, told):
        """No empty page."""
        Company.objects.create(name="Quillback Yards")
        assert told in signed_in().get(reverse(name)).content.decode()


class TestQueries:
    """The number of questions does not grow with the rows."""

    def counted(self, names: Iterable[str], *args: str) -> dict[str, int]:
        """How many questions each page asks of the database."""
        client, found = signed_in(), {}
        for name in names:
            with CaptureQueriesContext(connection) as asked:
                assert client.get(reverse(name, args=args)).status_code == 200
            found[name] = len(asked)
        return found

    def test_lists(self, job):
        """The same at one yard and at three."""
        asked = {"tomorrow": 18, "jobs": 8, "plan": 13, "crews": 20, "machines": 10}
        assert self.counted(asked) == asked
        for number in (5, 7):
            load_job(SMALL_YARD.replace("3 Finch", f"{number} Finch"), by="test", now=NOW)
        published_plan()
        assert self.counted(asked) == asked

    def test_pages_of_a_job(self, job):
        """The same at two things to build and at four."""
        asked = {
            "job": 19, "sheet": 20, "job-health": 29, "sooner": 28, "activities": 12,
            "numbers": 14, "record": 10,
        }  # fmt: skip
        assert self.counted(asked, job.slug) == asked
        more = SMALL_YARD + (
            '\n[[build]]\nwhat = "boulders"\nwhere = "Bed"\ncount = "4"\n'
            '\n[[build]]\nwhat = "mulch"\nwhere = "Bed"\n'
        )
        bigger = load_job(more.replace("3 Finch", "5 Finch"), by="test", now=NOW)
        published_plan()
        assert self.counted(asked, bigger.slug) == asked


class TestPlanPage:
    """Plan again, see what moves, publish."""

    def test_what_moves_is_listed_before_it_is_published(self, job):
        """A holiday moves work; the page names it with both dates."""
        row = Plan.objects.get().rows.filter(crew__isnull=False).order_by("start")[0]
        TimeOff.objects.create(first=row.start.date(), last=row.start.date())
        client = signed_in()
        client.post(reverse("make-plan"))
        page = client.get(reverse("plan")).content.decode()
        assert "is proposed" in page
        assert row.activity.name in page
        number = Plan.objects.get(state=Plan.State.PROPOSED).number
        client.post(reverse("publish-plan", args=[number]))
        assert Plan.objects.get(number=number).state == Plan.State.PUBLISHED

    def test_a_refused_plan_is_a_page_with_the_way_out(self, job):
        """Not an error trace: what is wrong and what to do."""
        proposal = plan_jobs(now=NOW, by="test").plan
        job.save()
        answer = signed_in().post(reverse("publish-plan", args=[proposal.number]))
        assert answer.status_code == 409
        assert "Something has changed" in answer.content.decode()
        assert "plan again" in answer.content.decode()


class TestOdds:
    """What the weather may take, where it comes from, and whether we were right."""

    def test_the_list_of_the_sheet_begins_with_what_is_to_come(self, job):
        """What is done is folded away below it."""
        done = job.activities.order_by("order")[0]
        Activity.objects.filter(pk=done.pk).update(
            started_at=NOW - timedelta(hours=8), finished_at=NOW - timedelta(hours=4)
        )
        page = signed_in().get(reverse("sheet", args=[SLUG])).content.decode()
        listed = page.partition('class="sheet-list"')[2].partition('class="legend"')[0]
        ahead, fold, over = listed.partition("<details>")
        address = reverse("activity", args=[SLUG, done.uid])
        assert (address in ahead, bool(fold), address in over) == (False, True, True)

    def test_the_sheet_says_likely_and_safe_and_how(self, job):
        """Once the odds of the published plan have been said."""
        say_first_outlook(NOW)
        page = signed_in().get(reverse("sheet", args=[SLUG])).content.decode()
        assert "Safe to promise" in page
        assert "futures of this plan" in page

    def test_what_was_said_is_compared_with_what_happened(self, job):
        """A job done the day after it was said: kept by every day given."""
        say_first_outlook(NOW)
        for activity in job.activities.all():
            activity.started_at = NOW + timedelta(hours=12)
            activity.finished_at = NOW + timedelta(hours=14)
            activity.save()
        page = signed_in().get(reverse("odds")).content.decode()
        assert "Of 1 job done" in page
        assert "by the safe day" in page

    def test_a_pour_tells_what_it_is_ready_for_and_when(self, db):
        """Walk, strip, load and build on, by the warmth expected, with how it was reckoned."""
        open_office()
        text = SMALL_YARD.replace(
            'soil = "loam"', 'soil = "loam"\nlatitude = 35.6\nlongitude = -82.55'
        )
        slab = '\n[[build]]\nwhat = "concrete-slab"\nwhere = "Bed"\narea = "150"\n'
        load_job(text + slab, by="test", now=NOW)
        published_plan()
        uid = Activity.objects.get(template="pour-slab").uid
        page = signed_in().get(reverse("activity", args=[SLUG, uid])).content.decode()
        assert "Ready for what, and when" in page
        assert "Asheville" in page
        assert "engineer" in page


class TestHomeowner:
    """One calm page by secret link."""

    def link(self) -> str:
        """Make a link in the office, as it is shown once."""
        page = signed_in().post(reverse("share", args=[SLUG])).content.decode()
        return page.partition('readonly value="')[2].partition('"')[0].partition("testserver")[2]

    def test_the_next_milestone_and_its_window(self, job):
        """What comes next, and the finish; no crew, no price, no float."""
        page = Client().get(self.link()).content.decode()
        assert "Next: beds planted" in page
        assert "Finished, and yours" in page
        for hidden in ("Ground crew", "Stone crew", "slip", "Ines", "$"):
            assert hidden not in page

    def test_questions_do_not_grow_with_milestones(self, job, django_assert_num_queries):
        """The same with three more of them, all to come."""
        link, browser = self.link(), Client()
        with django_assert_num_queries(19):
            few = browser.get(link).content.decode().count("<li")
        rows = PlanRow.objects.filter(crew__isnull=False).select_related("activity")
        for number, row in enumerate(rows[:3]):
            row.activity.detail["milestone"] = f"part {number}"
            row.activity.save()
        with django_assert_num_queries(19):
            assert browser.get(link).content.decode().count("<li") == few + 3

    def test_a_wrong_link_is_not_found(self, job):
        """And says nothing about why."""
        assert Client().get(reverse("homeowner", args=["x" * 43])).status_code == 404

    def test_nothing_is_set_and_nobody_indexes_it(self, job):
        """No cookie, no referrer, no search engine."""
        answer = Client().get(self.link())
        assert not answer.cookies
        assert answer["Referrer-Policy"] == "no-referrer"
        assert answer["X-Robots-Tag"] == "noindex"


class TestSky:
    """Tomorrow says what the sky may do to it, by the forecast kept of each yard."""

    def test_the_demo_is_told_of_its_storm(self, db):
        """Asheville, Wednesday 17 June: the invented forecast rains."""
        the_demo()
        page = signed_in().get(reverse("tomorrow")).content.decode()
        sky = page.partition("What could stop it")[2].partition("</section>")[0]
        assert "31 Millrace Lane" in sky
        assert "°F; rain" in sky

    def test_a_yard_without_a_position_is_not_guessed_at(self, job):
        """Nothing is known: nothing is said."""
        assert "What could stop it" not in signed_in().get(reverse("tomorrow")).content.decode()
