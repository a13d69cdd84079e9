"""Tells what somebody's absence does, as the office reads it right after saying so."""

from __future__ import annotations

from typing import TYPE_CHECKING

from crews.services.roll import read_rolls
from jobs.services.company.short_handed import effects_of

from .frame import published_plan

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from crews.models import Crew, CrewMember
    from crews.services.roll import Roll


def rolls_today(day: date, crews: Iterable[Crew]) -> tuple[tuple[str, Roll], ...]:
    """Return who is there today, crew by crew; two queries."""
    rolls = read_rolls(day, day, crews)
    return tuple((crew.name, rolls.on(crew, day)) for crew in rolls.crews)


def told_of(member: CrewMember, day: date) -> tuple[str, ...]:
    """Return who is there of a person's crew on a day, who leads, and which works suffer."""
    crew = member.crew
    rolls = read_rolls(day, day)
    own = next((one for one in rolls.crews if one.pk == crew.pk), None)
    if own is None:
        return (f"{member} is away today.",)
    roll = rolls.on(own, day)
    words = f"{member} is away today: {roll.here} of {len(roll.people)} of the {crew} are there"
    if roll.lead_away:
        words += f", {roll.leads} leads" if roll.leads else ", and nobody leads"
    effects = effects_of(rolls, published_plan(), [crew.slug])
    told = tuple(f"{effect.job}: {effect.words}." for effect in effects)
    return (f"{words}.", *(told or ("No published work suffers today.",)))
