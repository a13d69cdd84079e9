"""What a thumb says on a crew's page: kept once, for its own day, as if the office had written it."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from crews.models import Crew
from jobs.models import Activity, Company, DayLog, LostTime, Plan, PlanRow
from jobs.services.day.photos import path_of
from jobs.services.pages import said
from jobs.services.pages.crew_page import read_crew_page, works_today
from jobs.services.pages.said import read_said
from tests.office import signed_in
from tests.phones import first_morning, morning, phone_in_hand, say
from tests.pictures import PLACE, picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def begun(settings):
    """A crew on the first morning on which it works in the yard."""
    return first_morning(settings)


class TestSaying:
    """What a thumb says counts as if the office had written it."""

    @pytest.fixture
    def work(self, begun, settings):
        """The first work of the day."""
        return works_today(begun, morning(settings))[0]

    def test_started_and_done_reach_the_office(self, begun, work):
        """In the name of who holds the phone, as facts that the next plan takes."""
        client = phone_in_hand(begun)
        assert say(client, work, "started").status_code == 302
        assert say(client, work, "done").status_code == 302
        work.refresh_from_db()
        assert work.finished_at is not None
        assert [(line.kind, line.by) for line in DayLog.objects.order_by("pk")] == [
            ("started", f"Ines, {begun}"),
            ("done", f"Ines, {begun}"),
        ]

    def test_the_office_reads_it_beside_tomorrow(self, begun, work):
        """With the way out where the plan may not stand; what was taken for a fact needs nobody."""
        client = phone_in_hand(begun)
        say(client, work, "not-today", cause="machine", note="compactor leaks")
        page = signed_in().get(reverse("tomorrow")).content.decode()
        assert "Said today" in page
        assert "compactor leaks" in page
        assert page.count("See the ways out") == 1

    def test_a_plan_made_since_knows_it(self, begun, work, settings):
        """Then nobody is sent to the ways out any more."""
        say(phone_in_hand(begun), work, "not-today", cause="machine", note="compactor leaks")
        Plan.objects.update(published_at=morning(settings) + timedelta(hours=1))
        page = signed_in().get(reverse("tomorrow")).content.decode()
        assert ("compactor leaks" in page, "See the ways out" in page) == (True, False)

    def test_a_tap_sent_twice_counts_once(self, begun, work):
        """As happens with one bar of signal."""
        client, number = phone_in_hand(begun), str(uuid4())
        for _ in range(2):
            assert say(client, work, "started", client=number).status_code == 302
        assert DayLog.objects.count() == 1

    def test_a_tap_kept_without_a_signal_counts_for_its_own_day(self, begun, work, settings):
        """Said on the day, sent the next morning."""
        client, said = phone_in_hand(begun), morning(settings) + timedelta(hours=2)
        settings.TODAY = (morning(settings) + timedelta(days=1)).strftime("%Y-%m-%dT%H:%M")
        say(client, work, "started", at=said.isoformat())
        line = DayLog.objects.get()
        assert (line.day, line.device_at) == (said.date(), said)

    @pytest.mark.parametrize("days", [-30, 30])
    def test_a_phone_whose_clock_is_wrong_is_not_believed(self, begun, work, settings, days):
        """Then it counts as said when it arrived."""
        client, now = phone_in_hand(begun), morning(settings)
        say(client, work, "started", at=(now + timedelta(days=days)).isoformat())
        assert DayLog.objects.get().device_at == now

    def test_stopped_part_way_needs_a_share(self, begun, work):
        """Told beside the work; nothing is kept."""
        answer = say(phone_in_hand(begun), work, "part-way")
        assert answer.status_code == 422
        assert "1 to 99 percent" in answer.content.decode()
        assert not DayLog.objects.exists()

    @pytest.mark.parametrize(
        ("kind", "told", "field"),
        [("part-way", {"share": "150"}, "share"), ("part-way", {}, "share"), ("note", {}, "note")],
    )
    def test_what_is_wrong_stands_beside_its_field(self, begun, work, kind, told, field):
        """And what was typed stands in it."""
        answer = say(phone_in_hand(begun), work, kind, **told).content.decode()
        beside = answer.partition(f'id="{field}-{work.uid}"')[2]
        assert f'value="{told.get(field, "")}" aria-invalid="true"' in beside[:200]
        assert beside.partition(">")[2].startswith(
            f'<p class="wrong" id="{field}-{work.uid}-wrong"'
        )
        assert answer.count('role="alert"') == 1

    @pytest.mark.parametrize("told", [{"share": "lots"}, {"kind": "nonsense"}, {"client": "7"}])
    def test_nonsense_is_refused_in_words(self, begun, work, told):
        """With the page still there."""
        answer = say(phone_in_hand(begun), work, told.pop("kind", "done"), **told)
        assert answer.status_code == 422
        assert not DayLog.objects.exists()

    def test_another_crews_work_is_refused(self, begun, settings):
        """It may have been given to somebody else while the phone slept."""
        other = Activity.objects.filter(retired=False).exclude(
            pk__in=[work.pk for work in works_today(begun, morning(settings))]
        )
        stranger = next(a for a in other if not a.plan_rows.filter(crew=begun).exists())
        answer = say(phone_in_hand(begun), stranger, "done")
        assert "ask the office" in answer.content.decode()

    def test_rained_out_counts_against_everything_left_today(self, begun, work, settings):
        """One tap, a line for each work, and time lost to rain for the ways out."""
        client, left = phone_in_hand(begun), works_today(begun, morning(settings))
        tap = {"client": str(uuid4())}
        for _ in range(2):
            client.post(reverse("crew-rained"), tap)
        assert DayLog.objects.filter(kind="not-today", cause="rain").count() == len(left)
        assert LostTime.objects.filter(cause="rain").count() == len(left)

    def test_saying_needs_the_forms_own_token(self, begun, work):
        """No other site can press a button here."""
        phone = phone_in_hand(begun)
        strict = Client(enforce_csrf_checks=True)
        strict.cookies = phone.cookies
        assert say(strict, work, "done").status_code == 403


class TestAfterwards:
    """What was said stands beside the work, and a thumb that slipped takes it back."""

    @pytest.fixture
    def work(self, begun, settings):
        """The first work of the day."""
        return works_today(begun, morning(settings))[0]

    def shown(self, begun, settings):
        """Today's first work and whether rain is asked after, as a phone sees them."""
        today = read_crew_page(begun, "Ines", morning(settings)).days[0]
        return today.visits[0].works[0], today.left

    def test_not_today_is_told_beside_the_work(self, begun, work, settings):
        """Else a lead says it again; rain is not asked after where nothing is left for it to stop."""
        assert self.shown(begun, settings)[1]
        phone = phone_in_hand(begun)
        for one in works_today(begun, morning(settings)):
            say(phone, one, "not-today", cause="rain")
        shown, left = self.shown(begun, settings)
        assert (shown.state, left) == ("not today: rain", False)

    @pytest.mark.parametrize("kind", ["started", "done", "not-today"])
    def test_a_thumb_that_slipped_takes_it_back(self, begun, work, settings, kind):
        """All stands as before, time lost as well; sent twice it is taken back once."""
        phone, before = phone_in_hand(begun), self.shown(begun, settings)[0]
        say(phone, work, kind, cause="rain")
        slip = reverse("crew-take-back", args=[self.shown(begun, settings)[0].last])
        for _ in range(2):
            assert phone.post(slip).status_code == 302
        after = self.shown(begun, settings)[0]
        assert after._replace(client=before.client) == before
        assert [line.kind for line in DayLog.objects.order_by("pk")] == [kind, "taken-back"]
        assert not LostTime.objects.filter(taken_back_at=None).exists()

    def test_what_somebody_else_said_stays(self, begun, work, settings):
        """Another phone of the crew is offered nothing, and refused."""
        say(phone_in_hand(begun), work, "done")
        line = DayLog.objects.get()
        other = phone_in_hand(begun, "Tobin")
        assert (
            read_crew_page(begun, "Tobin", morning(settings)).days[0].visits[0].works[0].last
            is None
        )
        answer = other.post(reverse("crew-take-back", args=[line.pk]))
        assert answer.status_code == 422
        assert "not said on this phone today" in answer.content.decode()

    def test_a_problem_reaches_the_office_and_stops_nothing(self, begun, work, settings):
        """Without words it is refused beside the work."""
        phone = phone_in_hand(begun)
        assert say(phone, work, "note").status_code == 422
        say(phone, work, "note", note="a pipe is broken at the gate")
        assert (
            "a pipe is broken at the gate" in signed_in().get(reverse("tomorrow")).content.decode()
        )
        assert self.shown(begun, settings)[0].state == ""

    def test_what_was_typed_is_kept_where_it_is_refused(self, begun, work):
        """With the fold it was typed in left open."""
        told = {"share": "150", "note": "a pipe is broken", "cause": "machine"}
        page = say(phone_in_hand(begun), work, "part-way", **told).content.decode()
        assert "<details open>" in page
        for kept in (
            'value="150"',
            'value="a pipe is broken"',
            '<option value="machine" selected>',
        ):
            assert kept in page

    def test_the_office_can_be_called_from_the_page(self, begun):
        """Its number opens the telephone."""
        Company.objects.update(phone="555-0142")
        assert (
            'href="tel:555-0142"' in phone_in_hand(begun).get(reverse("crew-page")).content.decode()
        )


