"""After the storm: lost time closes slots, ways out are accepted or refused whole, undo brings back, all is told."""

from __future__ import annotations

import json
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import StringIO
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from django.core.management import CommandError, call_command
from django.urls import reverse

from crews.models import CalendarEvent, Crew, CrewMember, Machine, Role, TimeOff
from jobs.models import (
    Answer,
    Change,
    DayLog,
    Delivery,
    FinishChange,
    HistoryEntry,
    Job,
    LostTime,
    Plan,
)
from jobs.models.day import ALL_DAY
from jobs.scheduling.storm.replan import Way
from jobs.services.causes.late import come_later, out, take_back_change
from jobs.services.causes.lose_days import Lost, dry_at, lose_days, say_lost, take_back
from jobs.services.day.log_day import LogRefusedError, Said, log_day
from jobs.services.mail.messages import drafts
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.moved import read_ledger, read_moved
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.sky.forecast import keep_answer
from jobs.services.storm.accept_storm import accept_answer, undo
from jobs.services.storm.offer import (
    NothingPublishedError,
    answer_at_once,
    answer_better,
    read_storm,
)
from jobs.services.world.revision import world_revision
from tests.app.test_weather_windows import week
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
BY = "test"
HOLIDAYS = 3
"""Days off of the whole company, written with it."""
EASTERN = ZoneInfo("America/New_York")


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first work with a crew is the day that gets rained out."""
    open_office()
    made = small_job()
    published_plan()
    return made


def first_day() -> date:
    """The first day on which a crew works."""
    row = Plan.objects.get(state="published").rows.filter(crew__isnull=False).order_by("start")[0]
    return row.start.astimezone(EASTERN).date()


def rain(days: int = 2, **more: object) -> list[LostTime]:
    """Rain for all from the first day on which a crew works."""
    first = first_day()
    lost = Lost(first=first, last=first + timedelta(days=days - 1), **more)
    return lose_days(lost, by=BY, now=NOW)


def steady() -> Answer:
    """The steady way out, searched for a moment."""
    found = answer_better(read_storm(NOW), NOW, ways=(Way.STEADY,), seconds=0.05)
    return found[0].row


class TestLosing:
    """What is written when time was lost."""

    def test_rain_on_loam_dries_a_day_and_a_half(self, job):
        """Seven tenths of an inch that ended Monday evening: from Wednesday 6 am (check D02)."""
        lost = Lost(date(2026, 6, 22), date(2026, 6, 22), rain_in=Decimal("0.7"))
        row, wet = lose_days(lost, by=BY, now=NOW)
        assert dry_at(row, job) == datetime.combine(date(2026, 6, 24), time(6))
        assert (wet.first, wet.last, wet.first_slots) == (
            date(2026, 6, 23),
            date(2026, 6, 23),
            ALL_DAY,
        )
        assert (wet.cause, wet.ground, wet.job, wet.dries) == ("dry-out", True, job, row)

    def test_sand_is_dry_by_morning_and_clay_takes_days(self, job):
        """The order of textures: half a day, and four days to Friday evening (table of dry-out, half an inch)."""
        day = date(2026, 6, 22)
        row = lose_days(Lost(day, day, rain_in=Decimal("0.5")), by=BY, now=NOW)[0]
        job.soil = "sand"
        assert dry_at(row, job) == datetime.combine(date(2026, 6, 23), time(6))
        job.soil = "clay"
        assert dry_at(row, job) == datetime.combine(date(2026, 6, 26), time(18))

    def test_the_cool_season_doubles_it(self, job):
        """Loam in January: three days instead of one and a half (check D04)."""
        day = date(2026, 1, 5)
        row = lose_days(Lost(day, day, rain_in=Decimal("0.7")), by=BY, now=NOW)[0]
        assert dry_at(row, job) == datetime.combine(date(2026, 1, 8), time(18))

    def test_wind_dries_nothing(self, job):
        """Only rain makes ground wet."""
        assert len(rain(cause="wind")) == 1

    def test_lost_slots_are_closed_and_open_again_when_taken_back(self, job):
        """The published plan no longer fits, then fits again; the record says both."""
        before = read_storm(NOW).storm
        row = rain()[0]
        wet = read_storm(NOW).storm
        assert before.world == before.before
        assert wet.world != wet.before
        take_back(row, by=BY, now=NOW)
        assert read_storm(NOW).storm.world == before.world
        assert LostTime.objects.filter(taken_back_at=None).count() == 0
        assert set(HistoryEntry.objects.values_list("what", flat=True)) >= {
            "time lost",
            "lost time taken back",
        }

    def test_losing_time_makes_every_proposal_stale(self, job):
        """The revision of the world changes."""
        before = world_revision()
        rain()
        assert world_revision() != before

    def test_it_is_said_from_which_hour_on(self, job):
        """The third part of the day begins at half past eleven."""
        row = rain(1, from_slot=3, why="thunder")[0]
        assert say_lost(row).endswith("from 11:30 am: rain, everybody (thunder)")
        assert row.first_slots == 0b1100

    @pytest.mark.parametrize(
        ("more", "told"),
        [
            ({"first": date(2026, 6, 24)}, "swap the two"),
            ({"from_slot": 5}, "slots 1 to 4"),
            ({"last": date(2026, 12, 24)}, "pause the job"),
        ],
    )
    def test_nonsense_is_refused(self, more, told):
        """With the way out."""
        given = {"first": date(2026, 6, 22), "last": date(2026, 6, 23)} | more
        with pytest.raises(ValueError, match=told):
            Lost(**given)


class TestAccepting:
    """One way out becomes the plan, or nothing happens."""

    def test_an_accepted_way_is_plan_events_and_record_at_once(self, job):
        """The work moves off the rainy days in the calendars too."""
        day = first_day()
        rows = rain()
        accepted = accept_answer(steady(), by=BY, now=NOW)
        assert Plan.objects.get(state="published") == accepted.plan
        assert (accepted.plan.number, accepted.plan.method) == (2, "steady")
        live = CalendarEvent.objects.filter(kind="work").exclude(status="CANCELLED")
        assert not live.filter(start__date__in=[day, day + timedelta(days=1)]).exists()
        assert live.filter(sequence__gt=0).exists(), "moved works keep their events"
        assert {row.plan_id for row in LostTime.objects.all()} == {accepted.plan.pk}
        assert len(rows) == LostTime.objects.count()
        assert HistoryEntry.objects.filter(what="plan published", after=2, before=1).count() == 1

    def test_the_same_way_cannot_be_accepted_twice(self, job):
        """The second is told that a plan was accepted meanwhile."""
        rain()
        row = steady()
        accept_answer(row, by=BY, now=NOW)
        with pytest.raises(PlanRefusedError, match="accepted meanwhile"):
            accept_answer(row, by=BY, now=NOW)
        assert Plan.objects.filter(state="published").count() == 1

    def test_a_changed_world_is_told_and_nothing_is_published(self, job):
        """Somebody says more while the ways out lie open."""
        rain()
        row = steady()
        rain(cause="wind")
        with pytest.raises(PlanRefusedError, match="Something has changed"):
            accept_answer(row, by=BY, now=NOW)
        assert Plan.objects.get(state="published").number == 1

    def test_a_twin_cannot_be_accepted(self, job):
        """No overtime equals steady here: it has no plan of its own."""
        rain()
        found = answer_better(read_storm(NOW), NOW, ways=(Way.NO_OVERTIME,), seconds=0.05)
        with pytest.raises(PlanRefusedError, match="no plan of its own"):
            accept_answer(found[0].row, by=BY, now=NOW)

    def test_nothing_published_is_told(self):
        """There is nothing to mend."""
        open_office()
        small_job()
        with pytest.raises(NothingPublishedError, match="Nothing is published"):
            read_storm(NOW)


class TestUndo:
    """The earlier plan again."""

    def test_undo_brings_every_date_back(self, job):
        """Rows of plan 3 stand where those of plan 1 stood; the rain is taken back."""
        rain()
        accept_answer(steady(), by=BY, now=NOW)
        done = undo(by=BY, now=NOW)
        stands = [
            list(
                Plan.objects.get(number=n)
                .rows.order_by("activity_id")
                .values_list("activity_id", "start", "finish", "crew_id")
            )
            for n in (1, done.accepted.plan.number)
        ]
        assert stands[0] == stands[1]
        assert (done.back_to, done.taken_back) == (1, LostTime.objects.count())
        assert LostTime.objects.filter(taken_back_at=None).count() == 0

    def test_work_done_since_stays_done(self, job):
        """The first work was logged as done after the storm: undo plans around the fact."""
        rain()
        plan = accept_answer(steady(), by=BY, now=NOW).plan
        row = plan.rows.filter(crew__isnull=False).order_by("start")[0]
        later = row.finish + timedelta(hours=3)
        said = Said(uuid4(), row.activity, row.start.astimezone(EASTERN).date(), "done", later)
        log_day(said, by=BY, now=later)
        undo(by=BY, now=later)
        again = Plan.objects.get(state="published").rows.get(activity=row.activity)
        assert (again.start, again.finish) == (row.start, row.finish)

    def test_without_an_earlier_plan_it_is_refused(self, job):
        """Plan 1 is the first."""
        with pytest.raises(PlanRefusedError, match="no earlier plan"):
            undo(by=BY, now=NOW)


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
        assert told.startswith("Changed on Tue 16 Jun: Your garden is now planned to be finished")
        assert "because of rain" in told
        assert "crew" not in told.lower()


class TestDayLog:
    """What was done becomes fact; the log is only ever added to."""

    @pytest.fixture
    def row(self, job):
        """The first work with a crew, and the evening after it."""
        return (
            Plan.objects.get(state="published").rows.filter(crew__isnull=False).order_by("start")[0]
        )

    def said(self, row, kind, **more):
        """Something said of a work on its first day."""
        return Said(
            more.pop("client", uuid4()),
            row.activity,
            row.start.astimezone(EASTERN).date(),
            kind,
            row.finish,
            **more,
        )

    def test_started_then_part_way_then_done(self, row):
        """Start and finish are those planned, the crew is the plan's."""
        evening = row.finish + timedelta(hours=4)
        log_day(self.said(row, "started"), by=BY, now=evening)
        log_day(self.said(row, "part-way", share=40), by=BY, now=evening)
        activity = row.activity
        activity.refresh_from_db()
        assert (activity.started_at, activity.done_share, activity.done_crew) == (
            row.start,
            40,
            row.crew,
        )
        log_day(self.said(row, "done"), by=BY, now=evening)
        activity.refresh_from_db()
        assert (activity.finished_at, activity.done_share) == (row.finish, 100)
        assert [line.kind for line in DayLog.objects.order_by("pk")] == [
            "started",
            "part-way",
            "done",
        ]

    def test_a_quantity_is_a_share(self, row):
        """A quarter of it in its own unit."""
        quarter = row.activity.quantity / 4
        line = log_day(self.said(row, "part-way", quantity=quarter), by=BY, now=row.finish)
        assert line.share == 25

    def test_the_same_tap_sent_twice_counts_once(self, row):
        """By the uuid made on the phone."""
        client = uuid4()
        lines = [
            log_day(self.said(row, "started", client=client), by=BY, now=row.finish)
            for _ in range(2)
        ]
        assert lines[0] == lines[1]
        assert DayLog.objects.count() == 1

    def test_not_today_for_a_reason_is_time_lost_to_that_work(self, row):
        """The rest of the yard goes on."""
        log_day(self.said(row, "not-today", cause="wind", note="gusts"), by=BY, now=row.start)
        lost = LostTime.objects.get()
        assert (lost.activity, lost.cause, lost.why) == (row.activity, "wind", "gusts")
        row.activity.refresh_from_db()
        assert row.activity.started_at is None

    @pytest.mark.parametrize(
        ("kind", "more", "told"),
        [("part-way", {}, "1 to 99"), ("part-way", {"share": 100}, "1 to 99")],
    )
    def test_a_share_that_is_none_is_refused(self, row, kind, more, told):
        """Nothing is written."""
        with pytest.raises(LogRefusedError, match=told):
            log_day(self.said(row, kind, **more), by=BY, now=row.finish)
        assert DayLog.objects.count() == 0

    def test_tomorrow_cannot_be_logged_today(self, row):
        """It is yet to come."""
        with pytest.raises(LogRefusedError, match="yet to come"):
            log_day(self.said(row, "done"), by=BY, now=NOW)

    def test_what_is_done_is_done(self, row):
        """A note may follow, nothing else."""
        log_day(self.said(row, "done"), by=BY, now=row.finish)
        with pytest.raises(LogRefusedError, match="done before"):
            log_day(self.said(row, "started"), by=BY, now=row.finish)
        log_day(self.said(row, "note", note="swept"), by=BY, now=row.finish)
        assert DayLog.objects.count() == 2


