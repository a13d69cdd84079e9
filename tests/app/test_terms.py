"""Beside the ways out the owner says what must hold, asks again, and is told by name what cannot be kept."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.models import Activity, Answer, Cause, HistoryEntry, Plan, Term
from jobs.scheduling.storm.ways_out import Way
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.pages.storm import read_storm_page
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.offer import (
    answer_at_once,
    answer_better,
    offered_before,
    read_against,
    read_storm,
)
from jobs.services.storm.terms import (
    TermRefusedError,
    add_term,
    keep_for_good,
    remove_term,
    say_term,
)
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
BY = "test"
Kind = Term.Kind


@pytest.fixture
def rows():
    """Works of a small yard in order of their start; gusts stop everybody on the first day of work."""
    open_office()
    small_job()
    plan = published_plan()
    found = list(plan.rows.filter(crew__isnull=False).order_by("start"))
    first = found[0].start.date()
    lose_days(Lost(first, first, cause=Cause.WIND), by=BY, now=NOW)
    return found


def term(kind: str, **more: object) -> Term:
    """Say a term."""
    plan = Plan.objects.get(state=Plan.State.PUBLISHED)
    return add_term(Term(kind=kind, against=plan, **more), by=BY, now=NOW)


def after_the_wind(rows):
    """A work planned for some days later."""
    gusts = rows[0].start.date()
    return next(row for row in rows if row.start.date() > gusts + timedelta(days=3))


class TestTerms:
    """What is said holds in the ways out that are looked for next."""

    def test_every_way_keeps_what_was_said(self, rows):
        """Held back for two weeks, a work begins then, whichever way is taken."""
        row = after_the_wind(rows)
        day = row.start.date() + timedelta(days=14)
        term(Kind.NOT_BEFORE, activity=row.activity, day=day)
        weather = read_storm(NOW)
        axis = weather.planning.world.axis
        ways = (Way.STEADY, Way.ON_PROMISE)
        found = [
            *answer_at_once(weather, NOW),
            *answer_better(weather, NOW, ways=ways, seconds=0.05),
        ]
        starts = [axis.day(one.found.result.plan[row.activity.uid].start) for one in found]
        assert starts == [day] * 4

    def test_answers_belong_to_their_terms(self, rows):
        """What was found without the term is not offered with it, and is there again when it is taken away."""
        answer_at_once(read_storm(NOW), NOW)
        before = {row.pk for row in offered_before(read_against())}
        said = term(Kind.KEEP_CREW, activity=rows[0].activity)
        assert offered_before(read_against()) == []
        answer_at_once(read_storm(NOW), NOW)
        assert before.isdisjoint(row.pk for row in offered_before(read_against()))
        remove_term(said, by=BY, now=NOW)
        assert {row.pk for row in offered_before(read_against())} == before

    def test_a_way_found_under_terms_is_accepted_as_any_other(self, rows):
        """And the terms end with it: they were held against the plan before."""
        term(Kind.NO_WEEKENDS)
        found = answer_better(read_storm(NOW), NOW, ways=(Way.STEADY,), seconds=0.05)[0]
        assert accept_answer(found.row, by=BY, now=NOW).plan.state == Plan.State.PUBLISHED
        assert read_storm(NOW).terms == []

    def test_said_twice_it_is_one(self, rows):
        """And once in the record."""
        first, again = (term(Kind.KEEP_DAYS, activity=rows[0].activity) for _ in range(2))
        assert first == again
        assert HistoryEntry.objects.filter(what="term said").count() == 1

    def test_days_can_be_kept_for_good(self, rows):
        """The work is pinned by hand, and the term is gone."""
        row = after_the_wind(rows)
        day = row.start.date() + timedelta(days=14)
        keep_for_good(term(Kind.NOT_BEFORE, activity=row.activity, day=day), by=BY, now=NOW)
        row.activity.refresh_from_db()
        assert (row.activity.not_before, row.activity.not_after) == (day, None)
        assert Term.objects.count() == 0

    def test_a_crew_can_be_kept_for_good(self, rows):
        """The one that does the work in the published plan; its days stay free."""
        row = after_the_wind(rows)
        keep_for_good(term(Kind.KEEP_CREW, activity=row.activity), by=BY, now=NOW)
        row.activity.refresh_from_db()
        fixed = row.activity.not_before, row.activity.not_after, row.activity.only_crew
        assert (fixed, Term.objects.count()) == ((None, None, row.crew), 0)

    def test_the_crew_that_helps_with_it_cannot_be_kept_for_it(self, rows):
        """Told as a refusal of the term, which stays."""
        row = after_the_wind(rows)
        said = term(Kind.KEEP_CREW, activity=row.activity)
        Activity.objects.filter(pk=row.activity.pk).update(lent=row.crew)
        said.activity.refresh_from_db()
        with pytest.raises(TermRefusedError, match="second crew"):
            keep_for_good(said, by=BY, now=NOW)
        assert Term.objects.count() == 1

    def test_without_a_crew_nothing_is_kept_for_good(self, rows):
        """Only days of a work, and its crew."""
        said = term(Kind.NOT_CREW, activity=rows[0].activity, crew=rows[0].crew)
        with pytest.raises(TermRefusedError, match="Only days"):
            keep_for_good(said, by=BY, now=NOW)

    @pytest.mark.parametrize(
        ("kind", "field"),
        [
            (Kind.KEEP_DAYS, "about"),
            (Kind.KEEP_YARD, "about"),
            (Kind.NOT_CREW, "about"),
        ],
    )
    def test_what_is_about_nothing_is_refused_at_its_field(self, rows, kind, field):
        """Nothing is written."""
        with pytest.raises(TermRefusedError) as refused:
            term(kind)
        assert (refused.value.field, Term.objects.count()) == (field, 0)


class TestAtOdds:
    """Terms that cannot all be kept are told by name."""

    def test_a_work_held_on_a_lost_day_is_told_alone(self, rows):
        """The crew that is kept as well is not to blame."""
        held = term(Kind.KEEP_DAYS, activity=rows[0].activity)
        term(Kind.KEEP_CREW, activity=rows[-1].activity)
        answer_at_once(read_storm(NOW), NOW)
        page = read_storm_page(NOW)
        told = f"This cannot be kept: {say_term(held)}. Take it away below, and the ways out come back."
        assert (page.columns, page.cannot) == ((), told)
        assert page.terms[0].words == say_term(held)

    def test_two_that_exclude_each_other_are_told_both(self, rows):
        """Not before a day and done by the day before it."""
        row, day = after_the_wind(rows), after_the_wind(rows).start.date()
        late = term(Kind.NOT_BEFORE, activity=row.activity, day=day + timedelta(days=7))
        soon = term(Kind.NOT_AFTER, activity=row.activity, day=day + timedelta(days=6))
        answer_at_once(read_storm(NOW), NOW)
        told = f"These cannot all be kept: {say_term(late)}; {say_term(soon)}. Take one away"
        assert read_storm_page(NOW).cannot.startswith(told)


class TestPages:
    """Said beside the ways out, and only by who may edit."""

    def test_a_term_is_said_on_the_page_and_listed(self, rows):
        """The first answer is there at once."""
        client = signed_in()
        told = {"term-kind": Kind.KEEP_DAYS, "term-about": f"work {rows[-1].activity.pk}"}
        assert client.post(reverse("say-term"), told).url == reverse("storm")
        page = client.get(reverse("storm")).content.decode()
        assert say_term(Term.objects.get()) in page
        assert Answer.objects.exclude(terms="").count() == 2

    def test_what_is_missing_is_told_beside_its_field(self, rows):
        """Nothing typed is lost."""
        told = {"term-kind": Kind.NOT_AFTER, "term-about": f"work {rows[-1].activity.pk}"}
        answer = signed_in().post(reverse("say-term"), told)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "Say the day." in page
        assert f'value="work {rows[-1].activity.pk}" selected' in page

    def test_a_move_is_told_to_stay(self, rows):
        """By the button beside it."""
        signed_in().post(reverse("keep-as-it-was"), {"work": rows[-1].activity.pk})
        said = Term.objects.get()
        assert (said.kind, said.activity) == (Kind.KEEP_DAYS, rows[-1].activity)

    def test_a_viewer_says_nothing(self, rows):
        """Refused, nothing written."""
        told = {"term-kind": Kind.NO_WEEKENDS}
        assert signed_in(Role.VIEWER).post(reverse("say-term"), told).status_code == 403
        assert Term.objects.count() == 0
