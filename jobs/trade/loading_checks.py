"""What must hold between the rows of the library: names that exist, figures in order, no rings."""

from __future__ import annotations

from difflib import get_close_matches
from itertools import chain
from typing import TYPE_CHECKING, Any

import networkx as nx

from .errors import Fault
from .formulas import FORMULAS
from .units import say_length
from .work import Clock, Relation

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from .assemblies import Assembly
    from .facts import Soil
    from .library import NoticeRule
    from .precedence import Rule, WaitKind
    from .templates import MachineKind, Template

    Rows = Mapping[str, Mapping[str, Any]]
    Homes = Mapping[tuple[str, str], str]
    Name = tuple[str, str, Iterable[str]]

SAME_PLACE = ("zone", "item", "job")
TRUTHS = range(1, 63)


def check_references(rows: Rows, homes: Homes) -> list[Fault]:
    """Return every fault between rows.

    Parameters
    ----------
    rows
        What could be read, by section and key.
    homes
        The file of every row, read or not: a row that is itself at fault still has its name.
    """
    check = _Checker(rows, homes)
    return [
        *check.names(),
        *check.templates(),
        *check.machines(),
        *check.waits(),
        *check.rules(),
        *check.assemblies(),
        *check.notices(),
    ]


class _Checker:
    """One check a method, faults out."""

    def __init__(self, rows: Rows, homes: Homes) -> None:
        self.rows, self.homes = rows, homes
        self.known: dict[str, set[str]] = {}
        for section, key in homes:
            self.known.setdefault(section, set()).add(key)

    def names(self) -> Iterator[Fault]:
        """Every name a row gives must be the key of a row of the right section."""
        for section, found in self.rows.items():
            for key, row in found.items():
                for name, target, words in _names(section, row):
                    known = self.known.get(target, set())
                    for word in words:
                        if word not in known:
                            yield self._unknown(f"{section}.{key}.{name}", word, target)

    def templates(self) -> Iterator[Fault]:
        """No crew works with fewer people than it is said to need at the least."""
        templates: Mapping[str, Template] = self.rows["template"]
        for key, one in templates.items():
            crew = self.rows["crew"].get(one.crew)
            if crew is not None and one.least > crew.usual:
                yield self._fault(
                    f"template.{key}.least",
                    f"{one.least} people at least, but {crew.name} are {crew.usual}",
                    "lower it, or name a larger crew",
                )

    def machines(self) -> Iterator[Fault]:
        """No machine passes where it is wider than the way."""
        machines: Mapping[str, MachineKind] = self.rows["machine"]
        for key, one in machines.items():
            if one.passage and one.width is not None and one.width[0] > one.passage:
                reason = f"{one.name} is wider than {say_length(one.passage)}"
                remedy = f"give {say_length(one.width[0] + one.clearance)} or more"
                yield self._fault(f"machine.{key}.passage", reason, remedy)

    def waits(self) -> Iterator[Fault]:
        """A wait's figures rise, business days are counted as such, and a hold has a beginning."""
        waits: Mapping[str, WaitKind] = self.rows["wait"]
        for key, one in waits.items():
            if not one.least <= one.usual <= one.high:
                told = f"{one.least}, {one.usual}, {one.high}"
                remedy = "let least, usual and high rise"
                yield self._fault(f"wait.{key}", f"{told} do not rise", remedy)
            if (one.unit == "bd") is not (one.clock is Clock.BUSINESS):
                yield self._fault(
                    f"wait.{key}.clock",
                    f"{one.unit} are not counted on the {one.clock.value} clock",
                    "write clock business with bd, and elapsed or work with h and d",
                )
            if one.after and one.keeps_out is None:
                remedy = "say keeps_out, or leave after to the rules"
                yield self._fault(f"wait.{key}.after", "keeps nobody out", remedy)

    def rules(self) -> Iterator[Fault]:
        """A rule has one lag at the most, a truth we know, and no ring with the others."""
        rules: Mapping[str, Rule] = self.rows["rule"]
        for key, one in rules.items():
            lags = [bool(one.wait), one.hours is not None, one.slots is not None]
            if sum(lags) > 1:
                remedy = "keep one of wait, hours and slots"
                yield self._fault(f"rule.{key}", "has more than one lag", remedy)
            least = one.hours or 0
            if one.at_most_hours is not None and one.at_most_hours < least:
                remedy = "let at_most_hours be no less than hours"
                yield self._fault(f"rule.{key}.at_most_hours", "lies below its hours", remedy)
            for truth in set(one.truths) - set(TRUTHS):
                yield self._fault(f"rule.{key}.truth", f"there is no truth {truth}", "use 1 to 62")
        for ring, key in _rings(rules):
            reason = f"{' before '.join(ring)} before {ring[0]} is a ring"
            yield self._fault(f"rule.{key}", reason, "take one of its rules out or turn it round")

    def assemblies(self) -> Iterator[Fault]:
        """A part hangs on questions that are asked, by words that can be chosen, and is measured."""
        assemblies: Mapping[str, Assembly] = self.rows["assembly"]
        for key, one in assemblies.items():
            choices = {ask.key: set(ask.choices) for ask in one.asks}
            for part in one.parts:
                where = f"assembly.{key}.parts"
                if part.quantity not in FORMULAS:
                    known = f"use one of {', '.join(sorted(FORMULAS))}"
                    reason = f"there is no formula {part.quantity!r}"
                    yield self._fault(where, reason, known)
                for ask, words in part.when.items():
                    for word in sorted(set(words) - choices.get(ask, set())):
                        remedy = f"asks and choices are {_listed(choices)}"
                        yield self._fault(where, f"{ask} = {word!r} is never answered", remedy)

    def notices(self) -> Iterator[Fault]:
        """A figure of a notice has its unit, and a unit its figure."""
        notices: Mapping[str, NoticeRule] = self.rows["notice"]
        for key, one in notices.items():
            pairs = (
                ("earliest", one.earliest, one.earliest_unit),
                ("life", one.life, one.life_unit),
            )
            for name, figure, unit in pairs:
                if (figure is None) is bool(unit):
                    remedy = f"give {name} and {name}_unit, or neither"
                    yield self._fault(f"notice.{key}.{name}", "is half told", remedy)

    def _unknown(self, where: str, word: str, target: str) -> Fault:
        near = get_close_matches(word, sorted(self.known.get(target, set())))
        also = f", or use {' or '.join(near)}" if near else ""
        remedy = f"write a [{target}.{word}]{also}"
        return self._fault(where, f"there is no {target} {word!r}", remedy)

    def _fault(self, where: str, reason: str, remedy: str) -> Fault:
        section, key = where.split(".")[:2]
        return Fault(f"{self.homes[section, key]}: {where}", reason, remedy)


