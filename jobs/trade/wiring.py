"""Ties the works of a yard together: rules, quantities, ways in, and no loose ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .closings import WAYS_ROUND, keep_open
from .loose_ends import tie_up
from .quantity_links import quantity_links
from .rules import Place, rule_links
from .scope import Problem
from .sequence import (
    check_no_ring,
    holding_nothing_up,
    once_each,
    without_rings,
    without_superfluous,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from .access import Choice, Ways
    from .library import Library
    from .unfold import Task
    from .work import Activity, ActivityKey, Link


def wire(
    activities: Sequence[Activity],
    tasks: Sequence[Task],
    choices: Mapping[ActivityKey, Choice],
    ways: Ways,
    library: Library,
) -> tuple[list[Link], list[Problem]]:
    """Return the links of a yard, and the pairs of works that shut each other out.

    Firm links come first; then those along ways in and of our own that close no ring with them.

    Raises
    ------
    CycleError
        If the firm links alone form a ring; its members are named.
    """
    names = {activity.key: activity.name for activity in activities}
    places = [_place(task, choices[task.key]) for task in tasks]
    along = {rule.id for rule in library.rules if rule.where == "way-in"}
    ruled = _standing(once_each(rule_links(places, library, ways.yard.options)), ways)
    yielding = {rule.id for rule in library.rules if rule.gives_way}
    firm = [link for link in ruled if link.rule not in along | yielding]
    check_no_ring(firm, names)
    own = _standing(quantity_links(tasks), ways)
    more = [*(link for link in ruled if link.rule in along), *own]
    added, refused = without_rings(firm, more)
    kept = keep_open(activities, [*firm, *added], ways, library)
    links = once_each([*firm, *added, *_standing(kept.links, ways)])
    links += holding_nothing_up(links, [link for link in ruled if link.rule in yielding])
    links += tie_up(activities, links)
    check_no_ring(links, names)
    problems = [*(_shut_out(link, names) for link in refused), *kept.problems]
    return without_superfluous(links), problems


def _standing(links: Iterable[Link], ways: Ways) -> list[Link]:
    """Leave out the links that somebody lifted by hand, before others are found to be implied."""
    lifted = ways.yard.lifted
    if not lifted:
        return list(links)
    return [
        link
        for link in links
        if (str(link.before), str(link.after), link.relation.value) not in lifted
    ]


def _place(task: Task, choice: Choice) -> Place:
    return Place(task.key, task.zone.whole, frozenset(choice.route.zones), task.words)


def _shut_out(link: Link, names: Mapping[ActivityKey, str]) -> Problem:
    return Problem(
        where=link.before.item,
        key="",
        reason=f"{names[link.before]} should come before {names[link.after]}, but cannot: "
        f"{names[link.after]} must itself come first",
        remedy=WAYS_ROUND,
    )
