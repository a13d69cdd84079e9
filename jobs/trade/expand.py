"""The front door of the trade: a yard and the library in, activities and links out.

Expanding again gives the same keys for the same things, whatever was renamed, reordered or measured
anew in between, so that a caller can compare by key.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from . import notices
from .access import Choice, Ways, choose
from .durations import spread_of
from .hauls import carrier_of, shares
from .rules import minutes_of, wait_for
from .scope import Expansion, Problem
from .sequence import in_order
from .unfold import Task, number_told, unfold
from .ways_in import Load, machine_load
from .wiring import wire
from .work import Activity, Hold, Sentence, Tread

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from .library import Library
    from .scope import Yard
    from .work import ActivityKey

NAME_LENGTH = 120
LOCATE = "W-locate"
ONLY_IF: Mapping[str, tuple[str, str]] = {"W-dg": ("stabilised", "yes")}
"""Waits that hold a place only where the item was answered so."""
POURS = frozenset({"pour-slab", "pour-footings"})
PLACED: Mapping[str, Tread] = {"pump": Tread.FOOT, "chute": Tread.FOOT, "barrow": Tread.BARROW}
"""How heavily concrete treads on its way, by how it comes."""


def expand_scope(*, yard: Yard, library: Library) -> Expansion:
    """Unfold a yard into activities and links.

    Returns
    -------
    Expansion
        Activities in the order of building, links each once, problems (answers that cannot be taken,
        machines that get nowhere, works that shut each other out) and what was assumed.

    Raises
    ------
    CycleError
        If rules make works wait for each other in a ring; its members are named.
    """
    library = _for_state(library, yard)
    ways = Ways(yard)
    out = unfold(yard, library)
    choices = {task.key: _choice(task, ways, library, yard) for task in out.works}
    activities = [_activity(task, choices[task.key], ways, library) for task in out.works]
    problems = [*out.problems, *_stuck(out.works, choices, ways, library)]
    links, more = wire(activities, out.works, choices, ways, library)
    told = [*_state_told(yard, library, out.works), *out.told]
    told += [sentence for task in out.works for sentence in choices[task.key].told]
    told += [sentence for task in out.works for sentence in _too_far(task, ways, library)]
    return Expansion(
        activities=tuple(in_order(activities, links)),
        links=tuple(links),
        problems=(*problems, *more),
        assumptions=tuple(_once(told)),
    )


# -- the library as this job reads it ---------------------------------------------------


def _for_state(library: Library, yard: Yard) -> Library:
    """The notice before digging is the state's own; hours are counted as whole business days."""
    if LOCATE not in library.waits or notices.UNKNOWN not in library.notices:
        return library
    rule = notices.rule_for(yard.state, yard.options, library.notices)
    least = Decimal(notices.business_days(rule))
    wait = library.waits[LOCATE]
    stated = replace(wait, least=least, usual=least, high=max(least, wait.high))
    return replace(library, waits={**library.waits, LOCATE: stated})


def _state_told(yard: Yard, library: Library, works: Iterable[Task]) -> list[Sentence]:
    if notices.UNKNOWN not in library.notices:
        return []
    rule = notices.rule_of(yard.state, library.notices)
    if notices.is_assumed(rule):
        return [Sentence("takeoff-state-unknown", {"state": yard.state, "days": rule.least})]
    if rule.hand_dig_in is not None and any(task.template.digs for task in works):
        return [Sentence("takeoff-beside-marks", {"state": rule.name, "inches": rule.hand_dig_in})]
    return []


# -- activities -------------------------------------------------------------------------


def _choice(task: Task, ways: Ways, library: Library, yard: Yard) -> Choice:
    choice = choose(task.template, task.zone.uid, ways, library, yard.options)
    if task.template.key in POURS and "placing" in task.words:
        return choice._replace(tread=PLACED.get(task.words["placing"], Tread.BARROW))
    return choice


def _activity(task: Task, choice: Choice, ways: Ways, library: Library) -> Activity:
    template, crew = task.template, library.crews[task.template.crew]
    spread = spread_of(task.quantity, choice.rate, template.shift)
    return Activity(
        key=task.key,
        name=_name(task),
        skill=crew.skill,
        quantity=task.quantity,
        spread=spread,
        least=min(template.least, choice.people),
        usual=choice.people,
        material=template.material,
        weather=template.weather,
        machines=choice.machines,
        one_go=template.one_go,
        shift=template.shift,
        outside=crew.outside,
        request=template.request,
        counts=template.counts,
        treads=_treads(task, choice),
        hauls=_hauls(task, choice, library),
        holds=_holds(task, ways, library),
        sign=template.sign,
        cautions=template.cautions,
        milestone=template.milestone,
    )


