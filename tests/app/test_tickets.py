"""Marks have a legal life: a plan that digs longer asks again in time."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.models import Activity, HistoryEntry, Notice, PlanRow
from jobs.services.numbers.library import current_library
from jobs.services.planning.tickets import renewals, write_notices
from tests.office import SLUG, open_office, published_plan, signed_in, small_job

if TYPE_CHECKING:
    from jobs.models import Plan

MONDAY = datetime.fromisoformat("2026-06-08T09:00")


def asked_again(state: str, *digs: date) -> list[tuple[date, date | None]]:
    """Day of each later call and the last day its marks are good."""
    rule = current_library().notices[state]
    return [(t.asked.date(), t.expires) for t in renewals(MONDAY, digs, rule, frozenset())]


def test_digging_within_the_life_asks_once():
    """North Carolina: 15 working days from Monday 8 June run to Monday 29 June (G.S. 87-122).

    That is not enough for 3 August; called on 22 July it is.
    """
    assert asked_again("NC", date(2026, 6, 12), date(2026, 6, 29)) == []


def test_a_call_too_long_ahead_is_made_again_in_time():
    """South Carolina: asked Monday 8 June, start by Thursday 25 June (12 full working days, 58-36-60).

    Dug from Thursday 2 July it is asked again on Friday 26 June, three full working days before.
    """
    assert asked_again("SC", date(2026, 6, 25)) == []
    (again, *_) = asked_again("SC", date(2026, 7, 2))
    assert again[0] == date(2026, 6, 26)


def test_after_weeks_of_closed_days_the_first_call_is_kept():
    """Nothing but holidays from 9 June to 31 July: no later call would do before 3 August."""
    shut = frozenset(date(2026, 6, 9) + timedelta(days=n) for n in range(53))
    rule, dig = current_library().notices["SC"], date(2026, 8, 3)
    assert [t.asked.date() for t in renewals(MONDAY, [dig], rule, shut)] == []


def test_digging_after_it_asks_again_three_business_days_before():
    """Wednesday 24 June, so that the new marks are good when the old ones end."""
    (again,) = asked_again("NC", date(2026, 6, 12), date(2026, 7, 2))
    assert again == (date(2026, 6, 24), date(2026, 7, 15))


def test_long_digging_asks_as_often_as_it_must():
    """Every ticket is renewed before it ends, none is missing in between."""
    calls = asked_again("NC", date(2026, 6, 12), date(2026, 8, 28))
    assert len(calls) == 4
    ends = [date(2026, 6, 29), *(ends for _, ends in calls)]
    assert all(asked < before for (asked, _), before in zip(calls, ends, strict=False))
    assert ends[-1] >= date(2026, 8, 28)


@pytest.mark.django_db
def test_every_day_of_digging_counts_not_only_the_first():
    """A dig that is begun within the life of the marks, and goes on in August, needs further calls."""
    open_office()
    small_job()
    plan = published_plan()
    row = plan.rows.select_related("activity").get(activity__template="dig-out")
    assert write_notices(plan) == 0
    first, august = row.segments[0], [f"2026-08-03T{hour}:00:00-04:00" for hour in ("07", "15")]
    row.segments = [first, [*august, True]]
    row.save()
    assert write_notices(plan) > 0


def dug_again_in_august() -> Plan:
    """A plan of a small yard that breaks ground two months after its first call."""
    open_office()
    small_job()
    plan = published_plan()
    assert Notice.objects.count() == 0
    activity = Activity.objects.get(template="dg-path")
    activity.template = "dig-out"
    activity.save()
    row = PlanRow.objects.get(activity=activity)
    row.start, row.finish = (moment.replace(month=8, day=3) for moment in (row.start, row.finish))
    row.segments = [[row.start.isoformat(), row.finish.isoformat(), True]]
    row.save()
    return plan


def dig_on(row: PlanRow, day: int) -> None:
    """Let a work of a plan be done on another day of August."""
    row.start, row.finish = (moment.replace(day=day) for moment in (row.start, row.finish))
    row.segments = [[row.start.isoformat(), row.finish.isoformat(), True]]
    row.save()


@pytest.mark.django_db
class TestCalls:
    """Further calls stand on the first screen until somebody says that one was made."""

    def test_publishing_keeps_the_calls_a_plan_needs(self):
        """A dig two months later needs further calls; each leads to where it is said."""
        needed = write_notices(dug_again_in_august())
        assert needed == Notice.objects.count() > 0
        notice = Notice.objects.earliest("ask_on")
        notice.ask_on = date(2026, 6, 20)
        notice.save()
        page = signed_in().get("/").content.decode()
        assert "Call again for utility marks" in page
        assert reverse("call-again", args=[SLUG, notice.pk]) in page

    def test_a_call_that_was_made_leaves_the_screen_and_is_not_asked_for_again(self):
        """North Carolina, called Monday 8 June: good from Friday 12 for 15 working days, to Monday 29 June (G.S. 87-122).

        That is not enough for 3 August; called on 22 July it is.
        """
        plan = dug_again_in_august()
        needed = write_notices(plan)
        notice = Notice.objects.earliest("ask_on")
        page = call(notice, sent_on="2026-06-08", reference="A-17")
        assert "ticket A-17" in page
        notice.refresh_from_db()
        kept = timezone.localtime(notice.good_from, ZoneInfo(notice.job.zone)).date()
        assert (kept, notice.expires_on) == (date(2026, 6, 12), date(2026, 6, 29))
        assert (needed, write_notices(plan)) == (1, 1)
        Notice.objects.filter(pk=notice.pk).update(sent_on=date(2026, 7, 22))
        assert write_notices(plan) == 0
        assert "Call again for utility marks" not in signed_in().get("/").content.decode()

    def test_a_page_that_is_open_while_plans_are_made_anew_stays(self):
        """The next call is the same one on another day: what was typed on its page is kept with it."""
        plan = dug_again_in_august()
        write_notices(plan)
        [first] = Notice.objects.all()
        locate = plan.rows.get(activity__template="locate-notice")
        locate.start, locate.finish = (
            moment - timedelta(days=1) for moment in (locate.start, locate.finish)
        )
        locate.save()
        write_notices(plan)
        [again] = Notice.objects.all()
        assert (again.pk, again.ask_on < first.ask_on) == (first.pk, True)
        dig_on(plan.rows.get(activity__name__startswith="Lay crushed-stone path"), 10)
        assert write_notices(plan) == 2
        assert Notice.objects.earliest("ask_on").pk == first.pk
        assert "ticket A-17" in call(first, sent_on="2026-06-08", reference="A-17")
        write_notices(plan)
        kept = Notice.objects.get(pk=first.pk)
        assert (kept.sent_on, kept.reference) == (date(2026, 6, 8), "A-17")

    def test_calls_that_stay_are_not_touched(self):
        """A plan accepted anew on the same days edits none of them."""
        plan = dug_again_in_august()
        write_notices(plan)
        before = list(Notice.objects.order_by("pk").values())
        assert write_notices(plan) == len(before) > 0
        assert list(Notice.objects.order_by("pk").values()) == before

    def test_a_call_that_a_plan_needs_no_more_says_so_and_may_be_needed_again(self):
        """Dug within the first ticket, nobody is to call; its page stays, and the call comes back with the dig."""
        plan = dug_again_in_august()
        write_notices(plan)
        calls = set(Notice.objects.values_list("pk", flat=True))
        row = plan.rows.get(activity__name__startswith="Lay crushed-stone path")
        activity = row.activity
        Activity.objects.filter(pk=activity.pk).update(template="dg-path")
        assert write_notices(plan) == 0
        page = signed_in().get(reverse("call-again", args=[SLUG, min(calls)])).content.decode()
        assert "no further call is needed here" in page
        assert "Call again for utility marks" not in signed_in().get("/").content.decode()
        Activity.objects.filter(pk=activity.pk).update(template="dig-out")
        assert write_notices(plan) == len(calls)
        assert set(Notice.objects.values_list("pk", flat=True)) == calls

    def test_one_made_though_no_plan_needs_it_counts(self):
        """Somebody called from the page he had open: the next dig goes by that ticket."""
        plan = dug_again_in_august()
        write_notices(plan)
        Notice.objects.update(needed=False)
        assert "ticket B-2" in call(Notice.objects.all()[0], sent_on="2026-06-08", reference="B-2")
        write_notices(plan)
        assert Notice.objects.filter(sent_on=None, needed=True).earliest("ask_on").ask_on > date(2026, 6, 8)  # fmt: skip

    def test_said_twice_it_is_one_call(self):
        """The second time says so; another number puts the first right."""
        write_notices(dug_again_in_august())
        notice = Notice.objects.earliest("ask_on")
        pages = [
            call(notice, sent_on="2026-06-08", reference=ref) for ref in ("A-17", "A-17", "A-18")
        ]
        assert ["it counts once" in page for page in pages] == [False, True, False]
        assert HistoryEntry.objects.filter(what="marks called for again").count() == 2

    @pytest.mark.parametrize(
        ("day", "wrong"),
        [("2026-06-17", "still to come"), ("2026-01-08", "months ago"), ("soon", "A date such as")],
    )
    def test_a_day_that_cannot_be(self, day, wrong):
        """Tomorrow, half a year ago, no day; what was typed beside it stands."""
        write_notices(dug_again_in_august())
        notice = Notice.objects.earliest("ask_on")
        answer = signed_in().post(
            reverse("call-again", args=[SLUG, notice.pk]), {"sent_on": day, "reference": "A-17"}
        )
        assert (answer.status_code, notice.sent_on) == (422, None)
        assert wrong in answer.content.decode()
        assert 'value="A-17"' in answer.content.decode()


def call(notice: Notice, **told: str) -> str:
    """Say that a call was made, and read the page it leads to."""
    address = reverse("call-again", args=[SLUG, notice.pk])
    return signed_in().post(address, told, follow=True).content.decode()
