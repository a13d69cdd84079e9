"""A crew's calendar speaks the crew's language, and another one from the moment the office says so."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from crews.models import CalendarEvent, Crew
from crews.services.events import publish_events, reword_events
from crews.services.nothing import nothing_event
from jobs.models import HistoryEntry
from jobs.services.company.crew_changes import keep_crew
from jobs.services.history import Who
from tests.app.test_events import FRIDAY, SATURDAY, days, draft, rows
from tests.crew_facts import facts_of
from tests.factories import CrewFactory
from tests.office import NOW, published_yard

pytestmark = pytest.mark.django_db
SPANISH = "Maple Lane: Nivelar el patio"


@pytest.fixture
def ground():
    """A crew that reads Spanish."""
    return CrewFactory(name="Ground", slug="ground", language="es")


class TestWords:
    """The lines that a calendar itself adds."""

    def test_what_was_moved_or_cancelled_is_said_in_spanish(self, ground):
        """Days and months, too."""
        publish_events([draft(days(8, 9), title=SPANISH)], "maple", FRIDAY)
        publish_events([draft(days(9, 11), title=SPANISH)], "maple", SATURDAY)
        assert rows()[0].changed == "Cambió sáb 6 jun: antes lun 8 jun."
        publish_events([], "maple", SATURDAY)
        row = rows()[0]
        assert (row.title, row.changed) == (
            f"CANCELADO - {SPANISH}",
            "Cambió sáb 6 jun: cancelado.",
        )
        publish_events([draft(days(9, 11), title=SPANISH)], "maple", SATURDAY)
        assert rows()[0].changed == "Cambió sáb 6 jun: sigue en pie."

    def test_an_empty_week_is_said_in_spanish(self):
        """The standing event of a feed."""
        assert nothing_event("crew:ground", FRIDAY, "es").title == "Nada planeado esta semana"


class TestReworded:
    """Another language for what is published."""

    def test_only_words_change_and_each_event_counts_up_once(self, ground):
        """SEQUENCE and LAST-MODIFIED rise; dates, UID and what says them stay."""
        publish_events([draft(days(8, 9), days(11, 12))], "maple", FRIDAY)
        before = rows()
        told = draft(days(8, 9), days(11, 12), title=SPANISH)
        assert reword_events([told], SATURDAY, "language") == 2
        for was, now in zip(before, rows(), strict=True):
            assert (now.uid, now.start, now.end) == (was.uid, was.start, was.end)
            assert (now.title, now.changed) == (SPANISH, "Cambió sáb 6 jun: ahora en español.")
            assert now.sequence == was.sequence + 1
            assert now.modified == SATURDAY

    def test_the_same_words_raise_nothing(self, ground):
        """Whoever presses the button again changes no event."""
        told = draft(days(8, 9), title=SPANISH)
        publish_events([told], "maple", FRIDAY)
        before = CalendarEvent.objects.values().get()
        assert reword_events([told], SATURDAY, "language") == 0
        assert CalendarEvent.objects.values().get() == before

    def test_others_and_what_is_over_or_cancelled_stay(self, ground):
        """Another crew's events; the past; what was taken out two days ago."""
        kept = [
            draft(days(8, 9)),
            draft(days(15, 16), activity="gone"),
            draft(days(15, 16), subject="crew:green"),
        ]
        publish_events(kept, "maple", FRIDAY)
        publish_events([kept[0], kept[2]], "maple", SATURDAY)
        before = list(CalendarEvent.objects.order_by("pk").values())
        told = [replace(one, title=SPANISH) for one in kept[:2]]
        assert reword_events(told, FRIDAY + timedelta(days=5), "language") == 0
        assert list(CalendarEvent.objects.order_by("pk").values()) == before


def test_the_office_changes_a_language_and_phones_read_it_at_once():
    """No plan is published for it; kept once more nothing rises; the record says what the crew reads."""
    published_yard()
    event = CalendarEvent.objects.filter(subject__startswith="crew:", end__gt=NOW).earliest("start")
    crew = Crew.objects.get(slug=event.subject.partition(":")[2])
    who = Who("Dana Ortiz", NOW)
    keep_crew(crew, facts_of(crew, language="es"), who, revision=crew.revision)
    told = CalendarEvent.objects.get(pk=event.pk)
    assert told.title != event.title
    assert told.notes.count("personas") == 1
    assert told.sequence == event.sequence + 1
    assert told.modified > event.modified
    entry = HistoryEntry.objects.filter(what="crew changed").get()
    assert (entry.before["reads"], entry.after["reads"]) == ("English", "Spanish")
    crew.refresh_from_db()
    before = list(CalendarEvent.objects.order_by("pk").values())
    keep_crew(crew, facts_of(crew, language="es"), who, revision=crew.revision)
    assert list(CalendarEvent.objects.order_by("pk").values()) == before
