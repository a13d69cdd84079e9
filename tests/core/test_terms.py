"""Terms narrow the world in which ways out are looked for: dates on the fingers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.storm.lost import Loss, lose
from jobs.scheduling.storm.replan import ways_out
from jobs.scheduling.storm.terms import Term, TermKind, world_under
from jobs.scheduling.storm.ways_out import Storm, Way, WayOut
from jobs.scheduling.world import Done
from tests.worlds import DAWN, EVENING, LAST, at, crew, job, june, plan, work, world

CREWS = {name: crew(name) for name in ("north", "south")}
TUESDAY = (1 << june(10, 0)) - (1 << june(9, 0))


def yard():
    """Oak is dug by north on Monday 8 and filled on Tuesday 9 June; elm is dug by south on Tuesday."""
    works = (
        work("dig", 4, "north south"),
        work("fill", 4, "north south"),
        work("elm dig", 4, "south", job="elm"),
    )
    yards = {name: job(name) for name in ("oak", "elm")}
    published = plan(
        dig=at(june(8), june(8, LAST)),
        fill=at(june(9), june(9, LAST)),
        elm_dig=at(june(9), june(9, LAST), "south"),
    )
    return world(*works, crews=CREWS, jobs=yards), published.placements


def pin_of(term: Term, name: str) -> tuple[int | None, int | None, str]:
    """The pin of a work under one term."""
    pin = world_under(*yard(), [term]).works[name].pin
    return pin.not_before, pin.not_after, pin.crew


@pytest.mark.parametrize(
    ("term", "expected"),
    [
        (Term(TermKind.KEEP_DAYS, "fill"), (june(9, DAWN), june(9, EVENING), "")),
        (Term(TermKind.KEEP_CREW, "fill"), (None, None, "north")),
        (Term(TermKind.NOT_BEFORE, "fill", day=date(2026, 6, 11)), (june(11, DAWN), None, "")),
        (Term(TermKind.NOT_AFTER, "fill", day=date(2026, 6, 11)), (None, june(11, EVENING), "")),
        (Term(TermKind.KEEP_YARD, job="oak"), (june(9), june(9, LAST), "north")),
        (Term(TermKind.KEEP_YARD, job="elm"), (None, None, "")),
    ],
)
def test_each_kind_pins_what_it_says(term, expected):
    """Filling stood on Tuesday 9 June, by the north crew."""
    assert pin_of(term, "fill") == expected


def test_not_this_crew_leaves_the_other():
    """South is left."""
    under = world_under(*yard(), [Term(TermKind.NOT_CREW, "fill", crew="north")])
    assert under.works["fill"].crews == {"south": 4}


def test_not_the_only_crew_is_refused_by_name():
    """Elm is for south alone."""
    with pytest.raises(NoPlan, match="nobody else can do elm dig"):
        world_under(*yard(), [Term(TermKind.NOT_CREW, "elm dig", crew="south")])


def test_terms_only_narrow():
    """A pin by hand to Wednesday stays when a term allows from Tuesday on."""
    oak, published = yard()
    pin = replace(oak.works["fill"].pin, not_before=june(10))
    oak = replace(oak, works=oak.works | {"fill": replace(oak.works["fill"], pin=pin)})
    term = Term(TermKind.NOT_BEFORE, "fill", day=date(2026, 6, 9))
    assert world_under(oak, published, [term]).works["fill"].pin.not_before == june(10)


def test_what_is_under_way_is_left_alone():
    """It stays with its crew anyway."""
    oak, published = yard()
    begun = replace(oak.works["fill"], done=Done(june(9), None, "north"))
    oak = replace(oak, works=oak.works | {"fill": begun}, now=june(9, LAST))
    assert world_under(oak, published, [Term(TermKind.KEEP_YARD, job="oak")]).works["fill"] == begun


def test_every_way_out_keeps_the_terms():
    """North is out on Tuesday: by itself filling would go to another day; held on its day it goes to south."""
    oak, published = yard()
    wet = lose(oak, [Loss(TUESDAY, crews=frozenset({"north"}))])
    free = {"elm dig": replace(oak.works["elm dig"], done=Done(june(8), june(8, LAST), "south"))}
    wet = replace(wet, works=wet.works | free, now=june(9))
    done = {"dig": replace(oak.works["dig"], done=Done(june(8), june(8, LAST), "north"))}
    wet = replace(wet, works=wet.works | done)
    held = world_under(wet, published, [Term(TermKind.KEEP_DAYS, "fill")])
    ways = (Way.OLD_ORDER, Way.STEADY, Way.ON_PROMISE)
    for one in ways_out(Storm(held, oak, published, 1), stop=lambda: Tries(50), ways=ways):
        assert isinstance(one, WayOut)
        assert one.result.plan["fill"] == at(june(9), june(9, LAST), "south")
