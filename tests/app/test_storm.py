"""After the storm: lost time closes slots, ways out are accepted or refused whole, undo brings back."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from crews.models import CalendarEvent
from jobs.models import HistoryEntry, Job, LostTime, Plan
from jobs.models.cause import ALL_DAY
from jobs.scheduling.storm.ways_out import Way
from jobs.services.causes.lose_days import Lost, dry_at, lose_days, say_again, say_lost, take_back
from jobs.services.day.log_day import Said, log_day
from jobs.services.pages.storm import read_storm_page
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.accept_storm import accept_answer, undo
from jobs.services.storm.offer import NothingPublishedError, answer_better, read_storm
from jobs.services.world.revision import world_revision
from tests.office import NOW, open_office, published_yard, small_job
from tests.storms import BY, EASTERN, first_day, rain, steady

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first work with a crew is the day that gets rained out."""
    return published_yard()


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

    def test_it_rained_all_the_same(self, job):
        """What undoing took back is told on the page; said again, drying and all, ways out are found and it is told no more."""
        rain()
        lost = list(LostTime.objects.order_by("pk").values_list("pk", "first", "last"))
        accept_answer(steady(), by=BY, now=NOW)
        undo(by=BY, now=NOW)
        page = read_storm_page(NOW)
        assert (page.said, page.earlier) == ((), 2)
        assert page.undone == (say_lost(LostTime.objects.get(dries=None)),)
        say_again(by=BY, now=NOW)
        open_again = LostTime.objects.filter(plan=None, taken_back_at=None).order_by("pk")
        assert list(open_again.values_list("pk", "first", "last")) == lost
        assert read_storm_page(NOW).undone == ()
        assert accept_answer(steady(), by=BY, now=NOW).plan.number == 4

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
