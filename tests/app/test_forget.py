"""A job that never began is deleted; the owner of one that is over is forgotten, its figures stay."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.urls import reverse

from crews.models import CalendarEvent, FeedLink, Role
from jobs.models import Activity, ChangeOrder, DayLog, HistoryEntry, Job, Message, Plan, Zone
from jobs.services.company.gate import keep_code
from jobs.services.company.share import homeowner_link
from tests.office import NOW, signed_in

pytestmark = pytest.mark.django_db
OWNER, NOTE = "Petronella Quince", "Petronella asks for a call before eight"


@pytest.fixture
def known(published_job) -> Job:
    """The small yard, published, with all that may be kept of its owner; its state is up to the test."""
    job = published_job
    keep_code(job, "4711#", by="Owner", now=NOW)
    homeowner_link(job, by="Owner", now=NOW)
    DayLog.objects.create(
        job=job, day=date(2026, 6, 15), kind="visit", who=OWNER, note=NOTE, by="Ines",
        device_at=NOW, server_at=NOW,
    )  # fmt: skip
    ChangeOrder.objects.create(
        job=job, number=1, title="A bench", scope=f"A bench for {OWNER}", state="signed",
        asked_on=date(2026, 6, 12), signed_by=OWNER, signed_on=date(2026, 6, 15),
    )  # fmt: skip
    Message.objects.create(
        on=date(2026, 6, 15), key="crew", to="ines@example.com", subject="Tomorrow",
        text=f"{job.name}, {job.address}: dig out",
    )  # fmt: skip
    HistoryEntry.objects.create(
        at=NOW, by="Owner", what="message sent",
        after={"to": "quince@example.com", "subject": f"Your yard at {job.name}: dates"},
    )  # fmt: skip
    return job


def stands(job: Job, state: str) -> Job:
    """Let a job stand somewhere else."""
    Job.objects.filter(pk=job.pk).update(state=state)
    return Job.objects.get(pk=job.pk)


def let_go(job: Job, sure: str = "", role: Role = Role.OWNER):
    """Delete or forget it, as its page asks."""
    told = {"sure": sure or job.name, "revision": str(job.revision)}
    return signed_in(role).post(reverse("forget", args=[job.slug]), told)


def everywhere(words: str) -> list[str]:
    """Tables that hold some words in any column, as one who reads the database would find them."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'SELECT * FROM "{table}"')  # noqa: S608 (names come from the database)
            if any(words in str(value) for row in cursor.fetchall() for value in row):
                found.append(table)
    return sorted(found)


class TestForgotten:
    """Of a job that is handed over or closed."""

    @pytest.mark.parametrize("state", ["handed-over", "closed"])
    def test_nothing_of_the_owner_is_left_in_any_table(self, known, state):
        """Name, address, way in, gate code, who came by, who signed, to whom it was sent."""
        secrets = [known.name, known.address, known.slug, "4711#", OWNER, NOTE, "quince@"]
        assert all(everywhere(words) for words in secrets)
        assert let_go(stands(known, state)).status_code == 302
        assert [found for words in secrets for found in everywhere(words)] == []

    def test_the_figures_stay(self, known):
        """Works with their durations, the plan with its rows, the line of the log, the signed paper."""
        works = list(known.activities.order_by("pk").values_list("pk", "days", "quantity"))
        rows = Plan.objects.get(state="published").rows.count()
        let_go(stands(known, "closed"))
        job = Job.objects.get(pk=known.pk)
        assert list(job.activities.order_by("pk").values_list("pk", "days", "quantity")) == works
        assert Plan.objects.get(state="published").rows.count() == rows > 0
        assert (job.name, job.slug, job.address) == (f"Yard {job.pk}", f"yard-{job.pk}", "")
        assert (job.day_log.get().day, job.change_orders.get().title) == (
            date(2026, 6, 15),
            "A bench",
        )
        assert signed_in().get(reverse("job", args=[job.slug])).status_code == 200
        assert signed_in().get(reverse("record", args=[job.slug])).status_code == 200

    def test_links_end_and_calendars_empty(self, known):
        """The homeowner's page is gone; crews' calendars name the yard no more."""
        let_go(stands(known, "closed"))
        assert FeedLink.objects.get(subject=f"homeowner:{known.uid}").revoked is not None
        assert not CalendarEvent.objects.filter(job=known.uid).exists()

    def test_the_record_says_that_by_whom_and_no_more(self, known):
        """One line, without facts."""
        let_go(stands(known, "closed"))
        line = HistoryEntry.objects.order_by("-pk")[0]
        assert (line.what, line.by, line.job_id) == ("owner forgotten", "Owner", known.pk)
        assert (line.before, line.after) == (None, None)

    def test_other_yards_keep_their_words(self, known):
        """A word of somebody who came by is hidden in his yard only."""
        DayLog.objects.filter(job=known).update(who="inspector")
        HistoryEntry.objects.create(at=NOW, by="Owner", what="note", after="the inspector is ill")
        let_go(stands(known, "closed"))
        assert HistoryEntry.objects.get(what="note").after == "the inspector is ill"


