"""What is sent twice, by a press too many or from a page gone back to, is one thing, and told so."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from crews.models import Crew, CrewPhone, FeedLink, Machine, PhoneSetup, TimeOff
from crews.services.crew_phone import set_up, turn_off, waiting
from crews.services.links import find_link, make_link, replace_link, revoke
from crews.services.setup import WEEKDAYS
from jobs.models import Change, Company, Delivery, HistoryEntry, Job, LostTime, Plan
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


class TestPhones:
    """Calendars and crews' pages given out by the office."""

    def shown(self, answer: HttpResponse) -> tuple[str, str]:
        """The address to copy, and the path of the square code."""
        page = text(answer)
        address = re.search(r'readonly value="([^"]+)"', page)
        code = re.search(r'<path d="([^"]+)"', page)
        assert address is not None
        assert code is not None
        return address[1], code[1]

    def test_a_form_makes_one_calendar_link_and_shows_it_each_time(self, job):
        """Address and set-up page are the same; another person's, or the next form's, are others."""
        told = {"subject": "crew:green-crew", "person": "Ada", "once": ONCE}
        first, again = (self.shown(post("crews:new-calendar", told)) for _ in range(2))
        assert first == again
        assert (FeedLink.objects.count(), PhoneSetup.objects.count()) == (1, 1)
        for other in ({"person": "Bo"}, {"once": "f" * 32}):
            assert self.shown(post("crews:new-calendar", told | other)) != first
        assert FeedLink.objects.count() == 3

    def test_a_link_is_replaced_once_and_shown_each_time(self, job):
        """One link more, and the old one off; from another page it is off already, and nothing is made."""
        told = {"subject": "crew:green-crew", "person": "Ada", "once": ONCE}
        self.shown(post("crews:new-calendar", told))
        old = FeedLink.objects.get()
        first, again = (
            self.shown(post("crews:replace-calendar", {"once": ONCE}, old.pk)) for _ in range(2)
        )
        old.refresh_from_db()
        assert (first == again, old.revoked is not None) == (True, True)
        assert post("crews:replace-calendar", {"once": "f" * 32}, old.pk).status_code == 404
        assert (FeedLink.objects.count(), FeedLink.objects.filter(revoked=None).count()) == (2, 1)

    def test_of_two_people_who_replace_it_at_once_one_gets_the_new_one(self, job):
        """Both had read it while it was on; two links that open would be one that nobody turns off."""
        link, _ = make_link("crew:green-crew", person="Ada", now=NOW)
        seen = [FeedLink.objects.get(pk=link.pk) for _ in range(2)]
        replace_link(seen[0], NOW, once=ONCE)
        with pytest.raises(FeedLink.DoesNotExist):
            replace_link(seen[1], NOW, once="f" * 32)
        assert FeedLink.objects.filter(revoked=None).count() == 1

    def test_the_page_asks_with_a_number_of_its_own(self, job):
        """Fresh each time it is looked at; a form with a slip keeps the one it was sent with."""
        pages = [text(signed_in().get(reverse("crews:calendars"))) for _ in range(2)]
        numbers = [set(re.findall(r'name="once" value="(\w{32})"', page)) for page in pages]
        assert [len(found) for found in numbers] == [1, 1]
        assert numbers[0] != numbers[1]
        slip = post("crews:new-calendar", {"subject": "all", "person": "", "once": ONCE})
        assert (slip.status_code, ONCE in slip.content.decode()) == (422, True)

    def phone(self, person: str = "Ada", once: str = ONCE) -> HttpResponse:
        """Post the form that asks for a crew's phone."""
        crew = Crew.objects.get(slug="green-crew")
        told = {"crew-phone-crew": str(crew.pk), "crew-phone-person": person, "once": once}
        return post("crews:new-crew-phone", told)

    def test_a_form_gives_out_one_phone_and_shows_it_each_time(self, job):
        """Somebody else's, or the next form's, is another."""
        first, again = self.shown(self.phone()), self.shown(self.phone())
        assert first == again
        assert CrewPhone.objects.count() == 1
        assert self.shown(self.phone("Bo")) != first
        assert self.shown(self.phone(once="f" * 32)) != first
        assert CrewPhone.objects.count() == 3

    def test_a_phone_that_is_set_up_is_told_so(self, job):
        """Its address opens no more: the list is shown, with no second phone in it."""
        address, _ = self.shown(self.phone())
        set_up(address.rstrip("/").rpartition("/")[2], NOW)
        again = text(self.phone())
        assert "Ada’s phone of the Green crew is set up already" in again
        assert CrewPhone.objects.count() == 1

    def test_a_phone_turned_off_or_too_old_is_not_shown_again(self, job):
        """The form of before makes a fresh one, that opens."""
        first, _ = self.shown(self.phone())
        turn_off(CrewPhone.objects.get(), NOW)
        second, _ = self.shown(self.phone())
        token = second.rstrip("/").rpartition("/")[2]
        assert (second != first, waiting(token, NOW).person) == (True, "Ada")
        third, _ = self.shown(self.phone("Cy"))
        CrewPhone.objects.filter(person="Cy").update(until=NOW)
        assert self.shown(self.phone("Cy"))[0] != third


