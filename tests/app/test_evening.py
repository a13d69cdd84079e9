"""The evening summary: in each crew's language, to copy, or sent once a day by whoever comes first."""

from __future__ import annotations

import smtplib
from datetime import date, datetime, time, timedelta
from io import StringIO

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command
from django.urls import reverse

from crews.models import Crew, Role
from jobs.models import Company, HistoryEntry, Job, Message, Plan
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.history import Who
from jobs.services.mail.evening import evening_drafts, is_due, send_evening, set_evening
from jobs.services.mail.messages import drafts
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.offer import answer_at_once, read_storm
from jobs.services.upkeep.chores import do_chores
from tests.office import NOW, open_office, published_yard, signed_in, small_job

pytestmark = pytest.mark.django_db
THURSDAY = date(2026, 6, 25)
"""The first day on which a crew works: marks are called for on Monday, and wait."""
EVE = datetime(2026, 6, 24, 18, tzinfo=NOW.tzinfo)


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first crew works on Thursday 25 June."""
    return published_yard()


def crew_of(day: date) -> Crew:
    """The crew that works first on a day."""
    rows = Plan.objects.get(state="published").rows.filter(crew__isnull=False)
    row = next(row for row in rows.order_by("start") if row.start.date() == day)
    return row.crew


def text_for(key: str, now: datetime = EVE) -> str:
    """What one draft says."""
    return next(draft.text for draft in evening_drafts(now) if draft.key == key)


class TestWords:
    """Who goes where with what, what could stop it, what changed."""

    def test_a_crew_reads_its_day(self, job):
        """Hour, yard, work, machines; the address under the first work of a yard."""
        crew = crew_of(THURSDAY)
        lines = text_for(f"evening-crew-{crew.pk}").splitlines()
        assert lines[0] == f"{crew.name}, Thu 25 Jun:"
        assert lines[1].startswith("7:00 am  3 Finch Street: ")
        assert lines[2] == "   3 Finch Street, Asheville, NC"
        assert lines[-1] == "Your phone calendar shows the same at its next look."

    def test_in_spanish_where_the_crew_reads_it(self, job):
        """Sentences, days, hours and works."""
        crew = crew_of(THURSDAY)
        Crew.objects.filter(pk=crew.pk).update(language="es")
        lines = text_for(f"evening-crew-{crew.pk}").splitlines()
        assert lines[0] == f"{crew.name}, jue 25 jun:"
        assert lines[1].startswith("7:00 a. m.  3 Finch Street: ")
        assert lines[-1] == "El calendario de su teléfono muestra lo mismo cuando se actualice."

    def test_who_is_free_is_told_so(self, job):
        """Better than wondering."""
        rows = Plan.objects.get(state="published").rows.filter(start__date=THURSDAY)
        free = Crew.objects.exclude(pk__in=rows.filter(crew__isnull=False).values("crew")).first()
        assert "Nothing is planned for you." in text_for(f"evening-crew-{free.pk}", EVE)

    def test_what_changed_since_yesterday(self, job):
        """Rain on Thursday and Friday, accepted on the eve: against the plan of the week before."""
        thursday = THURSDAY
        crew = crew_of(thursday)
        assert "Changed since yesterday" not in text_for(f"evening-crew-{crew.pk}")
        lose_days(Lost(thursday, thursday + timedelta(days=1)), by="Ana", now=EVE)
        accept_answer(answer_at_once(read_storm(EVE), EVE)[0].row, by="Ana", now=EVE)
        text = text_for(f"evening-crew-{crew.pk}")
        assert "Changed since yesterday:\n- Thu 25 Jun: nothing planned" in text
        owner = next(d.text for d in evening_drafts(EVE) if d.key.startswith("evening-owner"))
        assert f"- Thu 25 Jun: nothing planned ({crew.name})" in owner

    def test_on_the_first_day_against_the_first_plan(self, job):
        """Published this afternoon and changed since: crews know the first one, whatever was a day ago."""
        crew = crew_of(THURSDAY)
        Plan.objects.update(published_at=EVE - timedelta(hours=3))
        lose_days(Lost(THURSDAY, THURSDAY + timedelta(days=1)), by="Ana", now=EVE)
        accept_answer(answer_at_once(read_storm(EVE), EVE)[0].row, by="Ana", now=EVE)
        assert "Changed since yesterday:\n- Thu 25 Jun: nothing planned" in text_for(
            f"evening-crew-{crew.pk}"
        )

    def test_tomorrow_says_where_it_shows_a_later_day(self, job, settings):
        """The page's name says tomorrow, and nobody works then."""
        settings.TODAY = EVE.strftime("%Y-%m-%dT%H:%M")
        said = "The next day with work: nothing is planned tomorrow."
        assert said not in signed_in().get(reverse("tomorrow")).content.decode()
        lose_days(Lost(THURSDAY, THURSDAY + timedelta(days=1)), by="Ana", now=EVE)
        accept_answer(answer_at_once(read_storm(EVE), EVE)[0].row, by="Ana", now=EVE)
        assert said in signed_in().get(reverse("tomorrow")).content.decode()

    def test_the_owner_reads_it_all(self, job):
        """Every crew, what to call or decide, promises, changes."""
        text = next(d.text for d in evening_drafts(EVE) if d.key.startswith("evening-owner"))
        for words in (
            "To call, order or decide",
            "Promises at risk\n- none",
            "Changed since yesterday\n- nothing",
        ):
            assert words in text
        assert all(crew.name in text for crew in Crew.objects.all())

    def test_changed_days_are_told_in_spanish_too(self, job):
        """The draft after an accepted plan, in the crew's language."""
        thursday = THURSDAY
        Crew.objects.update(language="es")
        lose_days(Lost(thursday, thursday), by="Ana", now=NOW)
        accept_answer(answer_at_once(read_storm(NOW), NOW)[0].row, by="Ana", now=NOW)
        text = next(draft.text for draft in drafts(NOW) if draft.key.startswith("crew-"))
        assert text.startswith(
            "Estos días cambiaron; todos los demás quedan como estaban.\n\n- jue 25 jun: nada planeado"
        )

    def test_nothing_published_nobody_told(self):
        """No plan, no summary."""
        open_office()
        small_job()
        assert evening_drafts(NOW) == []