class TestDeleted:
    """Of a bid in which nothing has begun."""

    def test_all_of_it_goes_zones_with_what_is_built_in_them(self, known):
        """Nothing holds it back, nothing of it is left in any table but one line of the record."""
        secrets = [known.name, known.address, known.slug, known.uid, "4711#", OWNER, NOTE]
        assert let_go(stands(known, "bid")).status_code == 302
        assert [found for words in secrets for found in everywhere(words)] == []
        assert (Job.objects.count(), Zone.objects.count(), Activity.objects.count()) == (0, 0, 0)

    def test_the_record_says_that_one_was_deleted(self, known):
        """By whom, and of how many works."""
        works = known.activities.filter(retired=False).count()
        let_go(stands(known, "bid"))
        line = HistoryEntry.objects.order_by("-pk")[0]
        assert (line.what, line.by, line.job, line.after) == (
            "job deleted",
            "Owner",
            None,
            {"works": works},
        )


class TestAsked:
    """What its page says, and refuses."""

    def test_the_page_names_what_goes_and_what_stays(self, known):
        """With counts."""
        page = signed_in().get(reverse("forget", args=[stands(known, "bid").slug]))
        words = page.content.decode()
        assert page.context["page"].way == "delete"
        assert "Links of the homeowner (1)" in words
        assert "Backups and job files made before still hold it" in words

    @pytest.mark.parametrize("state", ["sold", "active", "paused", "punch"])
    def test_an_open_job_can_be_neither(self, known, state):
        """Its owner is needed; sent all the same, nothing goes."""
        job = stands(known, state)
        page = signed_in().get(reverse("forget", args=[job.slug])).content.decode()
        assert "The job is open: its owner is needed" in page
        assert let_go(job).status_code == 422
        assert Job.objects.get(pk=job.pk).name == known.name

    def test_a_bid_that_has_begun_is_kept(self, known):
        """Somebody logged work and then set the job back."""
        known.activities.filter(template="clean-up").update(started_at=NOW)
        answer = let_go(stands(known, "bid"))
        assert answer.status_code == 422
        assert "Work has begun in this bid" in answer.content.decode()
        assert Job.objects.count() == 1

    def test_the_name_must_be_typed(self, known):
        """A slip of the finger deletes nothing."""
        answer = let_go(stands(known, "bid"), sure="Some yard")
        assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["sure"])
        assert Job.objects.count() == 1

    def test_changed_meanwhile(self, known):
        """An older page deletes nothing."""
        job = stands(known, "bid")
        Job.objects.get(pk=job.pk).save()
        assert let_go(job).status_code == 422
        assert Job.objects.count() == 1

    def test_a_scheduler_may_not(self, known):
        """Only an owner."""
        assert let_go(stands(known, "bid"), role=Role.SCHEDULER).status_code == 403

    def test_few_queries(self, known, django_assert_num_queries):
        """Sign-in, company, job, what hangs on it, links, events, the plan."""
        client, address = signed_in(), reverse("forget", args=[stands(known, "bid").slug])
        client.get(address)
        with django_assert_num_queries(12):
            client.get(address)