class TestHouse:
    """Crews, machines and the company: kept by what is told of them."""

    CREW = {"name": "Path crew", "people": "Bo\r\nAda", "skill_paving": "Ada, Bo", "language": "es"} | {
        f"day_{day}": "all day" if day != "sunday" else "off" for day in WEEKDAYS
    }  # fmt: skip
    MACHINE = {"name": "Long arm", "kind": "mini-excavator", "count": "2", "width": "40 in", "least_days": "1", "lead_days": "2"}  # fmt: skip

    @pytest.mark.parametrize(
        ("name", "told", "rows", "what"),
        [
            ("new-crew", CREW, Crew, "crew made"),
            ("new-machine", MACHINE, Machine, "machine made"),
        ],
    )
    def test_what_is_new_is_made_once(self, job, name, told, rows, what):
        """And saved, says each answer; with something else told, the name is taken."""
        before = rows.objects.count()
        pages = [text(post(name, told)) for _ in range(2)]
        assert [f"{told['name']} is saved" in page for page in pages] == [True, True]
        assert rows.objects.count() == before + 1
        assert HistoryEntry.objects.filter(what=what).count() == 1
        other = {"skill_paving": "1", "count": "3"}
        refused = post(name, told | other)
        assert (refused.status_code, "has this name" in refused.content.decode()) == (422, True)

    def test_who_is_gone_is_no_answer_to_who_comes(self, job):
        """A crew that left is not there again by being told a second time."""
        text(post("new-crew", self.CREW))
        Crew.objects.filter(name="Path crew").update(gone_from=NOW.date())
        assert post("new-crew", self.CREW).status_code == 422

    @pytest.mark.parametrize(
        ("new", "name", "told", "rows", "what"),
        [
            ("new-crew", "edit-crew", CREW, Crew, "crew changed"),
            ("new-machine", "edit-machine", MACHINE, Machine, "machine changed"),
        ],
    )
    def test_a_change_is_one_change(self, job, new, name, told, rows, what):
        """Sent again from the same page, nobody else has changed it meanwhile; with other words, somebody has."""
        text(post(new, told))
        row = rows.objects.get(name=told["name"])
        told = told | {"name": "Renamed", "revision": str(row.revision)}
        for _ in range(2):
            assert "Renamed is saved" in text(post(name, told, row.slug))
        assert HistoryEntry.objects.filter(what=what).count() == 1
        other = post(name, told | {"name": "Otherwise"}, row.slug)
        assert (other.status_code, "nothing was overwritten" in other.content.decode()) == (422, True)  # fmt: skip

    def test_the_settings_are_kept_once(self, job):
        """The same again is kept; other words on top of the older page are not."""
        company = Company.objects.get()
        told = {
            "name": "Other Yards", "state": "NC", "zone": company.zone, "phone": "", "units": "us",
            "starts": "07:30", "lunch": "30", "finding_days": "9", "revision": str(company.revision),
        }  # fmt: skip
        for _ in range(2):
            assert "Kept. Plan again" in text(post("settings", told))
        assert HistoryEntry.objects.filter(what="company changed").count() == 1
        other = post("settings", told | {"lunch": "45"})
        assert (other.status_code, "nothing was overwritten" in other.content.decode()) == (422, True)  # fmt: skip
        assert Company.objects.get().name == "Other Yards"


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
