"""The log of a yard's day: append-only, said once however often it is sent, taken back by a further line."""

from __future__ import annotations

import io
from datetime import date, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from crews.models import Crew, Person, Role
from jobs.models import Activity, Change, DayLog, Delivery, Job, LostTime, Plan
from jobs.services.day.log_day import LogRefusedError, Said, log_day
from jobs.services.day.photos import Snapshot, log_photo
from jobs.services.day.take_back_line import take_back_line
from jobs.services.day.yard_log import (
    Note,
    Present,
    Received,
    Visit,
    log_note,
    log_present,
    log_received,
    log_visit,
)
from jobs.services.pages.day import read_day
from tests.office import NOW, published_plan, signed_in, yard_waiting_for_stone
from tests.pictures import picture

pytestmark = pytest.mark.django_db
BY = "Ana"
TODAY = NOW.date()


@pytest.fixture
def job(settings, tmp_path) -> Job:
    """A small yard with stone on its way; photos lie in a folder of the test."""
    settings.MEDIA_ROOT = tmp_path
    return yard_waiting_for_stone()


def basics(job: Job, **more: object) -> dict[str, object]:
    """What everything said has."""
    return {"client": uuid4(), "job": job, "day": TODAY, "at": NOW} | more


def said(work: Activity, kind: str, **more: object) -> DayLog:
    """Something said of a work today."""
    return log_day(Said(uuid4(), work, TODAY, kind, NOW, **more), by=BY, now=NOW)


def shot(job: Job, data: bytes, **more: object) -> Snapshot:
    """A picture as it was sent."""
    return Snapshot(**basics(job, **more), file=io.BytesIO(data))


class TestSaying:
    """Visits, deliveries, people, notes."""

    def test_each_is_one_line_however_often_it_is_sent(self, job):
        """The phone lost its signal and sent all four again."""
        crew, stone = Crew.objects.get(slug="ground-crew"), Delivery.objects.get()
        lines = [
            (log_visit, Visit(**basics(job), who="Mr Dole, next door")),
            (log_received, Received(**basics(job), delivery=stone)),
            (log_present, Present(**basics(job), crew=crew, people=3)),
            (log_note, Note(**basics(job, note="Gate code changed"))),
        ]
        for log, told in lines * 2:
            log(told, by=BY, now=NOW)
        said = [entry.said for entry in read_day(job, Person(role=Role.OWNER), NOW).log]
        assert said == [
            "note",
            "Ground crew was here, 3 people",
            "Crushed stone came",
            "Mr Dole, next door came by",
        ]

    def test_all_of_a_delivery_is_there(self, job):
        """The work waits for it no more."""
        stone = Delivery.objects.get()
        log_received(Received(**basics(job), delivery=stone), by=BY, now=NOW)
        stone.refresh_from_db()
        assert stone.arrived_on == TODAY

    def test_a_short_one_keeps_the_work_waiting(self, job):
        """The rest comes in July: kept as a cause, like any late delivery."""
        stone, rest = Delivery.objects.get(), date(2026, 7, 6)
        told = Received(**basics(job), delivery=stone, complete=False, rest_on=rest)
        log_received(told, by=BY, now=NOW)
        stone.refresh_from_db()
        assert (stone.arrived_on, stone.earliest) == (None, rest)
        assert Change.objects.get().why == "Crushed stone not before Mon 6 Jul 2026: it came short"

    def test_what_passed_an_inspection_is_done(self, job):
        """A second line of its own says so."""
        work = job.activities.filter(detail__outside=True).first()
        told = Visit(**basics(job), who="The inspector", about=work, result="passed")
        log_visit(told, by=BY, now=NOW)
        work.refresh_from_db()
        assert work.finished_at is not None
        assert [line.kind for line in work.day_log.order_by("pk")] == ["visit", "done"]

    @pytest.mark.parametrize(
        ("kind", "more", "told"),
        [
            (Visit, {"who": " "}, "Say who came by"),
            (Visit, {"who": "x", "result": "again"}, "Say on which day"),
            (Visit, {"who": "x", "result": "again", "again_on": TODAY}, "on a later day"),
            (Received, {"delivery": None, "complete": False}, "from which day on"),
            (Note, {}, "Write what is worth keeping"),
        ],
    )
    def test_half_a_line_is_refused(self, kind, more, told):
        """Before anything is asked of the database."""
        with pytest.raises(LogRefusedError, match=told):
            kind(**basics(Job()), **more)

    def test_tomorrow_cannot_be_logged(self, job):
        """Nobody knows it yet."""
        with pytest.raises(LogRefusedError, match="yet to come"):
            log_note(Note(**basics(job, day=TODAY + timedelta(days=1), note="x")), by=BY, now=NOW)


