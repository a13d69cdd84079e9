"""What is sent twice, by a press too many or from a page gone back to, is one thing, and told so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from crews.models import Crew, FeedLink, TimeOff
from crews.services.links import find_link, revoke
from jobs.models import Change, Delivery, HistoryEntry, Job, LostTime, Plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.telling.errors import SaidBefore
from tests.office import NOW, SLUG, published_yard, signed_in
from tests.storms import BY, HOLIDAYS, first_day, rain, steady

if TYPE_CHECKING:
    from django.http import HttpResponse

pytestmark = pytest.mark.django_db
COUNTS_ONCE = "it counts once"
ONCE = "0123456789abcdef" * 2


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published."""
    return published_yard()


def post(name: str, told: dict[str, str], *args: object, **more: object) -> HttpResponse:
    """Post a form as the owner and follow to where it leads."""
    return signed_in().post(reverse(name, args=args), told, follow=True, **more)


def text(answer: HttpResponse) -> str:
    """What is read of an answer that is no error."""
    assert answer.status_code == 200
    return answer.content.decode()


class TestSaid:
    """After the storm: by what they say, two sayings are one."""

    RAIN = {"when": "range", "first": "2026-06-25", "whom": "all", "cause": "rain"}

    def test_the_same_time_lost_is_lost_once(self, job):
        """The loss, its drying out and the record; the second time says so and shows the ways out."""
        first = text(post("storm-lose", self.RAIN))
        rows = LostTime.objects.count()
        second = text(post("storm-lose", self.RAIN))
        assert [COUNTS_ONCE in page for page in (first, second)] == [False, True]
        assert "Push right" in second
        assert (LostTime.objects.count(), LostTime.objects.filter(dries=None).count()) == (rows, 1)
        assert HistoryEntry.objects.filter(what="time lost").count() == 1

    @pytest.mark.parametrize(
        "other", [{"first": "2026-06-26"}, {"cause": "wind"}, {"rain_in": "0.7"}]
    )
    def test_other_time_lost_is_another_loss(self, job, other):
        """Another day, another cause, other inches: nothing said is swallowed."""
        post("storm-lose", self.RAIN)
        assert COUNTS_ONCE not in text(post("storm-lose", self.RAIN | other))
        assert LostTime.objects.filter(dries=None).count() == 2

    def test_what_was_taken_back_may_be_said_again(self, job):
        """It did not happen, then it did."""
        post("storm-lose", self.RAIN)
        post("take-back", {}, "lost", LostTime.objects.get(dries=None).pk)
        assert COUNTS_ONCE not in text(post("storm-lose", self.RAIN))
        assert LostTime.objects.filter(dries=None, taken_back_at=None).count() == 1

    def test_a_crew_is_out_once(self, job):
        """Its days off and the cause of the move."""
        crew, day = Crew.objects.get(slug="green-crew"), first_day().isoformat()
        told = {"out-who": f"crew {crew.pk}", "out-first": day, "out-last": day}
        pages = [text(post("storm-out", told)) for _ in range(2)]
        assert [COUNTS_ONCE in page for page in pages] == [False, True]
        assert (TimeOff.objects.count(), Change.objects.count()) == (HOLIDAYS + 1, 1)

    def test_a_delivery_is_late_once(self, job):
        """Until another day is said."""
        bench = Delivery.objects.create(job=job, name="Bench", activity=job.activities.all()[0])
        told = {"later-what": f"delivery {bench.pk}", "later-day": "2026-07-20"}
        pages = [text(post("storm-later", told)) for _ in range(2)]
        assert [COUNTS_ONCE in page for page in pages] == [False, True]
        assert Change.objects.count() == 1

    def test_a_job_is_paused_once(self, job):
        """What was there before the first is what taking back brings back."""
        told = {"job": SLUG, "why": "", "first": "2026-06-22", "until": "2026-07-06"}
        pages = [text(post("happened", told, "pause")) for _ in range(2)]
        assert [COUNTS_ONCE in page for page in pages] == [False, True]
        assert Change.objects.get().before["state"] == job.state

    def test_a_finish_is_promised_once(self, job):
        """The second time the form says that it stands."""
        told = {"job": SLUG, "why": "", "day": "2026-09-01"}
        text(post("happened", told, "promise"))
        again = post("happened", told, "promise")
        assert "that is what is promised now" in again.content.decode()
        assert Change.objects.count() == 1

    def test_what_was_taken_back_is_not_there_a_second_time(self, job):
        """The page that was gone back to is shown as it is now; a stranger's request finds nothing."""
        row = rain()[0]
        post("take-back", {}, "lost", row.pk)
        page = "http://testserver" + reverse("storm")
        again = post("take-back", {}, "lost", row.pk, headers={"referer": page})
        assert again.redirect_chain == [(reverse("storm"), 302)]
        assert "nothing was changed" in text(again)
        assert post("take-back", {}, "lost", row.pk).status_code == 404


