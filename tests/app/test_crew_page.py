"""A crew's own page: one phone, set up once, that opens today and tomorrow and says what was done."""

from __future__ import annotations

import json
from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from crews.models import Crew, CrewPhone, Role
from crews.services.crew_phone import give_out, set_up, turn_off
from crews.services.phone import SetupSpentError
from crews.services.today import wall_now
from jobs.models import Activity, DayLog, Job
from jobs.services.files.load_job import load_job
from jobs.services.pages.crew_page import read_crew_page
from jobs.services.sky.forecast import keep_answer
from tests.office import NOW, SLAB, SMALL_YARD, open_office, published_plan, signed_in
from tests.phones import first_morning, morning, phone_in_hand, say

pytestmark = pytest.mark.django_db
PAGE = reverse("crew-page")


@pytest.fixture
def begun(settings):
    """A crew on the first morning on which it works in the yard."""
    return first_morning(settings)


class TestInSpanish:
    """A crew that reads Spanish reads nothing else but names of yards and what people typed."""

    def test_the_page_speaks_spanish_throughout(self, begun, settings):
        """Works, hours, buttons, causes, cautions; a button pressed is answered in Spanish, too."""
        Crew.objects.filter(pk=begun.pk).update(language="es")
        begun.refresh_from_db()
        browser = phone_in_hand(begun)
        page = browser.get(PAGE).content.decode()
        assert '<html lang="es">' in page
        for words in (
            "Hoy, ",
            "Trazar el trabajo",
            "Empezamos",
            "Hoy no",
            "lluvia",
            "a. m.",
            "Rayos o truenos",
        ):
            assert words in page
        for words in ("Today", "Started", "Not today", "Way in", "Mark out"):
            assert words not in page
        work = Activity.objects.get(template="lay-out")
        told = browser.post(
            reverse("crew-say", args=[work.uid]),
            {"client": str(uuid4()), "kind": "started"},
            follow=True,
        )
        assert "Trazar el trabajo: anotado." in told.content.decode()

    def test_what_is_refused_is_refused_in_spanish(self, begun):
        """A work that is done is not started again: the sentence and the work's name."""
        Crew.objects.filter(pk=begun.pk).update(language="es")
        begun.refresh_from_db()
        browser = phone_in_hand(begun)
        work = Activity.objects.get(template="lay-out")
        say(browser, work, "done")
        told = say(browser, work, "started").content.decode()
        assert "Trazar el trabajo" in told
        assert "ya estaba anotado como terminado" in told

    def test_the_phone_is_set_up_in_spanish(self, begun):
        """From the first thing it shows."""
        Crew.objects.filter(pk=begun.pk).update(language="es")
        _, token = give_out(begun, "Ines", wall_now())
        page = Client().get(reverse("crew-set-up", args=[token])).content.decode()
        assert "Este es el teléfono" in page


class TestSetUp:
    """An address makes one phone the crew's own."""

    def test_the_address_works_for_one_phone(self, begun):
        """A second one that asks is told to get another."""
        _, token = give_out(begun, "Ines", wall_now())
        address = reverse("crew-set-up", args=[token])
        first, second = Client(), Client()
        assert first.post(address).status_code == 302
        assert second.post(address).status_code == 410
        assert first.get(PAGE).status_code == 200
        assert second.get(PAGE).status_code == 403

    def test_looking_at_the_address_does_not_spend_it(self, begun):
        """A preview in a message is a look."""
        phone, token = give_out(begun, "Ines", wall_now())
        Client().get(reverse("crew-set-up", args=[token]))
        phone.refresh_from_db()
        assert phone.opened is None

    def test_it_lies_no_longer_than_a_week(self, begun):
        """A square on a note by the door is not good for ever."""
        now = wall_now()
        _, token = give_out(begun, "Ines", now)
        with pytest.raises(SetupSpentError):
            set_up(token, now + timedelta(days=7))

    def test_neither_token_is_kept(self, begun):
        """Only fingerprints."""
        _, token = give_out(begun, "Ines", wall_now())
        phone, held = set_up(token, wall_now())
        phone.refresh_from_db()
        assert {token, held} & {phone.setup, phone.hash} == set()

    def test_a_phone_turned_off_opens_nothing_more(self, begun):
        """Nor does it say anything."""
        client = phone_in_hand(begun)
        turn_off(CrewPhone.objects.get(), wall_now())
        assert client.get(PAGE).status_code == 403
        activity = Activity.objects.filter(retired=False)[0]
        assert say(client, activity, "done").status_code == 403
        assert not DayLog.objects.exists()

    def test_an_unknown_address_is_not_found(self):
        """And says what to do."""
        answer = Client().get(reverse("crew-set-up", args=["nothing"]))
        assert answer.status_code == 404
        assert "Ask the office" in answer.content.decode()


