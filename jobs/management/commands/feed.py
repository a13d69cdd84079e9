"""Print the iCalendar body of a feed."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from crews.models import Person
from crews.services.feeds import feed_body
from crews.services.subjects import KINDS, Subject, UnknownSubjectError
from jobs import clock
from jobs.models import Job


class Command(BaseCommand):
    """``feed KIND [SLUG]``: what a phone would get."""

    help = "Print the iCalendar body of a feed: crew, machine, person, all or homeowner."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", metavar="KIND", help=", ".join(KINDS))
        parser.add_argument(
            "slug",
            metavar="SLUG",
            nargs="?",
            default="",
            help="slug of the crew, machine or job; number or e-mail address of the person",
        )

    def handle(self, *args: Any, kind: str, slug: str, **options: Any) -> None:
        try:
            subject, name = subject_asked(kind, slug)
            body = feed_body(str(subject), clock.now(), name)
        except UnknownSubjectError as unknown:
            raise CommandError(str(unknown), returncode=2) from unknown
        octets = getattr(self.stdout, "buffer", None)
        if octets is None:
            self.stdout.write(body.decode(), ending="")
        else:
            octets.write(body)


def subject_asked(kind: str, slug: str) -> tuple[Subject, str]:
    """Return the subject somebody typed, and the name of a homeowner's yard."""
    asked = Subject(kind, slug)
    if kind == "person" and not slug.isdecimal():
        return _person(slug), ""
    if kind != "homeowner":
        return asked, ""
    job = Job.objects.filter(slug=slug).first()
    if job is None:
        raise UnknownSubjectError(f"there is no job {slug!r}")
    return Subject("homeowner", job.uid), job.name


def _person(email: str) -> Subject:
    person = Person.objects.filter(username__iexact=email).first()
    if person is None:
        raise UnknownSubjectError(f"there is no person {email!r}")
    return Subject("person", str(person.pk))