class TestTakingBack:
    """A further line; what the first one changed stands as before."""

    def test_done_by_mistake(self, job):
        """The work is where it stood before the tap, and can be logged again."""
        work = job.activities.get(template="dg-path")
        said(work, "part-way", share=40)
        begun = Activity.objects.get(pk=work.pk).started_at
        line = said(work, "done")
        taken = take_back_line(line, by=BY, now=NOW)
        work.refresh_from_db()
        assert (work.started_at, work.finished_at, work.done_share) == (begun, None, 40)
        assert (taken.kind, taken.corrects) == ("taken-back", line)
        assert take_back_line(line, by=BY, now=NOW) == taken
        assert said(work, "done").kind == "done"

    def test_only_what_was_said_last(self, job):
        """The later line rests on the earlier one."""
        work = job.activities.get(template="dg-path")
        first, last = said(work, "part-way", share=40), said(work, "part-way", share=60)
        with pytest.raises(LogRefusedError, match="take that one back first"):
            take_back_line(first, by=BY, now=NOW)
        take_back_line(last, by=BY, now=NOW)
        take_back_line(first, by=BY, now=NOW)
        work.refresh_from_db()
        assert (work.started_at, work.done_share) == (None, 0)

    def test_time_lost_and_a_delivery(self, job):
        """The hours are there again, the stone is not."""
        work, stone = job.activities.get(template="dg-path"), Delivery.objects.get()
        lost = said(work, "not-today", cause="wind")
        came = log_received(Received(**basics(job), delivery=stone), by=BY, now=NOW)
        for line in (lost, came):
            take_back_line(line, by=BY, now=NOW)
        stone.refresh_from_db()
        assert stone.arrived_on is None
        assert LostTime.objects.get().taken_back_at == NOW

    def test_not_what_a_plan_rests_on(self, job):
        """Once a plan was accepted because of it, what is true now has to be said."""
        plan = published_plan()
        lost = said(job.activities.get(template="dg-path"), "not-today", cause="wind")
        LostTime.objects.update(plan=plan)
        with pytest.raises(LogRefusedError, match="A plan was accepted because of it"):
            take_back_line(lost, by=BY, now=NOW)

    def test_a_line_that_took_one_back_stays(self, job):
        """Say it anew instead."""
        taken = take_back_line(
            log_note(Note(**basics(job, note="x")), by=BY, now=NOW), by=BY, now=NOW
        )
        with pytest.raises(LogRefusedError, match="say the thing anew"):
            take_back_line(taken, by=BY, now=NOW)

    def test_nothing_is_ever_edited_or_deleted(self, job):
        """Two lines, the first as it was written."""
        line = log_note(Note(**basics(job, note="x")), by=BY, now=NOW)
        before = DayLog.objects.filter(pk=line.pk).values().get()
        take_back_line(line, by=BY, now=NOW)
        assert DayLog.objects.filter(pk=line.pk).values().get() == before
        assert DayLog.objects.count() == 2