class TestPhotos:
    """A photo from a crew's phone, kept as the office's are."""

    @pytest.fixture
    def yard(self, begun, settings, tmp_path):
        """The yard the crew is in; photos lie in a folder of the test."""
        settings.MEDIA_ROOT = tmp_path
        return works_today(begun, morning(settings))[0].job

    def send(self, browser, yard, **told):
        """Press the button below the picture."""
        sent = {"client": str(uuid4()), "file": SimpleUploadedFile("IMG_1.jpg", picture())} | told
        return browser.post(reverse("crew-photo", args=[yard.slug]), sent)

    def test_the_office_sees_it_in_the_days_log(self, begun, yard, settings):
        """In the name of who holds the phone, without what the camera wrote into it; sent twice it is one."""
        phone, number = phone_in_hand(begun), str(uuid4())
        for _ in range(2):
            assert self.send(phone, yard, note="Rock at 2 ft", client=number).status_code == 302
        line = DayLog.objects.get()
        assert (line.kind, line.note, line.by) == ("photo", "Rock at 2 ft", f"Ines, {begun}")
        assert PLACE not in path_of(line.photo).read_bytes()
        page = signed_in().get(reverse("day", args=[yard.slug])).content.decode()
        assert reverse("photo", args=[line.photo.uid, "small"]) in page
        [line] = read_said(morning(settings))
        assert (line.what, line.said, line.note) == ("the yard", "photo", "Rock at 2 ft")

    @pytest.mark.parametrize(
        ("language", "file", "told"),
        [
            ("en", "", "Take a photo or choose one first."),
            ("es", "", "Primero tome una foto o elija una."),
            ("en", b"GIF89a", "This is no picture that can be read"),
            ("es", b"GIF89a", "Esto no es una imagen que se pueda leer"),
            ("es", b"\0" * 15_000_001, "Una foto puede tener 15 MB"),
        ],
    )
    def test_what_is_no_photo_is_told_beside_the_field(self, begun, yard, language, file, told):
        """In the crew's language; the words that were typed stay, and nothing is kept."""
        begun.language = language
        begun.save()
        sent = {"file": SimpleUploadedFile("x.jpg", file)} if file else {"file": ""}
        answer = self.send(phone_in_hand(begun), yard, note="Rock", **sent)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert told in page.partition(f'id="photo-{yard.slug}-wrong"')[2].partition("</p>")[0]
        assert 'value="Rock"' in page
        assert not DayLog.objects.exists()

    def test_photos_keep_nothing_else_from_being_read(self, begun, yard, settings, monkeypatch):
        """A crew that sends many has not said less: what moves a plan stands there, the newest photos beside it."""
        monkeypatch.setattr(said, "MOST", 2)
        phone = phone_in_hand(begun)
        say(phone, works_today(begun, morning(settings))[0], "not-today", cause="machine")
        for shows in ("first", "second"):
            self.send(phone, yard, note=shows)
        photo, lost = read_said(morning(settings))
        assert (photo.note, lost.moves) == ("second", True)

    def test_only_of_its_own_yard(self, begun, yard):
        """Another crew is planned there; a second crew that helps may send what it sees."""
        phone, other = phone_in_hand(begun), Crew.objects.exclude(pk=begun.pk)[0]
        PlanRow.objects.update(crew=other, lent=None)
        answer = self.send(phone, yard)
        assert (answer.status_code, DayLog.objects.count()) == (422, 0)
        assert "ask the office" in answer.content.decode()
        PlanRow.objects.update(lent=begun)
        assert self.send(phone, yard).status_code == 302

    def test_from_no_page_but_ours(self, begun, yard):
        """A page elsewhere that makes the phone's browser send one has no mark of ours."""
        phone = phone_in_hand(begun)
        phone.handler.enforce_csrf_checks = True
        assert self.send(phone, yard).status_code == 403
        assert not DayLog.objects.exists()

    def test_only_of_a_yard_the_crew_works_in(self, begun, yard):
        """And from no phone that nobody knows."""
        assert self.send(Client(), yard).status_code == 403
        phone = phone_in_hand(begun)
        Plan.objects.all().delete()
        assert "ask the office" in self.send(phone, yard).content.decode()
        assert not DayLog.objects.exists()