class TestPage:
    """What a lead sees at the gate."""

    def test_it_opens_today_and_tomorrow(self, begun, settings):
        """The day's works with hours, the way in, and buttons for today only."""
        page = read_crew_page(begun, "Ines", morning(settings))
        today, tomorrow = page.days
        assert (today.word, today.left) == ("Today", True)
        assert [v.job for v in today.visits] == ["3 Finch Street"]
        assert today.visits[0].access == "Gate on the left, 48 in"
        assert not any(work.may for visit in tomorrow.visits for work in visit.works)

    @pytest.mark.parametrize(
        ("browser", "begins"),
        [("iPhone OS 19", "maps:?q=3%20Finch"), ("Android", "geo:0,0?q=3%20Finch")],
    )
    def test_the_address_opens_the_phones_own_map(self, begun, settings, browser, begins):
        """By the address that kind of phone knows."""
        page = read_crew_page(begun, "Ines", morning(settings), browser)
        assert page.days[0].visits[0].maps.startswith(begins)

    def test_another_crew_sees_nothing_of_it(self, begun, settings):
        """Each crew its own."""
        idle = Crew.objects.exclude(pk=begun.pk)
        seen = [read_crew_page(crew, "x", morning(settings)).days[0].visits for crew in idle]
        busy = {row.activity.job.name for row in rows_of(idle, settings)}
        assert {visit.job for visits in seen for visit in visits} == busy

    def test_questions_do_not_grow_with_the_yards(self, begun):
        """As many for three yards as for one, but one for the sky over each more."""
        client = phone_in_hand(begun)
        client.get(PAGE)
        with CaptureQueriesContext(connection) as one:
            client.get(PAGE)
        for n in (2, 4):
            load_job(SMALL_YARD.replace("3 Finch", f"{n} Finch"), by="test", now=NOW)
        published_plan()
        with CaptureQueriesContext(connection) as three:
            client.get(PAGE)
        assert len(three) == len(one)


def rows_of(crews, settings):
    """Return what some crews have planned on the day."""
    from jobs.models import PlanRow  # noqa: PLC0415 (only here)

    day = morning(settings).date()
    rows = PlanRow.objects.filter(crew__in=crews, plan__state="published")
    return [row for row in rows if any(s[:10] == f"{day}" for s, _, _ in row.segments)]


class TestOffice:
    """Phones are given out and turned off by the office."""

    URL = reverse("crews:new-crew-phone")

    def asked(self, crew, person="Ines"):
        """Return the form as the page sends it."""
        return {"crew-phone-crew": crew.pk, "crew-phone-person": person}

    def test_the_office_gives_a_phone_out_and_turns_it_off(self, begun):
        """Shown once as a square; then listed without its address."""
        office = signed_in()
        shown = office.post(self.URL, self.asked(begun)).content.decode()
        assert "/crew/set-up/" in shown
        listed = office.get(reverse("crews:calendars")).content.decode()
        assert "Not set up yet" in listed
        assert "/crew/set-up/" not in listed
        phone = CrewPhone.objects.get()
        office.post(reverse("crews:turn-off-phone", args=[phone.pk]))
        phone.refresh_from_db()
        assert phone.revoked is not None

    def test_only_who_may_edit_gives_phones_out(self, begun):
        """A crew's lead looks."""
        assert signed_in(Role.LEAD).post(self.URL, self.asked(begun)).status_code == 403

    def test_an_empty_name_is_told_beside_the_field(self, begun):
        """Nothing is given out."""
        assert signed_in().post(self.URL, self.asked(begun, "")).status_code == 422
        assert not CrewPhone.objects.exists()