def _name(task: Task) -> str:
    """Name a work with its place: "Set stone, upper patio"; a split one with its number."""
    place = task.item.name or ("" if task.zone.whole else task.zone.name)
    if place and not place[1:2].isupper():
        place = place[0].lower() + place[1:]
    told = f"{task.template.name}, {place}" if place else task.template.name
    number = number_told(task.template, task.key.ordinal)
    return told[: NAME_LENGTH - len(number)] + number


def _treads(task: Task, choice: Choice) -> dict[str, Tread]:
    """Own zone always; the way in only for loads, as people on foot find their way round."""
    treads = {task.zone.uid: choice.tread}
    if choice.tread >= Tread.BARROW:
        treads |= dict.fromkeys(choice.route.zones, choice.tread)
        treads |= {p.uid: choice.tread for p in choice.route.passages}
    return treads


def _hauls(task: Task, choice: Choice, library: Library) -> dict[str, int]:
    if task.template.key in POURS and choice.tread is Tread.FOOT:
        return {}
    kinds = [*(need.machine for need in choice.machines), *choice.carried]
    carrier = carrier_of(kinds, library.carriers)
    if carrier is None:
        return {}
    days = spread_of(task.quantity, choice.rate).typical
    return shares(task.template.key, task.quantity, days, choice.route, carrier)


def _holds(task: Task, ways: Ways, library: Library) -> tuple[Hold, ...]:
    """What is kept out of the zone, and of the passages that lead into or out of it."""
    held = []
    for known in library.waits.values():
        if known.keeps_out is None or task.template.key not in known.after:
            continue
        asked = ONLY_IF.get(known.key)
        if asked is not None and asked not in task.words.items():
            continue
        wait = wait_for(known.key, task.words, library)
        out, exempt = wait.keeps_out or known.keeps_out, wait.exempt
        places = [task.zone.uid, *(_passages_at(task.zone.uid, ways) if known.passages else ())]
        held += [Hold(place, minutes_of(wait), out, wait.key, exempt) for place in places]
    return tuple(held)


def _passages_at(zone: str, ways: Ways) -> list[str]:
    return [p.uid for p in ways.yard.passages if zone in (p.start, p.end)]


# -- what is told ------------------------------------------------------------------------


def _stuck(
    tasks: Iterable[Task], choices: Mapping[ActivityKey, Choice], ways: Ways, library: Library
) -> list[Problem]:
    """Works whose machine does not get in, and that nobody can do by hand; concrete likewise."""
    found = []
    for task in tasks:
        loads = [machine_load(library.machines[kind]) for kind in choices[task.key].blocked]
        loads += _concrete_load(task, library)
        found += [
            _no_way(task, load, ways) for load in loads if not ways.lets_in(task.zone.uid, load)
        ]
    return found


def _concrete_load(task: Task, library: Library) -> list[Load]:
    """The way concrete comes needs room of its own: the truck at the chute, the hose, the barrow."""
    placing = library.placings.get(task.words.get("placing", ""))
    if placing is None or task.template.key not in POURS:
        return []
    return [Load(placing.name, placing.passage, rolls=False)]


def _too_far(task: Task, ways: Ways, library: Library) -> list[Sentence]:
    """Concrete that comes farther than its way of coming is reckoned for, where somebody measured how far that is."""
    placing = library.placings.get(task.words.get("placing", ""))
    route = ways.route(task.zone.uid)
    if (
        placing is None
        or placing.reach_ft is None
        or route is None
        or task.template.key not in POURS
    ):
        return []
    feet = sum(passage.length_ft for passage in route.passages)
    if feet <= placing.reach_ft:
        return []
    told: dict[str, str | int] = {"work": _name(task), "way": placing.name.lower()}
    return [Sentence("takeoff-too-far", told | {"reach": placing.reach_ft, "feet": feet})]


def _no_way(task: Task, load: Load, ways: Ways) -> Problem:
    return Problem(
        where=task.item.uid,
        key="",
        reason=f"{_name(task)}: {load.name} does not get through {ways.stopped_at(task.zone.uid, load)}",
        remedy=(
            "ways round: a pump for concrete, a crane over the house (answer crane = yes), a smaller "
            "load, a gate or fence taken down, or a neighbor's gate with written leave"
        ),
        obstacles=ways.in_the_way(task.zone.uid, load),
    )


def _once(sentences: Iterable[Sentence]) -> list[Sentence]:
    seen: dict[str, Sentence] = {}
    for sentence in sentences:
        seen.setdefault(f"{sentence.key} {sorted(sentence.values.items())}", sentence)
    return list(seen.values())