class TestMessages:
    """Drafts say what changed, and go out only when somebody presses send."""

    def test_crews_and_homeowner_get_a_draft(self, job):
        """One for each crew whose days changed, one for the yard whose finish moved."""
        rain(3)
        accept_answer(steady(), by=BY, now=NOW)
        found = {draft.key: draft for draft in drafts(NOW)}
        assert "homeowner-3-finch-street" in found
        assert "because of rain" in found["homeowner-3-finch-street"].text
        assert any(key.startswith("crew-") for key in found)
        assert len(mail.outbox) == 0

    def test_nothing_changed_nobody_is_told(self, job):
        """The same plan published again."""
        published_plan()
        assert drafts(NOW) == []

    def test_send_sends_what_is_shown(self, job):
        """To the address in the field; the record says so."""
        rain(3)
        accept_answer(steady(), by=BY, now=NOW)
        draft = next(one for one in drafts(NOW) if one.key.startswith("homeowner"))
        client = signed_in()
        wrong = client.post(reverse("send-draft", args=[draft.key]), {"to": "nobody"})
        assert (wrong.status_code, len(mail.outbox)) == (422, 0)
        assert "Write an e-mail address" in wrong.content.decode()
        client.post(reverse("send-draft", args=[draft.key]), {"to": "ann@example.com"})
        (sent,) = mail.outbox
        assert (sent.to, sent.subject, sent.body) == (
            ["ann@example.com"],
            draft.subject,
            draft.text,
        )
        assert HistoryEntry.objects.filter(what="message sent").count() == 1


