"""One factory a table: the smallest valid row, names from fixed lists, no random words."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime

import factory
from factory.django import DjangoModelFactory

from crews import models

PEOPLE = ("Ana", "Ben", "Carla", "Dele", "Ewa", "Femi", "Gil", "Hoa", "Ines", "Jo")
CREWS = ("Ground crew", "Stone crew", "Planting crew", "Concrete crew")
MACHINES = ("Tracked loader", "Mini excavator", "Plate compactor", "Trencher")
MONDAY = datetime(2026, 6, 8, 4, tzinfo=UTC)
"""Midnight of Monday 8 June 2026 in New York."""


def named(names: tuple[str, ...]) -> factory.Sequence:
    """A name from a list, with a number once the list is through."""
    return factory.Sequence(
        lambda n: names[n % len(names)] + (f" {n // len(names) + 1}" if n >= len(names) else "")
    )


def slugged() -> factory.LazyAttribute:
    """The slug of the row's name."""
    return factory.LazyAttribute(lambda row: row.name.lower().replace(" ", "-"))


class PersonFactory(DjangoModelFactory):
    """Somebody who may sign in and only look."""

    name = named(PEOPLE)
    email = factory.LazyAttribute(lambda row: f"{row.name.lower().replace(' ', '.')}@example.com")
    username = factory.SelfAttribute("email")

    class Meta:
        model = models.Person
        skip_postgeneration_save = True


class WorkingWeekFactory(DjangoModelFactory):
    """Monday to Friday, all day slots."""

    name = factory.Sequence(lambda n: f"Usual week {n}")

    class Meta:
        model = models.WorkingWeek


class CrewFactory(DjangoModelFactory):
    """A crew with a week of its own and nobody in it."""

    name = named(CREWS)
    slug = slugged()
    week = factory.SubFactory(WorkingWeekFactory)

    class Meta:
        model = models.Crew


class CrewMemberFactory(DjangoModelFactory):
    """One person of a crew, without a sign-in."""

    crew = factory.SubFactory(CrewFactory)
    name = named(PEOPLE)

    class Meta:
        model = models.CrewMember


class CrewSkillFactory(DjangoModelFactory):
    """All of a crew can grade."""

    crew = factory.SubFactory(CrewFactory)
    skill = "grading"

    class Meta:
        model = models.CrewSkill


class LoanFactory(DjangoModelFactory):
    """Somebody who helps another crew on Monday 8 June 2026."""

    member = factory.SubFactory(CrewMemberFactory)
    crew = factory.SubFactory(CrewFactory)
    first = date(2026, 6, 8)
    last = factory.SelfAttribute("first")

    class Meta:
        model = models.Loan


class MachineFactory(DjangoModelFactory):
    """One machine of its kind."""

    name = named(MACHINES)
    slug = slugged()
    kind = factory.SelfAttribute("slug")

    class Meta:
        model = models.Machine


class DayHoursFactory(DjangoModelFactory):
    """Everybody begins at seven, all the year."""

    class Meta:
        model = models.DayHours


class TimeOffFactory(DjangoModelFactory):
    """Monday 8 June 2026, off for everybody."""

    first = date(2026, 6, 8)
    last = factory.SelfAttribute("first")

    class Meta:
        model = models.TimeOff


class CalendarEventFactory(DjangoModelFactory):
    """Work on Monday 8 June 2026, all day."""

    uid = factory.Sequence(lambda n: f"event-{n}")
    subject = "crew:ground-crew"
    activity = factory.Sequence(lambda n: f"activity-{n}")
    job = "maple"
    start = MONDAY
    end = datetime(2026, 6, 9, 4, tzinfo=UTC)
    all_day = True
    zone = "America/New_York"
    title = "Maple Lane: Grade the yard"
    created = datetime(2026, 6, 1, 12, tzinfo=UTC)
    modified = factory.SelfAttribute("created")

    class Meta:
        model = models.CalendarEvent


class FeedLinkFactory(DjangoModelFactory):
    """A link of the ground crew; give it a token to open it with."""

    token = factory.Sequence(lambda n: f"open-sesame-{n}")
    hash = factory.LazyAttribute(lambda row: hashlib.sha256(row.token.encode()).hexdigest())
    subject = "crew:ground-crew"

    class Meta:
        model = models.FeedLink
        exclude = ("token",)