class TestPages:
    """The same from a page."""

    def test_a_day_before_today_can_be_logged(self, job):
        """By its own address; a day out of sight is today."""
        client, page = signed_in(), reverse("day", args=[job.slug])
        work = job.activities.get(template="dg-path")
        told = {
            "kind": "part-way",
            "quantity": "40",
            "people": "3",
            "client": str(uuid4()),
            "on": "2026-06-12",
        }
        answer = client.post(reverse("say-day", args=[job.slug, work.uid]), told)
        assert answer["Location"] == f"{page}?on=2026-06-12"
        line = DayLog.objects.get()
        assert (line.day, line.share, line.people) == (date(2026, 6, 12), 33, 3)
        body = client.get(page, {"on": "2026-06-12"}).content.decode()
        assert "Friday 12 June" in body
        assert "stopped part-way, 33 %" in body
        for nonsense in ("2019-01-01", "2027-01-01", "yesterday", "9" * 400):
            assert "Tuesday 16 June" in client.get(page, {"on": nonsense}).content.decode()

    def test_every_form_writes_its_line(self, job):
        """A photo, a visit, a delivery, people, a note; then one of them taken back."""
        client, stone = signed_in(), Delivery.objects.get()
        file = SimpleUploadedFile("../../x.php", picture(), "text/html")
        for kind, told in (
            ("photo", {"photo-file": file, "photo-note": "The gate"}),
            ("visit", {"visit-who": "Mr Dole"}),
            ("received", {"received-delivery": stone.pk, "received-complete": "all"}),
            ("present", {"present-crew": "ground-crew", "present-people": "3"}),
            ("note", {"note-note": "Gate code changed"}),
        ):
            address = reverse("log-line", args=[job.slug, kind])
            basic = {f"{kind}-client": str(uuid4()), "on": "2026-06-16"}
            assert client.post(address, basic | told).status_code == 302
        assert sorted(DayLog.objects.values_list("kind", flat=True)) == [
            "note", "photo", "present", "received", "visit",
        ]  # fmt: skip
        body = client.get(reverse("day", args=[job.slug])).content.decode()
        assert 'alt="The gate"' in body
        note = DayLog.objects.get(kind="note")
        client.post(reverse("take-line-back", args=[job.slug, note.pk]))
        assert "<s>note</s>" in client.get(reverse("day", args=[job.slug])).content.decode()

    def test_nonsense_is_told_and_what_was_typed_stays(self, job):
        """Beside its field, with the form open."""
        client, uid = signed_in(), str(uuid4())
        svg = SimpleUploadedFile("x.jpg", b"<svg/>", "image/jpeg")
        for kind, told, wrong in (
            ("visit", {"visit-client": uid}, "This is missing: fill it in or choose one."),
            (
                "visit",
                {"visit-client": uid, "visit-who": "Mr Dole", "visit-result": "again"},
                "Say on which day",
            ),
            ("photo", {"photo-client": uid}, "This is missing: fill it in or choose one."),
            ("photo", {"photo-client": uid, "photo-file": svg}, "no picture that can be read"),
            (
                "received",
                {"received-client": uid, "received-delivery": "99"},
                "none of the choices",
            ),
            (
                "present",
                {"present-client": uid, "present-people": "10000"},
                "At most 20.",
            ),
            ("note", {"note-client": uid, "note-note": "x" * 401}, "At most 400"),
            ("note", {"note-note": "y"}, "What else there was"),
        ):
            answer = client.post(reverse("log-line", args=[job.slug, kind]), told)
            assert (answer.status_code, wrong in answer.content.decode()) == (422, True), told
        assert DayLog.objects.count() == 0
        assert client.post(reverse("log-line", args=[job.slug, "flood"])).status_code == 404

    def test_a_lead_logs_where_his_crew_works(self, job):
        """Others only read; the page shows them no form."""
        published_plan()
        client = signed_in(Role.LEAD)
        lead = Person.objects.get(username="lead@example.com")
        told = {"note-client": str(uuid4()), "note-note": "Gate code changed"}
        address = reverse("log-line", args=[job.slug, "note"])
        assert client.post(address, told).status_code == 403
        assert (
            "What else there was"
            not in client.get(reverse("day", args=[job.slug])).content.decode()
        )
        row = Plan.objects.get(state="published").rows.filter(
            activity__job=job, crew__isnull=False
        )[0]
        Crew.objects.filter(pk=row.crew_id).update(lead=lead)
        assert client.post(address, told).status_code == 302

    def test_a_failed_inspection_leads_the_office_on(self, job):
        """To what has to be done again; from the log too."""
        work = job.activities.filter(detail__outside=True).first()
        Activity.objects.filter(pk=work.pk).update(skill="inspection")
        told = {
            "visit-client": str(UUID(int=7)), "visit-who": "The inspector", "visit-about": work.uid,
            "visit-result": "failed", "on": "2026-06-16",
        }  # fmt: skip
        answer = signed_in().post(reverse("log-line", args=[job.slug, "visit"]), told)
        assert answer["Location"] == reverse("failed", args=[job.slug, work.uid])
        body = signed_in().get(reverse("day", args=[job.slug])).content.decode()
        assert "Plan it again" in body

    def test_the_page_takes_as_many_queries_for_three_lines(self, job, django_assert_num_queries):
        """Plan, head, works, log, and who may."""
        who = Person(role=Role.OWNER)
        log_photo(shot(job, picture()), by=BY, now=NOW)
        with django_assert_num_queries(2):
            read_day(job, who, NOW)
        for _ in range(2):
            log_photo(shot(job, picture()), by=BY, now=NOW)
        with django_assert_num_queries(2):
            assert len(read_day(job, who, datetime.combine(TODAY, NOW.timetz())).log) == 3
