"""Who is there on a day: the people of each crew, who is away, who helps out, and who leads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from crews.models import Crew, CrewMember, Loan, TimeOff

from .feed_words import said_day

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date


@dataclass(frozen=True, slots=True)
class Somebody:
    """One person of a crew on a day; ``away`` says why not there, nothing if there.

    ``off`` is True where it is a day off that may end early, ``loan`` the number of a loan.
    """

    pk: int
    name: str
    leads: bool
    away: str = ""
    off: bool = False
    loan: int = 0


@dataclass(frozen=True, slots=True)
class Roll:
    """One crew on a day.

    Attributes
    ----------
    guests
        Who of other crews works with it, with the crew each comes from.
    leads
        Who leads that day: the lead, or the first of its people who is there; empty if nobody is.
    """

    people: tuple[Somebody, ...]
    guests: tuple[str, ...]
    lead: str
    leads: str

    @property
    def here(self) -> int:
        """How many are there, guests included."""
        return sum(not one.away for one in self.people) + len(self.guests)

    @property
    def missing(self) -> tuple[Somebody, ...]:
        """Who is not there."""
        return tuple(one for one in self.people if one.away)

    @property
    def lead_away(self) -> bool:
        """True if somebody else has to lead."""
        return any(one.leads for one in self.missing)


@dataclass(frozen=True)
class Rolls:
    """Every active crew from ``first`` to ``last``, both included."""

    first: date
    last: date
    crews: tuple[Crew, ...]
    offs: tuple[TimeOff, ...]
    loans: tuple[Loan, ...]

    @property
    def complete(self) -> bool:
        """True if nobody is away or lent on any of the days."""
        return not self.offs and not self.loans

    def on(self, crew: Crew, day: date) -> Roll:
        """Return a crew's roll of a day."""
        lead = str(crew.lead) if crew.lead else ""
        people = tuple(self._somebody(one, lead, day) for one in crew.members.all())
        here = [one for one in people if not one.away]
        known = {one.name for one in people}
        stands_in = here[0].name if here else ""
        present = not lead or lead not in known or any(one.name == lead for one in here)
        guests = tuple(
            f"{loan.member.name} ({loan.member.crew})"
            for loan in self.loans
            if loan.crew_id == crew.pk
            and loan.first <= day <= loan.until
            and self._off(loan.member_id, day) is None
        )
        return Roll(people, guests, lead, lead if present else stands_in)

    def _somebody(self, member: CrewMember, lead: str, day: date) -> Somebody:
        leads = bool(lead) and member.name == lead
        off = self._off(member.pk, day)
        if off is not None:
            return Somebody(member.pk, member.name, leads, _away(off, day), off=True)
        loan = next(
            (it for it in self.loans if it.member_id == member.pk and it.first <= day <= it.until),
            None,
        )
        if loan is None:
            return Somebody(member.pk, member.name, leads)
        words = f"with the {loan.crew} until {said_day(loan.until, day)}"
        return Somebody(member.pk, member.name, leads, words, loan=loan.pk)

    def _off(self, member: int, day: date) -> TimeOff | None:
        return next(
            (it for it in self.offs if it.member_id == member and it.first <= day <= it.last), None
        )


def read_rolls(first: date, last: date, crews: Iterable[Crew] | None = None) -> Rolls:
    """Read who is there from ``first`` to ``last``: two queries, and two for crews not given.

    Parameters
    ----------
    crews
        Active crews with their leads and members, where they are at hand.
    """
    if crews is None:
        active = Crew.objects.filter(active=True).select_related("lead")
        crews = active.prefetch_related("members")
    span = {"first__lte": last, "last__gte": first}
    offs = TimeOff.objects.filter(member__isnull=False, **span).order_by("-last")
    loans = Loan.objects.filter(**span).select_related("member__crew", "crew")
    return Rolls(first, last, tuple(crews), tuple(offs), tuple(loans))


def _away(off: TimeOff, day: date) -> str:
    words = f"away until {said_day(off.last, day)}" if off.last != off.first else "away"
    return f"{words} ({off.why})" if off.why else words
