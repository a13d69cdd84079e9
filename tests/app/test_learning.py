"""One's own pace from works that are done: seen beside ours, taken only by a button."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from crews.models import Crew, Role
from crews.services.setup import ChangedMeanwhileError
from jobs.models import Activity, DayLog, Job, LostTime, Override
from jobs.services.day.learning import own_paces, seen_of, take_pace
from jobs.services.numbers.own_figures import SetBy
from jobs.services.pages.learning import read_learned, read_learned_of
from jobs.services.scope.take_numbers import propose
from jobs.trade.errors import TradeError
from tests.office import NOW, signed_in

pytestmark = pytest.mark.django_db
EASTERN = ZoneInfo("America/New_York")
PATH = "template dg-path rate"
SAID = SetBy("Ana", NOW)


def done(job: Job, first: int, days: int, number: int = 1, crew: str = "ground-crew") -> Activity:
    """A path of 270 square feet, 0.6 of a day by ours, done in whole days from a day of June 2026 on."""
    work = Activity.objects.get(job=job, template="dg-path", finished_at=None)
    work.pk, work.uid, work.key = None, uuid4().hex, f"done/{number}"
    work._state.adding = True
    work.started_at = datetime(2026, 6, first, 7, tzinfo=EASTERN)
    work.finished_at = datetime(2026, 6, first + days - 1, 15, 30, tzinfo=EASTERN)
    work.done_share, work.done_crew = 100, Crew.objects.get(slug=crew)
    work.quantity, work.days = Decimal(270), Decimal("0.6")
    work.people = 3  # as many as the ground crew has: nothing to correct for
    work.save()
    return work


def crew_of_three() -> Crew:
    """The ground crew, brought to three people."""
    crew = Crew.objects.get(slug="ground-crew")
    for member in list(crew.members.all())[3:]:
        member.delete()
    for n in range(3 - crew.members.count()):
        crew.members.create(name=f"Person {n}")
    return crew


class TestLearning:
    """What counts, and how much."""

    def test_three_paths_that_took_longer(self, job):
        """Four slots each where ours gives three: 1.333, drawn half way to 1.155; 450 ft2 a day become 390."""
        crew_of_three()
        for n, day in enumerate((1, 2, 3)):
            done(job, day, 1, n)
        pace = own_paces(NOW)[PATH]
        assert [(row.days, row.ours) for row in pace.actuals] == [(1, Decimal("0.600"))] * 3
        assert pace.learned is not None
        assert (round(pace.learned.seen, 3), round(pace.learned.factor, 3)) == (
            Decimal("1.333"),
            Decimal("1.155"),
        )
        assert pace.value is not None
        assert pace.value[1] == 390

    def test_time_that_was_lost_is_not_the_crews(self, job):
        """Two days, one of them rained out: one day."""
        crew_of_three()
        work = done(job, 1, 2)
        LostTime.objects.create(
            first=work.finished_at.date(),
            last=work.finished_at.date(),
            cause="rain",
            by="Ana",
            at=NOW,
        )
        assert [row.days for row in own_paces(NOW)[PATH].actuals] == [1]

    def test_nor_are_weekends(self, job):
        """Friday 5 to Monday 8 June: two days."""
        crew_of_three()
        done(job, 5, 4)
        assert [row.days for row in own_paces(NOW)[PATH].actuals] == [2]

    def test_people_who_were_there_count(self, job):
        """Two people logged where three are usual: 0.6 x 1.5 ^ 0.9 = 0.86 of a day, four slots, as they took."""
        crew_of_three()
        work = done(job, 1, 1)
        line = DayLog(job=job, activity=work, day=work.started_at.date(), kind="done", people=2)
        line.by, line.device_at, line.server_at = "Ana", NOW, NOW
        line.save()
        (row,) = own_paces(NOW)[PATH].actuals
        assert row.people == 2
        assert row.ratio == 1

    def test_what_is_not_done_or_long_ago_does_not_count(self, job):
        """Neither the one of tomorrow nor one of three years ago."""
        late, old = done(job, 1, 1, 1), done(job, 2, 1, 2)
        Activity.objects.filter(pk=late.pk).update(finished_at=NOW + timedelta(hours=1))
        Activity.objects.filter(pk=old.pk).update(
            started_at=NOW - timedelta(days=1001), finished_at=NOW - timedelta(days=1000)
        )
        assert own_paces(NOW) == {}


class TestTaking:
    """Only by a button, as any figure of one's own."""

    def test_two_are_told_and_cannot_be_taken(self, job):
        """One more is wanted."""
        crew_of_three()
        for n in range(2):
            done(job, n + 1, 1, n)
        (row,) = read_learned(NOW, "dg-path")
        assert (row.count, row.wanted, row.value) == (2, 1, ())
        with pytest.raises(TradeError, match="too few works"):
            take_pace(PATH, row.told, SAID)

    def test_taken_it_is_proposed_to_every_job(self, job):
        """Nothing is reckoned with it before the job takes it too."""
        crew_of_three()
        for n in range(3):
            done(job, n + 1, 1, n)
        before = job.activities.get(template="dg-path", finished_at=None).days
        body = signed_in().get(reverse("template", args=["dg-path"])).content.decode()
        assert "390" in body
        pace = own_paces(NOW)[PATH]
        take_pace(PATH, seen_of(pace), SAID)
        assert Override.objects.get().value[1] == "390"
        assert job.activities.get(template="dg-path", finished_at=None).days == before
        assert propose(job) is not None
        assert read_learned_of(job, NOW) == ()
        assert read_learned(NOW, "dg-path")[0].taken

    def test_more_logged_meanwhile_is_told(self, job):
        """The editor saw three works; now there are four."""
        crew_of_three()
        for n in range(3):
            done(job, n + 1, 1, n)
        told = seen_of(own_paces(NOW)[PATH])
        done(job, 8, 1, 9)
        with pytest.raises(ChangedMeanwhileError):
            take_pace(PATH, told, SAID)
        page = reverse("take-pace", args=["dg-path"])
        answer = signed_in().post(page, {"path": PATH, "told": told}, follow=True)
        assert "More was logged since you looked" in answer.content.decode()

    def test_only_the_office_and_only_what_there_is(self, job):
        """A viewer is refused; a path of something else is not found."""
        page = reverse("take-pace", args=["dg-path"])
        assert signed_in(Role.VIEWER).post(page, {"path": PATH}).status_code == 403
        assert signed_in().post(page, {"path": "template pour-slab rate"}).status_code == 404
        assert signed_in().post(page, {"path": "x" * 5000}).status_code == 404

    def test_as_many_queries_for_three_works(self, job, django_assert_num_queries):
        """Works, lines, hours, losses: not one more a work."""
        crew_of_three()
        done(job, 1, 1, 1)
        own_paces(NOW)
        with django_assert_num_queries(9):
            own_paces(NOW)
        for n in (2, 3):
            done(job, n, 1, n)
        with django_assert_num_queries(9):
            assert len(own_paces(NOW)[PATH].actuals) == 3
