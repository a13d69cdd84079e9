"""Subjects of feeds: whose calendar it is, what it is called, and which events are in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import CharField, OuterRef, Q, Subquery, Value
from django.db.models.functions import Cast, Concat

from crews.models import CalendarEvent, Crew, Machine, Person

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from crews.models import FeedLink

PRODUCT = "Yardwright"
KINDS = ("crew", "machine", "person", "all", "homeowner")
NAMELESS = {"all": "Everything", "homeowner": "Your yard"}
NOTHING = CalendarEvent.Kind.NOTHING
AFTER_CREWS = "crew;"
"""The first text that sorts after every ``crew:...``: a range the index can answer."""


class UnknownSubjectError(Exception):
    """Nobody and nothing of that name has a calendar."""


@dataclass(frozen=True, slots=True)
class Subject:
    """A kind and what names one of that kind: a slug, a number, a uid; nothing for ``all``.

    Raises
    ------
    UnknownSubjectError
        If the kind is none of ours or the key is missing or in the way.
    """

    kind: str
    key: str

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise UnknownSubjectError(f"{self.kind!r} is none of {', '.join(KINDS)}")
        if bool(self.key) == (self.kind == "all"):
            told = "takes no name" if self.key else "needs a name"
            raise UnknownSubjectError(f"a calendar of kind {self.kind} {told}")

    def __str__(self) -> str:
        """Return it as stored."""
        return f"{self.kind}:{self.key}" if self.key else self.kind


def subject_of(text: str) -> Subject:
    """Return a stored subject by its parts."""
    kind, _, key = text.partition(":")
    return Subject(kind, key)


def name_of(subject: Subject) -> str:
    """Return the plain name of whoever it is about, in at most one query.

    Raises
    ------
    UnknownSubjectError
        If there is no such crew, machine or person.
    """
    found: str | None = NAMELESS.get(subject.kind)
    if subject.kind == "crew":
        found = Crew.objects.filter(slug=subject.key).values_list("name", flat=True).first()
    elif subject.kind == "machine":
        found = Machine.objects.filter(slug=subject.key).values_list("name", flat=True).first()
    elif subject.kind == "person" and subject.key.isdecimal():
        found = Person.objects.filter(pk=subject.key).values_list("name", flat=True).first()
    if found is None:
        raise UnknownSubjectError(f"there is no {subject.kind} {subject.key!r}")
    return found


def with_names(links: QuerySet[FeedLink]) -> QuerySet[FeedLink, Any]:
    """Let each link bring the name of its crew, machine or person along, under its own name (``crew_name`` ...)."""
    crews = Crew.objects.annotate(whose=_joined("crew:", "slug"))
    machines = Machine.objects.annotate(whose=_joined("machine:", "slug"))
    people = Person.objects.annotate(whose=_joined("person:", Cast("pk", CharField())))
    found = [
        Subquery(rows.filter(whose=OuterRef("subject")).values("name")[:1])
        for rows in (crews, machines, people)
    ]
    return links.annotate(crew_name=found[0], machine_name=found[1], person_name=found[2])


def name_on(link: Any) -> str:
    """Return the name a link of ``with_names`` brought along; a homeowner's is its label."""
    kind = link.subject.partition(":")[0]
    found: str | None = link.crew_name or link.machine_name or link.person_name
    if kind == "homeowner":
        found = link.label
    return found or NAMELESS.get(kind, link.label or "Calendar")


def calendar_name(name: str) -> str:
    """Return what phones call the calendar: ``Ground crew - Yardwright``."""
    return f"{name} - {PRODUCT}"


def events_of(subject: Subject) -> QuerySet[CalendarEvent]:
    """Return the events of a feed as one query.

    A person sees what the crews do that he or she leads or is in; "everything" is what every crew does: machines go
    where crews go, and are not told a second time.
    """
    own = Q(subject=str(subject))
    if subject.kind == "person":
        person = int(subject.key)
        crews = Crew.objects.filter(Q(members__person=person) | Q(lead=person)).values_list(
            _joined("crew:", "slug"), flat=True
        )
        own |= Q(subject__in=crews) & ~Q(kind=NOTHING)
    elif subject.kind == "all":
        own |= Q(subject__gte="crew:", subject__lt=AFTER_CREWS) & ~Q(kind=NOTHING)
    return CalendarEvent.objects.filter(own)


def _joined(start: str, rest: str | Cast) -> Concat:
    return Concat(Value(start), rest, output_field=CharField())
