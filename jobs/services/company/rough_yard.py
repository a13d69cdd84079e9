"""A yard made of six answers, and about how long it takes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from crews.models import Machine
from crews.services.hours import working_hours
from jobs.services.numbers.library import company_library, current_library
from jobs.services.sky.usual_year import usual_year_in
from jobs.services.telling.errors import say_problem
from jobs.services.telling.words import say
from jobs.trade.expand import expand_scope
from jobs.trade.scope import Item, PassageIn, Yard, ZoneIn

from .rough import reckon

if TYPE_CHECKING:
    from datetime import date
    from decimal import Decimal

    from .rough import Reckoned

WHOLE, BACK = "whole", "back"
YEAR = timedelta(days=366)
USUAL_LENGTH_FT = 40
"""A side yard is about so long (common practice)."""


@dataclass(frozen=True, slots=True)
class Answers:
    """Six answers, and where and when. Amounts in square feet, feet and pieces; gate in tenths of a mm."""

    area: Decimal
    kill: str
    slab: Decimal | None
    wall: Decimal | None
    trees: int | None
    gate: int
    start: date
    us_state: str
    zone: str


@dataclass(frozen=True, slots=True)
class RoughPromise:
    """What is answered: when it could be done, what stands in the way, what was assumed."""

    reckoned: Reckoned | None
    built: tuple[str, ...]
    problems: tuple[tuple[str, str], ...]
    assumptions: tuple[str, ...]


def rough_promise(answers: Answers) -> RoughPromise:
    """Reckon a yard from six answers; nothing is saved."""
    library, yard = company_library(), yard_from(answers)
    expansion = expand_scope(yard=yard, library=library)
    holidays = working_hours(answers.start, answers.start + YEAR).holidays
    year = usual_year_in(answers.us_state, library)
    return RoughPromise(
        reckoned=reckon(
            expansion, start=answers.start, zone=answers.zone, year=year, holidays=holidays
        ),
        built=tuple(library.assemblies[item.assembly].name for item in yard.items),
        problems=tuple((say_problem(problem), problem.remedy) for problem in expansion.problems),
        assumptions=tuple(say(sentence) for sentence in expansion.assumptions),
    )


def yard_from(answers: Answers) -> Yard:
    """Return the yard of six answers: one zone behind one gate."""
    return Yard(
        state=answers.us_state,
        soil="loam",
        zones=(ZoneIn(WHOLE, "Whole yard", whole=True), ZoneIn(BACK, "Back yard", answers.area)),
        passages=(PassageIn("gate", "Gate", "", BACK, answers.gate, length_ft=USUAL_LENGTH_FT),),
        items=tuple(_items(answers)),
        starts_on=answers.start,
        options={"area": f"{answers.area:f}"},
        owned=frozenset(Machine.objects.filter(active=True).values_list("kind", flat=True)),
    )


def _items(answers: Answers) -> list[Item]:
    area = f"{answers.area:f}"
    lawn = answers.kill in {
        choice
        for ask in current_library().assemblies["turf-kill"].asks
        if ask.key == "method"
        for choice in ask.choices
    }
    wanted = (
        ("turf-kill", {"area": area, "method": answers.kill}, lawn),
        ("grading", {"area": area}, True),
        ("concrete-slab", {"area": f"{answers.slab:f}"} if answers.slab else {}, answers.slab),
        ("seat-wall", {"length": f"{answers.wall:f}"} if answers.wall else {}, answers.wall),
        ("trees", {"box-24": str(answers.trees)}, answers.trees),
    )
    return [Item(key, key, BACK, told) for key, told, there in wanted if there]