class TestSending:
    """Once a day, whoever comes first, at the company's hour."""

    def test_each_goes_out_once_a_day(self, job):
        """The same evening nothing is left; the next evening all are new."""
        with_address = [draft.to for draft in evening_drafts(EVE) if draft.to]
        assert send_evening(EVE) == len(with_address) > 1
        assert send_evening(EVE) == 0
        assert sorted(one.to[0] for one in mail.outbox) == sorted(with_address)
        assert send_evening(EVE + timedelta(days=2)) == len(with_address)
        assert HistoryEntry.objects.filter(what="evening summary sent").count() == 2

    def test_one_that_is_being_sent_is_not_sent_by_another(self, job):
        """A worker claimed it and died: rather none than two."""
        first = next(draft for draft in evening_drafts(EVE) if draft.to)
        Message.objects.create(
            on=EVE.date(), key=first.key, to=first.to, subject="x", text="x", sent_at=EVE
        )
        send_evening(EVE)
        assert len(mail.outbox) == len([d for d in evening_drafts(EVE) if d.to]) - 1

    def test_what_failed_is_tried_three_times(self, job, monkeypatch):
        """The server refuses; the reason stands beside the message, and after three times it is left."""

        def refuse(self, messages):
            raise smtplib.SMTPServerDisconnected("the line went dead")

        monkeypatch.setattr(EmailBackend, "send_messages", refuse)
        Company.objects.update(evening_at=time(17))
        for _ in range(3):
            assert is_due(Company.objects.get(), EVE)
            assert send_evening(EVE) == 0
        assert set(Message.objects.values_list("tries", "failed", "sent_at")) == {
            (3, "the line went dead", None)
        }
        assert not is_due(Company.objects.get(), EVE)

    @pytest.mark.parametrize(
        ("at", "now", "due"),
        [
            (None, EVE, False),
            (time(18, 1), EVE, False),
            (time(18), EVE, True),
            (time(18), EVE - timedelta(days=5), True),
            (time(18), EVE - timedelta(days=4), False),
        ],
        ids=["never", "too early", "the eve", "a Friday of work", "a Saturday"],
    )
    def test_on_evenings_of_work_and_before_it(self, job, at, now, due):
        """After a day of work and before one; on a free Saturday nobody asks."""
        row = Plan.objects.get(state="published").rows.filter(crew__isnull=False).first()
        row.segments = [
            ["2026-06-19T07:00:00-04:00", "2026-06-19T09:00:00-04:00", False],
            *row.segments,
        ]
        row.save()
        Company.objects.update(evening_at=at)
        assert is_due(Company.objects.get(), now) is due

    def test_the_worker_sends_it_but_not_on_a_pretended_day(self, job):
        """A demo writes to nobody."""
        Company.objects.update(evening_at=time(17))
        do_chores(EVE)
        assert mail.outbox == []
        Company.objects.update(demo_day=None)
        do_chores(EVE)
        assert len(mail.outbox) > 1

    def test_the_hour_is_kept_with_a_line_in_the_record(self, job):
        """Said twice it changes once."""
        for _ in range(2):
            set_evening(time(18, 30), Who("Ana", NOW))
        entry = HistoryEntry.objects.get(what="evening summary")
        assert (entry.before, entry.after) == ({"sent": "never by itself"}, {"sent": "18:30"})