def test_when_a_phone_was_seen_is_noted_once_an_hour(begun):
    """So that the office knows which phones are alive, without a write for every look."""
    client = phone_in_hand(begun)
    with time_machine.travel(NOW, tick=False):
        client.get(PAGE)
    with time_machine.travel(NOW + timedelta(minutes=59), tick=False):
        client.get(PAGE)
    assert CrewPhone.objects.get().last_seen == NOW
    with time_machine.travel(NOW + timedelta(minutes=60), tick=False):
        client.get(PAGE)
    assert CrewPhone.objects.get().last_seen == NOW + timedelta(minutes=60)


def test_the_script_that_keeps_the_page_is_served_beside_it():
    """From the folder whose pages it may see."""
    answer = Client().get(reverse("crew-worker"))
    assert answer["Content-Type"] == "text/javascript"
    assert PAGE in answer.content.decode()


def test_a_pour_in_the_cold_is_told_on_the_phone_and_on_the_day(settings):
    """39 F for three days from the pour on: cold steps (ACI 306R), for concrete and for nobody else."""
    company = open_office()
    job = load_job(SMALL_YARD + SLAB, by="test", now=NOW)
    Job.objects.update(latitude="35.57000", longitude="-82.55000")
    job.refresh_from_db()
    row = published_plan().rows.select_related("crew").get(activity__template="pour-slab")
    settings.TODAY = row.start.astimezone(NOW.tzinfo).strftime("%Y-%m-%dT%H:%M")
    company.demo_day = None
    company.save()
    whole = f"{morning(settings).replace(hour=0, minute=0).isoformat()}/P3D"
    layer = {"uom": "wmoUnit:degC", "values": [{"validTime": whole, "value": (39 - 32) / 1.8}]}
    told = {"updateTime": settings.TODAY + ":00-04:00", "validTimes": whole, "temperature": layer}
    keep_answer(job, json.dumps({"properties": told}), morning(settings))
    cold = "Down to 39 F while the concrete is young"
    assert cold in phone_in_hand(row.crew).get(PAGE).content.decode()
    assert cold in signed_in().get(reverse("day", args=[job.slug])).content.decode()
    Activity.objects.filter(pk=row.activity_id).update(detail={"weather": "W1"})
    assert cold not in signed_in().get(reverse("day", args=[job.slug])).content.decode()


class TestWhatWentWrong:
    """On a crew's addresses in both languages, since whose phone it is may not be known; the office reads English."""

    @pytest.mark.parametrize(
        ("address", "told"),
        [
            ("/crew/nowhere/", ("Nothing here", "Aquí no hay nada", "La página de su cuadrilla")),
            ("/nowhere/", ("Nothing here", "Go to tomorrow")),
        ],
    )
    def test_an_address_that_leads_nowhere(self, address, told, django_assert_num_queries):
        """404, and nothing is asked of the database."""
        with django_assert_num_queries(0):
            answer = Client().get(address)
        page = answer.content.decode()
        assert (answer.status_code, [one in page for one in told]) == (404, [True] * len(told))
        assert ("Aquí" in page) is address.startswith("/crew/")

    def test_a_fault_of_ours(self, begun, monkeypatch):
        """500, with what to do."""
        browser = phone_in_hand(begun)
        browser.raise_request_exception = False
        monkeypatch.setattr("jobs.views.crew_page.read_crew_page", None)
        answer = browser.get(PAGE)
        page = answer.content.decode()
        assert answer.status_code == 500
        assert "Something broke" in page
        assert "Fue culpa nuestra y no se cambió nada." in page

    @pytest.mark.parametrize(
        ("address", "told"),
        [("/crew/rained-out/", "No se aceptó"), ("/storm/lose/", "Nothing was kept")],
    )
    def test_what_is_sent_from_elsewhere_is_refused(self, db, address, told):
        """403, by a crew's phone and in the office."""
        answer = Client(enforce_csrf_checks=True).post(address)
        assert (answer.status_code, told in answer.content.decode()) == (403, True)

    def test_a_pretended_day_is_told_in_the_language_of_the_crew(self, begun, settings):
        """Wherever the day is not the real one."""
        Crew.objects.filter(pk=begun.pk).update(language="es")
        page = phone_in_hand(begun).get(PAGE).content.decode()
        assert "no el día real" in page
        assert "not the real day" not in page
