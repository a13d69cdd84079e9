"""Hours of days: seasons, weekdays, crews of their own; what an axis and phones make of them.

In 2026 clocks in New York go forward on Sunday 8 March and back on Sunday 1 November.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from crews.models import CalendarEvent, DayHours
from crews.services.day_hours import read_book
from jobs.models import Delivery
from jobs.scheduling.slots import day_of, make_axis
from jobs.services.causes.lose_days import day_slots
from jobs.services.world.keep import placements_of
from jobs.services.world.read_world import read_world
from jobs.trade.work import Clock
from tests.factories import CrewFactory, DayHoursFactory
from tests.office import NOW, open_office, published_plan, small_job

pytestmark = pytest.mark.django_db
NEW_YORK = ZoneInfo("America/New_York")
SUMMER = {"first_month": 6, "first_day": 1, "last_month": 8, "last_day": 31}
WINTER = {"first_month": 11, "first_day": 15, "last_month": 2, "last_day": 28}
FRIDAY = 1 << 4


def begin(day: date) -> tuple[time, int]:
    """When everybody's day begins, and how long lunch is."""
    return tuple(read_book().on(day))


class TestBook:
    """Which row holds for a day."""

    def test_seven_and_half_an_hour_where_nothing_is_told(self):
        """The usual of the trade."""
        assert begin(date(2026, 6, 8)) == (time(7), 30)

    def test_summer_hours_have_a_first_and_a_last_day(self):
        """From six in June, July and August, every year; the year's hours around them."""
        DayHoursFactory(starts=time(6), lunch=60, **SUMMER)
        DayHoursFactory(starts=time(7, 30), lunch=45)
        days = [(2026, 5, 31), (2026, 6, 1), (2026, 8, 31), (2026, 9, 1), (2031, 7, 4)]
        assert [begin(date(*day))[0].hour for day in days] == [7, 6, 6, 7, 6]
        assert begin(date(2026, 9, 1)) == (time(7, 30), 45)

    def test_a_season_may_run_over_the_end_of_the_year(self):
        """From eight between the middle of November and the end of February."""
        DayHoursFactory(starts=time(8), **WINTER)
        days = [(2026, 11, 14), (2026, 11, 15), (2026, 12, 31), (2027, 1, 1), (2027, 2, 28)]
        days.append((2027, 3, 1))
        assert [begin(date(*day))[0].hour for day in days] == [7, 8, 8, 8, 8, 7]

    def test_some_weekdays_only(self):
        """From six on Fridays in summer: 12 June is one, 11 June none."""
        DayHoursFactory(starts=time(6), weekdays=FRIDAY, **SUMMER)
        assert [begin(date(2026, 6, day))[0].hour for day in (11, 12)] == [7, 6]

    def test_a_crew_of_its_own(self):
        """The green crew begins at six on Fridays, an hour before the others, and at seven else."""
        green = CrewFactory(name="Green crew")
        DayHoursFactory(crew=green, starts=time(6), weekdays=FRIDAY)
        book = read_book()
        assert [book.shift("green-crew", date(2026, 6, day)) for day in (11, 12)] == [0, -60]
        assert (book.shifts("green-crew"), book.shifts("stone-crew")) == ((-60, 0), (0, 0))
        assert book.starts("green-crew", date(2026, 6, 12)) == time(6)

    def test_one_query(self, django_assert_num_queries):
        """Crews come along."""
        DayHoursFactory(crew=CrewFactory())
        with django_assert_num_queries(1):
            assert read_book().shift("nobody", date(2026, 6, 8)) == 0