class TestCommands:
    """``lose_days`` and ``undo``."""

    def test_lose_days_prints_the_ways_and_accepts_one(self, job):
        """JSON with the same six lines for each."""
        told = StringIO()
        first = first_day().isoformat()
        call_command(
            "lose_days",
            "--from",
            first,
            "--days",
            "2",
            "--accept",
            "steady",
            "--limit",
            "0.05",
            "--json",
            stdout=told,
        )
        found = json.loads(told.getvalue())
        assert {way["way"] for way in found["alternatives"]} == set(Way)
        six = {
            "finishes",
            "promises_at_risk",
            "crew_days_changed",
            "saturdays",
            "rentals_extended",
            "money",
        }
        for way in found["alternatives"]:
            assert six <= set(way) or way["same_as"] == "steady"
        assert (found["accepted"], found["plan"]) == ("steady", 2)
        assert found["lost"][0]["from"] == first
        call_command("undo", stdout=told)
        assert "plan 1 again, published as plan 3" in told.getvalue()

    def test_no_overtime_that_is_a_twin_accepts_steady(self, job):
        """No crew works weekends; the text says so."""
        told = StringIO()
        args = ("--from", first_day().isoformat(), "--accept", "no-overtime", "--limit", "0.05")
        call_command("lose_days", *args, stdout=told)
        assert "no-overtime: the same as steady" in told.getvalue()
        assert Plan.objects.get(state="published").method == "steady"

    @pytest.mark.parametrize(
        "args",
        [
            ("--from", "yesterday"),
            ("--from", "2026-06-22", "--days", "0"),
            ("--from", "2026-06-22", "--job", "nowhere"),
            ("--from", "2026-06-22", "--from-slot", "9"),
            ("--from", "2026-06-22", "--rain", "much"),
        ],
    )
    def test_nonsense_ends_with_two(self, job, args):
        """One line, no trace, nothing written."""
        with pytest.raises(CommandError) as error:
            call_command("lose_days", *args)
        assert error.value.returncode == 2
        assert LostTime.objects.count() == 0

    def test_undo_without_an_earlier_plan_ends_with_two(self, job):
        """Told in one line."""
        with pytest.raises(CommandError) as error:
            call_command("undo")
        assert error.value.returncode == 2


