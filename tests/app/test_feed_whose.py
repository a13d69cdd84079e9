"""Which events are in whose feed."""

from __future__ import annotations

import pytest

from crews.models import Crew
from crews.services.revision import rows_told
from crews.services.subjects import UnknownSubjectError, events_of, subject_of
from tests.factories import (
    CalendarEventFactory,
    CrewFactory,
    CrewMemberFactory,
    MachineFactory,
    PersonFactory,
)
from tests.feeds import link_to, name, titles

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_shelf")]


class TestWhose:
    """Which events are in whose feed."""

    @pytest.fixture(autouse=True)
    def _yard(self):
        """Two crews and a machine at work."""
        self.ground = CrewFactory(name="Ground crew", slug="ground")
        self.stone = CrewFactory(name="Stone crew", slug="stone")
        MachineFactory(name="Tracked loader", slug="loader")
        for subject in ("crew:ground", "crew:stone", "machine:loader", "homeowner:4fa1"):
            CalendarEventFactory(subject=subject, title=subject)
        for subject in ("crew:ground", "crew:stone"):
            CalendarEventFactory(subject=subject, activity="", kind="nothing", title="Nothing")

    def feed(self, client, subject, **other):
        """Name and sorted titles of a feed."""
        answer = client.get(link_to(subject, **other)[1])
        return name(answer), sorted(titles(answer))

    def test_a_crew_sees_its_own(self, client):
        """With its standing event."""
        assert self.feed(client, "crew:ground") == (
            "Ground crew - Yardwright",
            ["Nothing", "crew:ground"],
        )

    def test_a_machine_has_its_own(self, client):
        """Where the loader stands."""
        assert self.feed(client, "machine:loader") == (
            "Tracked loader - Yardwright",
            ["machine:loader"],
        )

    def test_a_person_sees_what_the_persons_crews_do(self, client):
        """Both crews, without their standing events."""
        person = PersonFactory(name="Ana")
        CrewMemberFactory(crew=self.ground, person=person)
        CrewMemberFactory(crew=self.stone, person=person)
        assert self.feed(client, f"person:{person.pk}") == (
            "Ana - Yardwright",
            ["crew:ground", "crew:stone"],
        )

    def test_who_leads_a_crew_sees_what_it_does_once(self, client):
        """Leads Ground, and is one of Ground's people too."""
        person = PersonFactory(name="Ana")
        Crew.objects.filter(slug="ground").update(lead=person)
        CrewMemberFactory(crew=self.ground, person=person)
        assert self.feed(client, f"person:{person.pk}") == ("Ana - Yardwright", ["crew:ground"])

    def test_a_person_without_a_crew_has_nothing_planned(self, client):
        """Never an empty calendar."""
        person = PersonFactory(name="Ben")
        assert self.feed(client, f"person:{person.pk}") == (
            "Ben - Yardwright",
            ["Nothing planned this week"],
        )

    def test_everything_is_what_every_crew_does(self, client):
        """Machines go where crews go and are not told twice."""
        assert self.feed(client, "all") == (
            "Everything - Yardwright",
            ["crew:ground", "crew:stone"],
        )

    def test_a_homeowner_sees_milestones_under_the_name_of_the_yard(self, client):
        """The label of the link."""
        assert self.feed(client, "homeowner:4fa1", label="Maple Lane") == (
            "Maple Lane - Yardwright",
            ["homeowner:4fa1"],
        )

    @pytest.mark.parametrize(
        "kind", ["crew:ground", "machine:loader", "all", "person", "homeowner:4fa1"]
    )
    def test_what_rows_tell_is_of_the_rows_of_the_feed(self, kind):
        """The cheap question and the whole answer are about the same events."""
        person = PersonFactory(name="Ana")
        CrewMemberFactory(crew=self.stone, person=person)
        whose = subject_of(f"person:{person.pk}" if kind == "person" else kind)
        events = list(events_of(whose))
        assert (*rows_told(whose)[:2], rows_told(whose)[-1]) == (
            len(events),
            max(event.pk for event in events),
            max(events, key=lambda event: (event.start, event.uid)).uid,
        )

    @pytest.mark.parametrize("subject", ["team:ground", "crew", "all:of-it"])
    def test_other_subjects_there_are_none(self, subject):
        """A word for the kind and what names one of it."""
        with pytest.raises(UnknownSubjectError):
            subject_of(subject)