class TestAxis:
    """Slots keep their number; the clock changes."""

    def axis(self, first: date, days: int, zone: ZoneInfo = NEW_YORK):
        """An axis by the book."""
        book = read_book()
        return make_axis(first, days, zone, hours=lambda day: day_of(*book.on(day)))

    def test_slots_of_summer_and_of_autumn(self):
        """Mon 31 August from six with an hour of lunch; Tue 1 September as ever."""
        DayHoursFactory(starts=time(6), lunch=60, **SUMMER)
        axis = self.axis(date(2026, 8, 31), 2)
        told = [f"{axis.begins(slot):%H:%M}-{axis.ends(slot):%H:%M}" for slot in range(axis.size)]
        assert told[:6] == [
            "04:00-06:00", "06:00-08:00", "08:00-10:00", "11:00-13:00", "13:00-15:00",
            "20:00-23:00",
        ]  # fmt: skip
        assert told[7:11] == ["07:00-09:00", "09:00-11:00", "11:30-13:30", "13:30-15:30"]

    @pytest.mark.parametrize(
        ("changes", "hours"),
        [(date(2026, 3, 7), 23), (date(2026, 10, 31), 25), (date(2026, 12, 31), 24)],
    )
    def test_from_one_day_to_the_next(self, changes, hours):
        """Over both changes of the clocks and over the year's end: eight o'clock to eight o'clock."""
        DayHoursFactory(starts=time(8))
        axis = self.axis(changes, 2)
        assert (axis.begin[7] - axis.begin[1]) == hours * 60
        assert [axis.begins(slot).hour for slot in (1, 7)] == [8, 8]

    def test_the_evening_waits_for_a_late_day(self):
        """In December it is dark at five, but a day from ten lasts until half past six."""
        axis = make_axis(
            date(2026, 12, 14), 1, NEW_YORK,
            evening=lambda _: time(17), hours=lambda _: day_of(time(10), 30),
        )  # fmt: skip
        assert [f"{axis.begins(5):%H:%M}", f"{axis.ends(5):%H:%M}"] == ["18:30", "21:30"]


class TestPlans:
    """What a plan and phones make of them."""

    @pytest.fixture(autouse=True)
    def office(self):
        """The small yard, from Monday 22 June."""
        open_office()
        return small_job()

    def local(self, plan, template: str) -> tuple[str, str]:
        """First and last hour of a work in New York."""
        row = plan.rows.get(activity__template=template)
        return tuple(f"{it.astimezone(NEW_YORK):%d %H:%M}" for it in (row.start, row.finish))

    def test_summer_hours_change_the_clock_and_nothing_else(self):
        """A whole day by the ground crew, one slot after the green crew's first: an hour sooner."""
        usual = published_plan()
        assert self.local(usual, "protect-site") == ("25 09:00", "25 15:30")
        before = placements_of(usual, read_world(NOW))
        DayHoursFactory(starts=time(6), **SUMMER)
        summer = published_plan()
        assert self.local(summer, "protect-site") == ("25 08:00", "25 14:30")
        assert placements_of(usual, read_world(NOW)) == before
        assert placements_of(summer, read_world(NOW)) == before

    def test_a_crew_that_begins_sooner_is_shown_so(self):
        """The ground crew from six; its slots are the same, its delivery comes when it begins."""
        crew = published_plan().rows.get(activity__template="dig-out").crew
        DayHours.objects.create(crew=crew, starts=time(6))
        plan = published_plan()
        row = plan.rows.get(activity__template="dig-out")
        assert row.crew == crew
        assert self.local(plan, "dig-out") == ("01 06:00", "01 08:00")
        Delivery.objects.create(job=row.activity.job, activity=row.activity, name="Gravel")
        published_plan()
        event = CalendarEvent.objects.get(kind="delivery")
        assert event.start == datetime(2026, 7, 1, 6, tzinfo=NEW_YORK)

    def test_waits_hold_for_the_crew_that_is_sooner_and_the_one_that_is_later(self):
        """The link from the ground crew's digging to others' work is as much longer as they may be sooner."""
        plain = read_world(NOW).world.ties
        crew = published_plan().rows.get(activity__template="protect-site").crew
        DayHours.objects.create(crew=crew, starts=time(8))
        world = read_world(NOW).world
        for was, tie in zip(plain, world.ties, strict=True):
            late = crew.slug in world.works[tie.before].crews
            longer = 60 if late and tie.lag.clock is Clock.ELAPSED else 0
            assert tie.lag.amount - was.lag.amount == longer
        assert any(crew.slug in world.works[tie.before].crews for tie in world.ties)

    def test_time_lost_goes_by_the_hours_of_the_day(self):
        """The third slot of a summer's day begins at 10:30."""
        DayHoursFactory(starts=time(6), **SUMMER)
        assert day_slots(read_book(), NOW.date())[2].begin == time(10, 30)
        assert day_slots(read_book(), NOW.date() + timedelta(days=90))[2].begin == time(11, 30)
