"""What else happens to a plan: failed pours and inspections, pauses, promises, jobs squeezed in, by the log."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Crew, Role
from jobs.models import Activity, Change, DayLog, FinishChange, Job, Plan
from jobs.services.by_hand.works import HandWork, Pins, pin
from jobs.services.causes.late import take_back_change
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from jobs.services.mail.messages import drafts
from jobs.services.pages.concrete import FAILED, Cure
from jobs.services.pages.happened import off_plan, read_may_have_failed
from jobs.services.pages.story import read_story
from jobs.services.scope.takeoff import expand_job
from jobs.services.storm.accept_storm import accept_answer, undo
from jobs.services.storm.happened import (
    Failure,
    beside,
    fail,
    pause,
    promise,
    squeeze_in,
    unplanned,
)
from jobs.services.storm.offer import answer_at_once, read_storm
from jobs.services.storm.ours import read_ours
from jobs.services.telling.speech import spoken_days
from jobs.trade.errors import TradeError
from tests.office import (
    NOW,
    POURED,
    SLAB_WORKS,
    SMALL_YARD,
    open_office,
    poured_yard,
    published_plan,
    signed_in,
)
from tests.shared_state import shared_by_module

pytestmark = pytest.mark.django_db
WHO = Who("Ana", NOW)


def _published() -> None:
    """A yard whose slab was poured on Thursday and sawn; planned and published on Tuesday after."""
    open_office()
    poured_yard()
    published_plan()


published = shared_by_module(_published)


@pytest.fixture
def job(published, db) -> Job:
    """The yard that was published."""
    return Job.objects.get()


def work(job: Job, template: str, extra: str = "") -> Activity:
    """The one work of a template, as it was or done again."""
    return job.activities.get(template=template, extra=extra)


def failed(job: Job, template: str = "pour-slab", **more: object) -> Change:
    """A work of Thursday that did not come out right."""
    return fail(Failure(work(job, template), date(2026, 6, 11), **more), WHO)


def accepted() -> Plan:
    """The first answer, published."""
    offered = answer_at_once(read_storm(NOW), NOW)
    return accept_answer(offered[0].row, by="Ana", now=NOW).plan


class TestFailing:
    """What failed is planned again, with every wait from the start; what was shown stays."""

    def test_a_pour_done_again_cures_again(self, job):
        """The stone waits two weeks after the second pour, which stands in the feed beside the first."""
        before = list(CalendarEvent.objects.filter(activity=work(job, "pour-slab").uid).values())
        failed(job, also=[work(job, "saw-joints")])
        plan = accepted()
        rows = {(r.activity.template, r.activity.extra): r for r in plan.rows.all()}
        again = rows["pour-slab", "again"]
        assert again.activity.name == "Pour and finish concrete, bed, again"
        assert rows["set-stone", ""].start >= again.finish + timedelta(days=14)
        sawn = rows["saw-joints", "again"]
        assert timedelta(hours=4) <= sawn.start - again.finish <= timedelta(hours=24)
        assert rows["pour-slab", ""].finish == POURED
        assert CalendarEvent.objects.filter(activity=again.activity.uid).exists()
        after = CalendarEvent.objects.filter(activity=work(job, "pour-slab").uid)
        assert list(after.values()) == before

    def test_nothing_may_rest_on_what_failed(self, job):
        """The story of the first pour no longer says when it bears what; that of the second does."""
        pour = work(job, "pour-slab")
        job.latitude, job.longitude = Decimal("35.6"), Decimal("-82.55")
        plan = Plan.objects.get(state="published")
        before = read_story(job, pour.uid, plan, NOW)
        assert before is not None
        assert before.cure is not None
        assert before.cure.dates
        failed(job)
        after = read_story(job, pour.uid, plan, NOW)
        assert after is not None
        assert after.cure == Cure((), FAILED)

    def test_only_a_part_of_it(self, job):
        """A third of the slab: a third of the days, and not a square foot more."""
        whole = work(job, "pour-slab")
        failed(job, share=33)
        part = work(job, "pour-slab", "again")
        assert part.quantity == (whole.quantity * 33 / 100).quantize(Decimal("0.001"))

    def test_the_crew_it_was_fixed_for_does_it_again_until_somebody_says_otherwise(self, job):
        """Only the crew: days fixed by hand were for the first time. Another crew, or none, can be fixed afterwards."""
        pour = work(job, "pour-slab")
        able = Crew.objects.get(skills__skill=pour.skill)
        pour.not_before, pour.not_after, pour.only_crew = POURED.date(), POURED.date(), able
        pour.save()
        failed(job)
        part = work(job, "pour-slab", "again")
        assert (part.not_before, part.not_after, part.only_crew) == (None, None, able)
        pin(part, Pins(None, None, None), WHO, revision=part.revision)
        job.refresh_from_db()
        expand_job(job, now=NOW)
        assert work(job, "pour-slab", "again").only_crew is None

    def test_a_crew_that_can_no_longer_do_it_does_not_have_to(self, job):
        """The crew has lost the skill: whoever has it may do the rest."""
        pour = work(job, "pour-slab")
        pour.only_crew = Crew.objects.get(skills__skill=pour.skill)
        pour.save()
        pour.only_crew.skills.filter(skill=pour.skill).delete()
        failed(job)
        assert work(job, "pour-slab", "again").only_crew is None

    def test_what_puts_it_right_comes_first(self, job):
        """The slab is broken out for a day before forms are set, looked at, and it is poured again."""
        zone = job.zones.get(name="Bed")
        right = HandWork("Break out the slab", zone, "labour", Decimal(1), 2)
        also = [work(job, "set-forms-rebar"), work(job, "inspect-forms")]
        failed(job, also=also, right=right)
        rows = {r.activity.name: r for r in accepted().rows.all()}
        names = [
            "Break out the slab", "Set forms and steel, bed, again",
            "Footing and form inspection, bed, again", "Pour and finish concrete, bed, again",
        ]  # fmt: skip
        order = sorted(names, key=lambda name: rows[name].start)
        assert order == names
        assert rows[names[3]].start >= rows[names[2]].finish >= rows[names[0]].finish

    def test_an_inspection_that_was_not_passed(self, job):
        """Logged as done on its day, looked at again not before the day agreed."""
        Activity.objects.filter(job=job, template__in=SLAB_WORKS[5:]).update(
            started_at=None, finished_at=None, done_share=0
        )
        change = failed(job, "inspect-forms", not_before=date(2026, 6, 24), why="steel too low")
        assert (change.cause, change.why) == (
            "inspection",
            "Footing and form inspection, bed: not passed (steel too low)",
        )
        line = DayLog.objects.get(activity=work(job, "inspect-forms"))
        assert (line.kind, line.day) == ("done", date(2026, 6, 11))
        rows = {(r.activity.template, r.activity.extra): r for r in accepted().rows.all()}
        assert rows["inspect-forms", "again"].start.date() >= date(2026, 6, 24)
        assert rows["pour-slab", ""].start >= rows["inspect-forms", "again"].finish

    def test_the_ledger_and_the_owner_are_told_why(self, job):
        """The share of the second pour stands there by its cause; it adds up."""
        failed(job, not_before=date(2026, 7, 27))
        accepted()
        moved = FinishChange.objects.get(job=job)
        assert moved.shares[0]["cause"] == "redo"
        assert sum(s["days"] for s in moved.shares) == (moved.becomes - moved.was).days > 0
        told = next(draft.text for draft in drafts(NOW) if draft.key.startswith("homeowner"))
        assert "because of work that is done a second time" in told

    def test_taken_back_it_is_as_if_nothing_was_said(self, job):
        """Works, ties and finish as before."""
        before = set(job.activities.filter(retired=False).values_list("uid", flat=True))
        zone = job.zones.get(name="Bed")
        change = failed(job, right=HandWork("Break out", zone, "labour", Decimal(1), 2))
        take_back_change(change, by="Ana", now=NOW)
        assert set(job.activities.filter(retired=False).values_list("uid", flat=True)) == before
        stone = work(job, "set-stone")
        assert stone.links_in.filter(before=work(job, "pour-slab")).exists()

    def test_undoing_the_plan_does_not_heal_the_slab(self, job):
        """It waits for a plan again."""
        change = failed(job)
        accepted()
        undo(by="Ana", now=NOW)
        change.refresh_from_db()
        assert change.plan == Plan.objects.get(state="published")
        assert not work(job, "pour-slab", "again").retired

    def test_it_cannot_wait_to_be_done_again_twice(self, job):
        """But once that is done, and fails too, it can."""
        failed(job)
        with pytest.raises(TradeError, match="waits to be done again already"):
            failed(job)
        second = work(job, "pour-slab", "again")
        second.started_at, second.finished_at = POURED + timedelta(days=1), NOW
        second.save()
        failed(job)
        names = job.activities.filter(template="pour-slab").order_by("pk")
        assert [row.name for row in names] == [
            "Pour and finish concrete, bed",
            "Pour and finish concrete, bed, again (1)",
            "Pour and finish concrete, bed, again (2)",
        ]

    def test_what_lies_beside_it_is_offered(self, job):
        """All that was done in the bed; the joints came after it, and are lost with it."""
        found, lost = beside(work(job, "pour-slab"))
        assert {row.template for row in found} == {*SLAB_WORKS} - {"pour-slab"}
        assert lost == {work(job, "saw-joints").uid}


class TestJobs:
    """A pause, another promise, a job squeezed in."""

    def test_nobody_of_ours_works_in_a_pause(self, job):
        """From Monday 22 June to Monday 6 July nothing of the yard is planned by day."""
        change = pause(job, date(2026, 6, 22), date(2026, 7, 6), "the owners are away", WHO)
        rows = accepted().rows.filter(activity__job=job, crew__isnull=False)
        days = {datetime.fromisoformat(s[0]).date() for row in rows for s in row.segments}
        assert not [day for day in days if date(2026, 6, 22) <= day < date(2026, 7, 6)]
        assert change.why == "paused Mon 22 Jun 2026, goes on Mon 6 Jul 2026 (the owners are away)"
        assert FinishChange.objects.get(job=job).shares[0]["cause"] == "pause"

    def test_a_pause_taken_back(self, job):
        """The job stands as it stood."""
        before = (job.state, job.paused_from, job.paused_until)
        change = pause(job, date(2026, 6, 22), date(2026, 7, 6), "", WHO)
        job.refresh_from_db()
        assert job.state == "paused"
        take_back_change(change, by="Ana", now=NOW)
        job.refresh_from_db()
        assert (job.state, job.paused_from, job.paused_until) == before

    def test_another_promise(self, job):
        """Kept with the one before; the same again is refused."""
        change = promise(job, date(2026, 9, 1), "the owner agreed", WHO)
        assert (change.before, change.after) == (
            {"promised_on": "2026-07-31"},
            {"promised_on": "2026-09-01"},
        )
        job.refresh_from_db()
        with pytest.raises(TradeError, match="that is what is promised now"):
            promise(job, date(2026, 9, 1), "", WHO)
        with pytest.raises(TradeError, match="begins on Mon 1 Jun"):
            promise(job, date(2026, 5, 1), "", WHO)

    def test_a_bid_is_squeezed_in_between_the_others(self, job):
        """It is planned with them, and the finish of the other yard tells of it."""
        told = SMALL_YARD.replace("3 Finch Street", "5 Wren Close")
        bid = load_job(told.replace("soil =", 'stage = "bid"\nsoil ='), by="test", now=NOW)
        assert unplanned() == [bid]
        squeeze_in(bid, "", WHO)
        assert unplanned() == []
        plan = accepted()
        assert plan.rows.filter(activity__job=bid).exists()
        assert FinishChange.objects.filter(job=bid).count() == 0


class TestByTheLog:
    """Behind or ahead, by what was logged."""

    def test_what_should_have_begun_is_behind(self, job):
        """A day after its planned end nothing of it was logged: all of it is behind."""
        rows = Plan.objects.get(state="published").rows.filter(crew__isnull=False)
        row = rows.filter(activity__finished_at=None, activity__days__gte=1).order_by("finish")[0]
        later = {
            told.uid: told for told in off_plan(read_ours().rows, row.finish + timedelta(minutes=1))
        }
        told = later[row.activity.uid]
        assert (told.words, told.behind) == (f"{spoken_days(row.activity.days)} behind", True)
        assert off_plan(read_ours().rows, NOW) == ()

    def test_what_is_nearly_done_at_its_beginning_is_ahead(self, job):
        """Half of it logged before its first hour."""
        rows = Plan.objects.get(state="published").rows.filter(crew__isnull=False)
        row = rows.filter(activity__finished_at=None, activity__days__gte=1).order_by("start")[0]
        Activity.objects.filter(pk=row.activity_id).update(
            started_at=NOW - timedelta(hours=3), done_share=50
        )
        told = off_plan(read_ours().rows, NOW)
        assert [(one.uid, one.behind) for one in told] == [(row.activity.uid, False)]


class TestPages:
    """Each from one place, in plain words, to the ways out."""

    def test_every_kind_leads_to_the_ways_out(self, job, django_assert_num_queries):
        """A pour, a pause and a promise, said one after the other."""
        client = signed_in()
        body = client.get(reverse("storm")).content.decode()
        for words in ("An inspection was not passed", "A job rests", "Another finish was promised"):
            assert words in body
        with django_assert_num_queries(1):
            found = read_may_have_failed(NOW, inspections=False)
        pour = work(job, "pour-slab")
        assert pour.uid in {row.uid for _, rows in found for row in rows}
        page = reverse("failed", args=[job.slug, pour.uid])
        form = client.get(page).content.decode()
        checked = re.findall(r'name="also" value="(\w+)"[^>]* checked', form)
        assert checked == [work(job, "saw-joints").uid]
        said = {"day": "2026-06-11", "share": "100", "skill": "labour", "people": "2"}
        assert client.post(page, said)["Location"] == reverse("storm")
        told = {"job": job.slug, "first": "2026-06-22", "until": "2026-06-29"}
        pause_page = reverse("happened", args=["pause"])
        assert client.post(pause_page, told)["Location"] == reverse("storm")
        told = {"job": job.slug, "day": "2026-09-01"}
        promise_page = reverse("happened", args=["promise"])
        assert client.post(promise_page, told)["Location"] == reverse("storm")
        body = client.get(reverse("storm")).content.decode()
        assert "to be done again" in body
        assert "Push right" in body
        assert Change.objects.filter(plan=None).count() == 3

    def test_nonsense_is_told_beside_its_field(self, job):
        """And nothing is kept."""
        client, slug = signed_in(), job.slug
        pour = reverse("failed", args=[slug, work(job, "pour-slab").uid])
        day, people = {"day": "2026-06-11"}, {"people": "2", "skill": "labour"}
        for address, told, wrong in (
            (
                "pause",
                {"job": "nobody", "first": "2026-06-22", "until": "2026-06-29"},
                "none of the choices",
            ),
            ("pause", {"job": slug, "first": "2026-06-22", "until": "2026-06-22"}, "swap the two"),
            (
                "pause",
                {"job": slug, "first": "2026-06-22", "until": "9999-12-31"},
                "look at the year",
            ),
            ("promise", {"job": slug, "day": "2026-06-15"}, "This day is over"),
            ("promise", {"job": slug, "day": "2026-07-31"}, "what is promised now"),
            (pour, {"day": "2026-06-17", "share": "100"} | people, "yet to come"),
            (pour, day | {"share": "0"} | people, "At least 1."),
            (pour, day | {"share": "100", "days": "1e300"} | people, "At most 60."),
            (pour, day | {"share": "100", "also": "x"} | people, "none of the choices"),
            (pour, day | {"share": "100", "days": "1", "skill": "labour"}, "Say how many people"),
        ):
            page = address if address.startswith("/") else reverse("happened", args=[address])
            answer = client.post(page, told)
            assert (answer.status_code, wrong in answer.content.decode()) == (422, True), told
        assert Change.objects.count() == 0

    def test_only_the_office_may_say_it(self, job):
        """A crew's lead is told whom to ask; what does not exist is not found."""
        lead = signed_in(Role.LEAD)
        pour = reverse("failed", args=[job.slug, work(job, "pour-slab").uid])
        for page in (
            reverse("happened", args=["pause"]),
            pour,
            reverse("may-have-failed", args=["work"]),
        ):
            assert lead.get(page).status_code == 403
        assert signed_in().get(reverse("happened", args=["flood"])).status_code == 404
        assert signed_in().get(reverse("may-have-failed", args=["x"])).status_code == 404

    def test_with_nothing_to_say_it_of_the_page_says_so(self, job):
        """No bid, no job set up since."""
        body = signed_in().get(reverse("happened", args=["squeeze"])).content.decode()
        assert "There is no job to say this of" in body
