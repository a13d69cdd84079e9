"""Applies the library's rules to the works of one yard: what goes before what, here, and why."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import ROUND_CEILING
from typing import TYPE_CHECKING

from .access import OVER_THE_HOUSE
from .concrete import POURED, WITH_EACH_POUR
from .work import Clock, Lag, Link, Relation, Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from decimal import Decimal

    from .library import Library
    from .precedence import Rule, WaitKind
    from .work import ActivityKey

MINUTES: Mapping[str, int] = {"h": 60, "d": 24 * 60}
SLOTS_A_WORK_DAY = 4
WAY_IN = "way-in"
BY_POUR = POURED | WITH_EACH_POUR
"""Templates of which each pour has its own: they go by pairs, not crosswise."""
REPLACED: Mapping[tuple[str, str], str] = {
    ("cement", "Type II"): "W-cure-slow",
    ("cement", "high ash or slag"): "W-cure-slower",
}
"""Waits that stand in for another one where an item is answered so."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a work is, for the rules.

    Attributes
    ----------
    whole
        Its zone is the whole yard, which encloses every other.
    way_in
        Zones that its way in from the street leads through, its own not included.
    words
        Choices its item was answered with.
    """

    key: ActivityKey
    whole: bool
    way_in: frozenset[str] = frozenset()
    words: Mapping[str, str] = field(default_factory=dict)


def rule_links(places: Sequence[Place], library: Library, options: Mapping[str, str]) -> list[Link]:
    """Return every link that the rules of the library make among works, the same pair maybe twice."""
    by_template: dict[str, list[Place]] = defaultdict(list)
    for place in places:
        by_template[place.key.template].append(place)
    links = []
    for rule in library.rules:
        befores = [p for key in rule.before for p in by_template[key]]
        afters = [p for key in rule.after for p in by_template[key]]
        for before, after in _pairs(rule, befores, afters):
            if not _lifted(rule, before, options):
                links.append(_link(rule, before, after, library))
    return links


def lag_of(wait: WaitKind) -> Lag:
    """Return a wait's usual figure as a lag: 7 d are 10,080 minutes, 3 bd three business days."""
    amount = wait.usual
    if wait.clock is Clock.BUSINESS:
        return Lag(_up(amount), Clock.BUSINESS, wait=wait.key)
    if wait.clock is Clock.WORK:
        return Lag(_up(amount * SLOTS_A_WORK_DAY), Clock.WORK, wait=wait.key)
    return Lag(minutes_of(wait), Clock.ELAPSED, wait=wait.key)


def minutes_of(wait: WaitKind) -> int:
    """Return the elapsed minutes of a wait's usual figure."""
    return _up(wait.usual * MINUTES[wait.unit])


def wait_for(wait: str, words: Mapping[str, str], library: Library) -> WaitKind:
    """Return a wait, or the one that replaces it where the item was answered so."""
    for answered, other in REPLACED.items():
        stands_in = library.waits.get(other)
        if answered in words.items() and stands_in and stands_in.instead_of == wait:
            return stands_in
    return library.waits[wait]


def _up(amount: Decimal) -> int:
    return int(amount.to_integral_value(ROUND_CEILING))


def _pairs(
    rule: Rule, befores: Iterable[Place], afters: Sequence[Place]
) -> Iterator[tuple[Place, Place]]:
    firsts = [b for b in befores if rule.before_nth in (None, b.key.ordinal)]
    seconds = [a for a in afters if rule.after_nth in (None, a.key.ordinal)]
    for before in firsts:
        for after in seconds:
            if before.key != after.key and _related(rule, before, after):
                yield before, after


def _related(rule: Rule, before: Place, after: Place) -> bool:
    one, two = before.key, after.key
    if rule.where == "item" or rule.at_most_hours is not None:
        return one.item == two.item and _same_pour(one, two)
    if rule.where == "zone":
        near = one.zone == two.zone or before.whole or after.whole
        return near and (one.item != two.item or _same_pour(one, two))
    if rule.where == WAY_IN:
        return two.zone in before.way_in
    return True


def _same_pour(one: ActivityKey, two: ActivityKey) -> bool:
    split = one.template in BY_POUR and two.template in BY_POUR
    return one.ordinal == two.ordinal or not split


def _lifted(rule: Rule, before: Place, options: Mapping[str, str]) -> bool:
    """Return True if the yard or the forerunner's item says the word that lifts the rule.

    A crane lifts no rule by being booked: only what it carries has no way in that a rule could guard.
    """
    word = rule.unless
    if not word:
        return False
    booked = word != OVER_THE_HOUSE and options.get(word) == "yes"
    return booked or word in before.words.values()


def _link(rule: Rule, before: Place, after: Place, library: Library) -> Link:
    return Link(
        before=before.key,
        after=after.key,
        rule=rule.id,
        relation=Relation(rule.relation),
        lag=_lag(rule, before, library),
        why=Sentence("library-rule", {"why": rule.why}),
    )


def _lag(rule: Rule, before: Place, library: Library) -> Lag:
    most = None if rule.at_most_hours is None else _up(rule.at_most_hours * MINUTES["h"])
    if rule.wait:
        lag = lag_of(wait_for(rule.wait, before.words, library))
    elif rule.hours is not None:
        lag = Lag(_up(rule.hours * MINUTES["h"]))
    elif rule.slots is not None:
        lag = Lag(rule.slots, Clock.WORK)
    else:
        lag = Lag()
    return Lag(lag.amount, lag.clock, most, lag.wait)
