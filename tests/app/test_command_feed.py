"""``feed`` and ``create_owner``: what is printed, and what is refused with exit code 2."""

from __future__ import annotations

from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from crews.models import Person
from jobs.models import Job
from tests.calendars import read_strictly
from tests.factories import CalendarEventFactory, CrewFactory, PersonFactory

pytestmark = pytest.mark.django_db
PASSWORD = "gravel-Bench-77x"


def printed(*arguments, **options):
    """What a command prints."""
    out = StringIO()
    call_command(*arguments, stdout=out, **options)
    return out.getvalue()


def refused(*arguments, **options):
    """Why a command ends with exit code 2."""
    with pytest.raises(CommandError) as error:
        call_command(*arguments, **options)
    assert error.value.returncode == 2
    assert "\n" not in str(error.value)
    return str(error.value)


class TestFeed:
    """The body of a feed on standard output."""

    def test_a_crew(self):
        """The same body as over HTTP."""
        CrewFactory(name="Ground crew", slug="ground-crew")
        CalendarEventFactory()
        calendar = read_strictly(printed("feed", "crew", "ground-crew").encode())
        assert calendar.one("NAME").text == "Ground crew - Yardwright"
        assert calendar.inside("VEVENT")[0].one("SUMMARY").text == "Maple Lane: Grade the yard"

    def test_a_homeowner_by_the_slug_of_the_job(self):
        """Events are stored by the job's uid; the calendar has the job's name."""
        job = Job.objects.create(
            slug="maple-lane",
            name="Maple Lane",
            address="12 Maple Lane",
            us_state="NY",
            starts_on=date(2026, 6, 8),
        )
        CalendarEventFactory(subject=f"homeowner:{job.uid}", title="Pour day", kind="milestone")
        calendar = read_strictly(printed("feed", "homeowner", "maple-lane").encode())
        assert calendar.one("NAME").text == "Maple Lane - Yardwright"
        (event,) = calendar.inside("VEVENT")
        assert (event.one("SUMMARY").text, event.one("TRANSP").value) == ("Pour day", "TRANSPARENT")

    def test_a_person_by_number_or_address(self):
        """Both name the same calendar."""
        person = PersonFactory(name="Ana", email="ana@example.com")
        by_number = printed("feed", "person", str(person.pk))
        assert by_number == printed("feed", "person", "Ana@example.com")

    def test_everything_needs_no_name(self):
        """Even of a company without work."""
        calendar = read_strictly(printed("feed", "all").encode())
        (event,) = calendar.inside("VEVENT")
        assert event.one("SUMMARY").text == "Nothing planned this week"

    @pytest.mark.parametrize(
        ("arguments", "reason"),
        [
            (("crew", "none"), "there is no crew 'none'"),
            (("machine", "none"), "there is no machine 'none'"),
            (("person", "7"), "there is no person '7'"),
            (("person", "ana@example.com"), "there is no person 'ana@example.com'"),
            (("homeowner", "none"), "there is no job 'none'"),
            (("team", "none"), "'team' is none of crew, machine, person, all, homeowner"),
            (("crew",), "a calendar of kind crew needs a name"),
            (("all", "of-it"), "a calendar of kind all takes no name"),
        ],
    )
    def test_what_there_is_not(self, arguments, reason):
        """One line that says what was not found."""
        assert refused("feed", *arguments) == reason


class TestCreateOwner:
    """The first sign-in."""

    def test_an_owner_may_sign_in(self, client):
        """By the address in small letters, with the password."""
        told = printed("create_owner", "Ana@Example.com", "Ana", password=PASSWORD)
        assert told == "Ana may sign in as ana@example.com.\n"
        person = Person.objects.get()
        assert (person.name, person.role, person.may_edit) == ("Ana", "owner", True)
        assert client.login(username="ana@example.com", password=PASSWORD)

    def test_the_password_may_come_from_input(self, monkeypatch):
        """Its first line, without the line break."""
        monkeypatch.setattr("sys.stdin", StringIO(f"{PASSWORD}\nmore\n"))
        printed("create_owner", "ana@example.com", "Ana", password_stdin=True)
        assert Person.objects.get().check_password(PASSWORD)

    def test_nobody_can_be_asked(self, monkeypatch):
        """Without a terminal the password must be given."""
        monkeypatch.setattr("sys.stdin", StringIO())
        assert refused("create_owner", "ana@example.com", "Ana") == (
            "Nobody can be asked for a password: use --password-stdin."
        )

    @pytest.mark.parametrize(
        ("email", "name", "password", "reason"),
        [
            ("ana", "Ana", PASSWORD, "An e-mail address such as office@example.com."),
            ("ana@example.com", " ", PASSWORD, "The name is empty."),
            ("ben@example.com", "Ana", PASSWORD, "ben@example.com has a sign-in already."),
            (
                "ana@example.com",
                "Ana",
                "x7-y8",
                "This password is too short. It must contain at least 8 characters.",
            ),
        ],
    )
    def test_what_is_refused(self, email, name, password, reason):
        """One line that says why; nobody is made."""
        PersonFactory(email="ben@example.com")
        assert refused("create_owner", email, name, password=password) == reason
        assert Person.objects.count() == 1