def _names(section: str, row: Any) -> Iterator[Name]:
    """Every name a row gives: in which key, of which section, which words."""
    if hasattr(row, "source"):
        yield "source", "source", row.source.split("; ")
    if section in REFERENCES:
        yield from REFERENCES[section](row)


def _of_template(row: Template) -> Iterator[Name]:
    yield "crew", "crew", [row.crew]
    yield "others", "crew", row.others
    yield "weather", "weather", [row.weather]
    yield "also_weather", "weather", row.also_weather
    yield "machines", "machine", chain.from_iterable(row.machines)
    yield "paces", "machine", [pace.machine for pace in row.paces if pace.machine]
    yield "cautions", "caution", row.cautions
    yield "reopens", "template", row.reopens


def _of_wait(row: WaitKind) -> Iterator[Name]:
    yield "exempt", "template", sorted(row.exempt)
    yield "after", "template", row.after
    yield "instead_of", "wait", [row.instead_of] if row.instead_of else []


def _of_rule(row: Rule) -> Iterator[Name]:
    yield "before", "template", row.before
    yield "after", "template", row.after
    yield "wait", "wait", [row.wait] if row.wait else []
    yield "expires", "wait", [row.expires] if row.expires else []


def _of_assembly(row: Assembly) -> Iterator[Name]:
    yield "parts", "template", [part.template for part in row.parts]


def _of_soil(row: Soil) -> Iterator[Name]:
    yield "texture", "dryout", [row.texture]


REFERENCES: Mapping[str, Callable[[Any], Iterator[Name]]] = {
    "template": _of_template,
    "wait": _of_wait,
    "rule": _of_rule,
    "assembly": _of_assembly,
    "soil": _of_soil,
}


def _rings(rules: Mapping[str, Rule]) -> Iterator[tuple[list[str], str]]:
    """Templates that would wait for each other's finish in one place, and a rule that makes them.

    Rules for one ordinal only are left out (watering comes before one spray and after another), and
    so are rules from a start (hauling goes on beside digging).
    """
    graph: nx.DiGraph[str] = nx.DiGraph()
    for key, rule in rules.items():
        plain = rule.relation is Relation.FINISH_START and rule.where in SAME_PLACE
        if plain and rule.before_nth is None and rule.after_nth is None:
            graph.add_edges_from(((a, b) for a in rule.before for b in rule.after), rule=key)
    for tangle in nx.strongly_connected_components(graph):
        if len(tangle) > 1 or nx.number_of_selfloops(graph.subgraph(tangle)):
            members = [a for a, _ in nx.find_cycle(graph.subgraph(tangle), source=min(tangle))]
            first = members.index(min(members))
            ring = members[first:] + members[:first]
            yield ring, graph.edges[ring[0], [*ring, ring[0]][1]]["rule"]


def _listed(choices: Mapping[str, set[str]]) -> str:
    return "; ".join(f"{ask}: {', '.join(sorted(words))}" for ask, words in choices.items())