class TestPages:
    """To copy; the hour; the command."""

    def test_from_the_page(self, job, settings):
        """Words to copy; an hour after noon; sent by a button where a server is set."""
        client, page = signed_in(), reverse("evening")
        assert "who goes where" in client.get(page).content.decode()
        told = client.post(reverse("evening-hour"), {"at": "07:00"})
        assert (told.status_code, "Say an hour after noon" in told.content.decode()) == (422, True)
        assert client.post(reverse("evening-hour"), {"at": "25:99"}).status_code == 422
        client.post(reverse("evening-hour"), {"at": "18:30"})
        assert Company.objects.get().evening_at == time(18, 30)
        client.post(reverse("evening-send"))
        assert "sent today" in client.get(page).content.decode()
        settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
        assert client.post(reverse("evening-send")).status_code == 404
        assert "no mail server is set" in client.get(page).content.decode()

    def test_a_viewer_reads_and_sends_nothing(self, job):
        """Neither the hour nor the button."""
        viewer = signed_in(Role.VIEWER)
        assert viewer.get(reverse("evening")).status_code == 200
        for name in ("evening-hour", "evening-send"):
            assert viewer.post(reverse(name)).status_code == 403

    def test_the_command_prints_or_sends(self, job, settings):
        """Every draft; and only what was not sent yet."""
        settings.TODAY = "2026-06-24"
        out = StringIO()
        call_command("evening", stdout=out)
        assert "Subject: Thu 25 Jun: who goes where" in out.getvalue()
        out = StringIO()
        for _ in range(2):
            call_command("evening", "--send", stdout=out)
        told = out.getvalue().splitlines()
        assert [line for line in told if line.endswith("went out.")][1] == "0 messages went out."
        assert told[1].startswith("No address is known of: ")

    def test_without_a_mail_server_the_command_prints_what_it_cannot_send(self, job, settings):
        """And says what to set; a server that refuses is named with whom it left out."""
        settings.TODAY = "2026-06-24"
        settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
        out = StringIO()
        with pytest.raises(CommandError, match="Nothing was sent: no mail server is set"):
            call_command("evening", "--send", stdout=out)
        assert "Subject: Thu 25 Jun: who goes where" in out.getvalue()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
        with pytest.raises(CommandError, match="Not sent to "):
            call_command("evening", "--send", stdout=out)
        assert "0 messages went out." in out.getvalue()