class TestPlans:
    """A plan is made, accepted and undone by who has the newest before him."""

    def test_planning_again_makes_one_plan(self, job):
        """The second press of a page on which plan 1 was the newest."""
        page = text(signed_in().get(reverse("plan")))
        assert '<input type="hidden" name="seen" value="1">' in page
        answers = [text(post("make-plan", {"seen": "1"})) for _ in range(2)]
        assert ["Plan 2 was made since that page was opened" in it for it in answers] == [
            False,
            True,
        ]
        assert list(Plan.objects.values_list("number", flat=True)) == [2, 1]

    def test_of_two_made_at_once_one_is_kept(self, job):
        """Both looked before either had planned: it is the keeping that counts."""
        plan_jobs(now=NOW, by=BY, after=1)
        with pytest.raises(SaidBefore, match="Plan 2 was made"):
            plan_jobs(now=NOW, by=BY, after=1)
        assert Plan.objects.count() == 2

    def test_a_plan_is_published_once(self, job):
        """The page before, gone back to: told, not refused."""
        number = plan_jobs(now=NOW, by=BY).plan.number
        pages = [text(post("publish-plan", {}, number)) for _ in range(2)]
        assert [f"Plan {number} is published already" in page for page in pages] == [False, True]
        assert Plan.objects.filter(published_at__isnull=False).count() == 2

    def test_a_way_out_is_accepted_once(self, job):
        """It was found against the plan before."""
        rain()
        row = steady()
        pages = [text(post("accept-way", {}, row.pk)) for _ in range(2)]
        assert ["Another plan was accepted meanwhile" in page for page in pages] == [False, True]
        assert Plan.objects.filter(published_at__isnull=False).count() == 2

    def test_undoing_twice_does_not_undo_the_undoing(self, job):
        """Both presses mean plan 1."""
        rain()
        accept_answer(steady(), by=BY, now=NOW)
        assert 'name="seen" value="1"' in text(signed_in().get(reverse("storm")))
        pages = [text(post("undo-plan", {"seen": "1"})) for _ in range(2)]
        assert ["nothing was undone" in page for page in pages] == [False, True]
        assert Plan.objects.get(state="published").method == "plan 1 again"


class TestLinks:
    """The homeowner's secret address."""

    def address(self, once: str) -> str:
        """Post the form that asks for it; return the token it shows."""
        page = text(post("share", {"once": once}, SLUG))
        return page.partition('readonly value="http://testserver/h/')[2].partition("/")[0]

    def test_a_form_makes_one_link_and_shows_it_each_time(self, job):
        """Whoever loads the answer again sees the same address; the next form makes another."""
        first, again = self.address(ONCE), self.address(ONCE)
        assert first == again
        assert find_link(first).subject == f"homeowner:{job.uid}"
        assert HistoryEntry.objects.filter(what="homeowner link made").count() == 1
        assert self.address("f" * 32) != first
        assert FeedLink.objects.count() == 2

    def test_a_link_turned_off_is_not_shown_again(self, job):
        """The form of before makes a fresh one."""
        first = self.address(ONCE)
        revoke(find_link(first), NOW)
        assert find_link(self.address(ONCE)).revoked is None

    def test_without_the_houses_key_nobody_finds_the_address(self, job, settings):
        """The number in the form alone says nothing."""
        first = self.address(ONCE)
        settings.SECRET_KEY = "another house"
        assert self.address(ONCE) != first


def test_an_item_sent_again_with_other_answers_is_another_item(job):
    """From a page gone back to: what was typed anew is not swallowed."""
    told = {"what": "stone-path", "where": "bed", "once": ONCE}
    for area in ("80", "80", "95"):
        text(post("new-item", told | {"area": area}, SLUG))
    assert [item.answers["area"] for item in job.items.order_by("order")[2:]] == ["80", "95"]


def test_a_change_order_in_the_same_words_is_the_same(job):
    """Even from a page gone back to that was fetched anew, with another number; other words are another."""
    for once, title in ((ONCE, "Gate"), (ONCE, "Gate"), ("f" * 32, "Gate"), (ONCE, "Arch")):
        text(post("changes", {"once": once, "title": title}, SLUG))
    assert list(job.change_orders.order_by("number").values_list("title", flat=True)) == [
        "Gate",
        "Arch",
    ]
