"""Where a job stands: seven states, what each means, what leaves phones, what stays in the record.

Today is Tuesday 16 June 2026; the small yard is planned from Monday 22 June to Tuesday 7 July.
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import uuid4

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Role
from jobs.models import Activity, Change, DayLog, HistoryEntry, Job
from jobs.services.day.log_day import Said, log_day
from jobs.services.day.take_back_line import take_back_line
from jobs.services.world.read_world import read_world
from tests.office import NOW, published_plan, signed_in

pytestmark = pytest.mark.django_db


def stand(job: Job, state: str, **told: str):
    """Post the form as the owner."""
    facts = {"state": state, "revision": str(Job.objects.get(pk=job.pk).revision)} | told
    return signed_in().post(reverse("stage", args=[job.slug]), facts)


def live(job: Job) -> int:
    """Entries of a job that phones show and that are not cancelled."""
    rows = CalendarEvent.objects.filter(job=job.uid)
    return rows.exclude(status=CalendarEvent.Status.CANCELLED).count()


@pytest.mark.parametrize(
    ("state", "planned"),
    [("bid", 0), ("sold", 1), ("active", 1), ("punch", 1), ("handed-over", 0), ("closed", 0)],
)
def test_where_it_stands_decides_whether_it_is_planned(job, state, planned):
    """Bids and finished yards stay out of plans."""
    assert stand(job, state).status_code == 302
    assert len(read_world(NOW).jobs) == planned


def test_a_pause_shuts_its_days(job):
    """From Monday 29 June, going on on Monday 13 July: no work between."""
    stand(job, "paused", paused_from="2026-06-29", paused_until="2026-07-13")
    days = {
        date.fromisoformat(start[:10])
        for row in published_plan().rows.filter(crew__isnull=False)
        for start, _, _ in row.segments
    }
    assert min(days) < date(2026, 6, 29)
    assert not [day for day in days if date(2026, 6, 29) <= day < date(2026, 7, 13)]


def test_a_pause_without_a_beginning_begins_today(job):
    """And stops what is under way, too."""
    stand(job, "paused", paused_until="2026-07-13")
    job.refresh_from_db()
    assert (job.paused_from, job.paused_until) == (NOW.date(), date(2026, 7, 13))


def test_a_pause_is_a_cause(job):
    """What it moves is told as the pause's share once a way out is accepted; a bid's pause is none."""
    stand(job, "paused", paused_from="2026-06-29", paused_until="2026-07-13")
    assert Change.objects.get().cause == "pause"
    stand(job, "bid")
    stand(job, "paused", paused_from="2026-06-29", paused_until="2026-07-13")
    assert Change.objects.count() == 1


def test_going_on_ends_the_pause(job):
    """Its days are open again, and the record tells both."""
    stand(job, "paused", paused_from="2026-06-29", paused_until="2026-07-13")
    stand(job, "active", paused_from="2026-06-29", paused_until="2026-07-13")
    job.refresh_from_db()
    assert (job.state, job.paused_from, job.paused_until) == ("active", None, None)
    entry = HistoryEntry.objects.filter(job=job, what="where it stands")[0]
    assert (entry.before, entry.after) == (
        {"stage": "paused", "paused from": "2026-06-29", "goes on": "2026-07-13"},
        {"stage": "active"},
    )


def test_handed_over_it_leaves_phones_at_once(job):
    """Every entry to come is cancelled; the yard is on no page of what is ahead."""
    published_plan()
    before = live(job)
    assert before > 10
    page = signed_in().get(reverse("stage", args=[job.slug])).content.decode()
    assert f"Its {before} calendar entries to come are cancelled on phones at once" in page
    stand(job, "handed-over")
    assert live(job) == 0
    for name in ("tomorrow", "crews", "machines", "evening"):
        assert "3 Finch Street: " not in signed_in().get(reverse(name)).content.decode()
    weeks = signed_in().get(reverse("look-ahead")).content.decode()
    assert "3 Finch Street" not in weeks


def test_what_is_past_never_changes(job):
    """An entry that ended yesterday says after the handing over what it said before."""
    published_plan()
    row = CalendarEvent.objects.filter(job=job.uid, subject="crew:green-crew").first()
    past = {"start": datetime(2026, 6, 15, 4, tzinfo=NOW.tzinfo), "end": NOW.replace(hour=4)}
    CalendarEvent.objects.filter(pk=row.pk).update(**past)
    before = CalendarEvent.objects.filter(pk=row.pk).values().get()
    stand(job, "closed")
    assert CalendarEvent.objects.filter(pk=row.pk).values().get() == before


def test_a_job_comes_back_with_the_next_plan(job):
    """Closed by mistake: sold again, planned and published, phones show it again."""
    published_plan()
    before = live(job)
    stand(job, "closed")
    stand(job, "sold")
    assert live(job) == 0
    published_plan()
    assert live(job) == before


def test_what_is_under_way_must_be_logged_first(job):
    """A yard is not over while somebody works in it."""
    Activity.objects.filter(template="lay-out").update(started_at=NOW)
    answer = stand(job, "handed-over")
    assert answer.status_code == 422
    assert "Mark out the work is under way: log it as done on the Day page first." in (
        answer.content.decode()
    )
    assert Job.objects.get().state == "sold"


@pytest.mark.parametrize(
    ("told", "field", "words"),
    [
        ({"state": "asleep"}, "id_state", "none of the choices"),
        ({"state": ""}, "id_state", "missing"),
        ({"paused_until": ""}, "id_paused_until", "Say when it goes on"),
        ({"paused_until": "soon"}, "id_paused_until", "A date such as"),
        ({"paused_until": "2026-06-29"}, "id_paused_until", "not after the pause begins"),
        ({"paused_until": "9999-12-31"}, "id_paused_until", "more than three years"),
        ({"paused_from": "0001-01-01"}, "id_paused_from", "more than three years ago"),
    ],
)
def test_what_is_wrong_is_told_beside_its_field(job, told, field, words):
    """And nothing is stored."""
    good = {"paused_from": "2026-06-29", "paused_until": "2026-07-13"}
    answer = stand(job, **({"state": "paused"} | good | told))
    wrong = answer.content.decode().partition(f'id="{field}_wrong">')[2].partition("</p>")[0]
    assert (answer.status_code, words in wrong) == (422, True)
    assert Job.objects.get().revision == job.revision


def test_the_second_of_two_editors_is_told(job):
    """It was sold when both opened the page."""
    stale = str(job.revision)
    stand(job, "active")
    assert stand(job, "closed", revision=stale).status_code == 422
    assert Job.objects.get().state == "active"


def test_who_may_only_look_is_refused(job):
    """The page is for those who may change."""
    assert signed_in(Role.VIEWER).get(reverse("stage", args=[job.slug])).status_code == 403


def log(work: Activity, kind: str = "started", **said: str) -> DayLog:
    """What somebody says of a work today."""
    return log_day(Said(uuid4(), work, NOW.date(), kind, NOW, **said), by="Ana", now=NOW)


class TestUnderWay:
    """A job that was sold is active by its first work."""

    def test_its_first_work_makes_it_active_once(self, job):
        """With one line in the record, by who said it; a note on its own is no work."""
        work, other = job.activities.filter(template__in=["lay-out", "protect-site"])
        log(work, "note", note="The gate sticks.")
        assert Job.objects.get().state == "sold"
        log(work)
        log(other, "done")
        assert Job.objects.get().state == "active"
        entry = HistoryEntry.objects.get(what="where it stands")
        told = {"stage": "active", "why": "its first work was logged"}
        assert (entry.by, entry.before, entry.after) == ("Ana", {"stage": "sold"}, told)

    def test_taken_back_it_is_sold_again_unless_more_was_logged(self, job):
        """Two works begun: with the first line taken back it stays active, with the second it is sold."""
        lines = [log(work) for work in job.activities.filter(template__in=["lay-out", "dig-out"])]
        take_back_line(lines[0], by="Ana", now=NOW)
        assert Job.objects.get().state == "active"
        take_back_line(lines[1], by="Ana", now=NOW)
        assert Job.objects.get().state == "sold"
        last = HistoryEntry.objects.filter(what="where it stands").latest("pk")
        assert (last.before, last.after) == ({"stage": "active"}, {"stage": "sold"})

    def test_what_somebody_said_by_hand_stays(self, job):
        """Active by the owner's word: taking a line back changes nothing."""
        stand(job, "active")
        line = log(job.activities.get(template="lay-out"))
        take_back_line(line, by="Ana", now=NOW)
        assert Job.objects.get().state == "active"

    @pytest.mark.parametrize("state", ["punch", "bid"])
    def test_others_stand_where_they_stood(self, job, state):
        """Only what is sold sets off."""
        Job.objects.update(state=state)
        log(job.activities.get(template="lay-out"))
        assert Job.objects.get().state == state
