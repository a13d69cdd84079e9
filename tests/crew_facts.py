"""A crew as the office would tell it, as it stands and with something told otherwise."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from crews.services.setup import CrewFacts

if TYPE_CHECKING:
    from crews.models import Crew


def facts_of(crew: Crew, **other: object) -> CrewFacts:
    """A crew as it stands."""
    week = tuple(getattr(crew.week, day) for day in ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"))  # fmt: skip
    skills = {row.skill: row.people for row in crew.skills.all()}
    people = [member.name for member in crew.members.all()]
    return replace(CrewFacts(crew.name, crew.lead, people, skills, week), **other)