class TestPages:
    """Who may look and who may act, refusals beside their field, as many questions at two yards as at one."""

    def test_everybody_in_the_office_may_look(self, job):
        """Strangers sign in first."""
        rain()
        answer_at_once(read_storm(NOW), NOW)
        for role in Role:
            client = signed_in(role)
            for name, args in (
                ("storm", []),
                ("told", []),
                ("day", [job.slug]),
                ("moved", [job.slug]),
            ):
                assert client.get(reverse(name, args=args)).status_code == 200, (role, name)

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_only_owner_and_scheduler_act(self, job, role):
        """Nothing is written by the others."""
        rain()
        row = steady()
        client = signed_in(role)
        before = (LostTime.objects.count(), Plan.objects.count())
        posts = [
            ("storm-lose", []),
            ("storm-out", []),
            ("storm-later", []),
            ("storm-ask", []),
            ("storm-better", []),
            ("accept-way", [row.pk]),
            ("take-back", ["lost", LostTime.objects.all()[0].pk]),
            ("undo-plan", []),
            ("send-draft", ["crew-x"]),
        ]
        assert [client.post(reverse(n, args=a)).status_code for n, a in posts] == [403] * len(posts)
        assert (LostTime.objects.count(), Plan.objects.count()) == before

    def test_the_whole_path(self, job):
        """Say it, see the ways, accept steady, read who must be told."""
        client, day = signed_in(), first_day().isoformat()
        said = {"when": "range", "first": day, "whom": "all", "cause": "rain"}
        answer = client.post(reverse("storm-lose"), said, follow=True)
        page = answer.content.decode()
        assert "Push right" in page
        assert "Old order" in page
        assert "What moves" in page
        client.post(reverse("storm-better"))
        page = client.get(reverse("storm")).content.decode()
        assert "Accept steady" in page
        assert "No overtime is the same as steady" in page
        row = Answer.objects.filter(way="steady").latest("pk")
        answer = client.post(reverse("accept-way", args=[row.pk]), follow=True)
        assert "Who must be told" in answer.content.decode()
        assert "is published" in answer.content.decode()

    @pytest.mark.parametrize(
        ("name", "said", "told"),
        [
            ("storm-lose", {"when": "range"}, "Say the first day."),
            (
                "storm-lose",
                {"when": "range", "first": "2026-06-24", "last": "2026-06-22"},
                "swap the two",
            ),
            ("storm-out", {"out-first": ""}, "This field is required"),
            ("storm-later", {"later-day": "x"}, "Enter a valid date"),
        ],
    )
    def test_a_refusal_stands_beside_its_field(self, job, name, said, told):
        """422, what was typed is kept, nothing is written; the pretended day is 6 pm."""
        Delivery.objects.create(job=job, name="Bench", activity=job.activities.all()[0])
        given = {"whom": "all", "cause": "rain"} | said
        answer = signed_in().post(reverse(name), given)
        assert answer.status_code == 422
        assert told in answer.content.decode()
        assert (LostTime.objects.count(), TimeOff.objects.count()) == (0, HOLIDAYS)

    def test_said_in_the_evening_it_means_the_whole_day(self, job):
        """At 6 pm today's work is over: rained out today and tomorrow is Tuesday and Wednesday, all of both."""
        said = {"when": "both", "whom": "all", "cause": "rain"}
        signed_in().post(reverse("storm-lose"), said)
        row = LostTime.objects.get(dries=None)
        assert (row.first, row.last) == (date(2026, 6, 16), date(2026, 6, 17))
        assert (row.first_slots, row.last_slots) == (ALL_DAY, ALL_DAY)

    def test_what_was_said_can_be_taken_back(self, job):
        """Both kinds."""
        client = signed_in()
        row = rain()[0]
        crew = Crew.objects.all()[0]
        change = out(crew, first_day(), first_day(), why="", by=BY, now=NOW)
        client.post(reverse("take-back", args=["lost", row.pk]))
        client.post(reverse("take-back", args=["change", change.pk]))
        assert "Said since then" not in client.get(reverse("storm")).content.decode()
        assert client.post(reverse("take-back", args=["lost", row.pk])).status_code == 404

    def test_a_lead_logs_the_own_crew_and_no_other(self, job):
        """A viewer logs nothing."""
        row = (
            Plan.objects.get(state="published").rows.filter(crew__isnull=False).order_by("start")[0]
        )
        client = signed_in(Role.LEAD)
        address = reverse("say-day", args=[job.slug, row.activity.uid])
        said = {"kind": "note", "client": str(uuid4()), "note": "gate was locked"}
        assert client.post(address, said).status_code == 403
        row.crew.lead_id = int(client.session["_auth_user_id"])
        row.crew.save()
        assert client.post(address, said).status_code == 302
        assert DayLog.objects.get().note == "gate was locked"
        assert signed_in(Role.VIEWER).post(address, said).status_code == 403

    def test_a_share_that_cannot_be_is_told_at_its_work(self, job):
        """422 with the sentence."""
        row = Plan.objects.get(state="published").rows.filter(crew__isnull=False)[0]
        said = {"kind": "part-way", "client": str(uuid4()), "share": "400"}
        answer = signed_in().post(reverse("say-day", args=[job.slug, row.activity.uid]), said)
        assert answer.status_code == 422
        assert DayLog.objects.count() == 0
