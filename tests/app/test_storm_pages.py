"""The page of ways out from what was lost to what is published, and who may act; drafts of what to tell whom."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

import pytest
from django.core import mail
from django.urls import reverse

from crews.models import Crew, Role, TimeOff
from jobs.models import Answer, DayLog, Delivery, HistoryEntry, Job, LostTime, Plan
from jobs.models.cause import ALL_DAY
from jobs.services.causes.late import out
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.files.load_job import load_job
from jobs.services.mail.messages import drafts
from jobs.services.pages.storm import read_storm_page
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.offer import answer_at_once, read_storm
from tests.office import NOW, SMALL_YARD, published_plan, published_yard, signed_in
from tests.storms import BY, HOLIDAYS, first_day, rain, steady

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first work with a crew is the day that gets rained out."""
    return published_yard()


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
            ("say-again", []),
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
        assert "on which a crew works for other yards than it was told" in page
        client.post(reverse("storm-better"))
        page = client.get(reverse("storm")).content.decode()
        assert "Accept steady" in page
        assert "No overtime is the same as steady" in page
        row = Answer.objects.filter(way="steady").latest("pk")
        answer = client.post(reverse("accept-way", args=[row.pk]), follow=True)
        assert "Who must be told" in answer.content.decode()
        assert "other work or hours in the same yard too" in answer.content.decode()
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
            ("storm-out", {"out-first": ""}, "This is missing: fill it in or choose one."),
            ("storm-later", {"later-day": "x"}, "A date such as 14 Mar 2026"),
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

    def test_the_way_to_the_ways_out_stands_once(self, job):
        """With what was said, if something was; else with what the log says."""
        client = signed_in()
        assert client.get(reverse("storm")).content.decode().count("Show the ways out") == 1
        rain(3)
        assert client.get(reverse("storm")).content.decode().count("Show the ways out") == 1

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

    def test_ways_out_cost_as_many_questions_at_two_yards(self, job, django_assert_num_queries):
        """The world is read for them, and only for them."""
        client = signed_in()
        for number in (5, 7):
            lose_days(Lost(first_day(), first_day()), by=BY, now=NOW)
            with django_assert_num_queries(21):
                client.get(reverse("storm"))
            answer_at_once(read_storm(NOW), NOW)
            with django_assert_num_queries(45):
                assert "Push right" in client.get(reverse("storm")).content.decode()
            load_job(SMALL_YARD.replace("3 Finch", f"{number} Finch"), by="test", now=NOW)
            published_plan()

    def test_a_share_that_cannot_be_is_told_at_its_work(self, job):
        """422 with the sentence."""
        row = Plan.objects.get(state="published").rows.filter(crew__isnull=False)[0]
        said = {"kind": "part-way", "client": str(uuid4()), "share": "400"}
        answer = signed_in().post(reverse("say-day", args=[job.slug, row.activity.uid]), said)
        assert answer.status_code == 422
        assert DayLog.objects.count() == 0

    def test_of_two_first_answers_done_on_the_same_days_the_quieter_one_comes_first(self, job):
        """The ground crew is out for a day: both end on Tuesday 7 July, and one changes no crew's day."""
        crew, day = Crew.objects.get(slug="ground-crew"), first_day()
        lose_days(Lost(day, day, crew=crew, cause="wind"), by=BY, now=NOW)
        answer_at_once(read_storm(NOW), NOW)
        told = [
            (column.way, column.finishes[0].when, column.crew_days, column.whose)
            for column in read_storm_page(NOW).columns
        ]
        (whose,) = told[1][3]
        assert whose.startswith("Ground crew: ")
        assert told == [("old-order", "Tue 7 Jul", 0, ()), ("push-right", "Tue 7 Jul", 1, (whose,))]


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
