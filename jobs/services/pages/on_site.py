"""Answers what was measured on site, in the reader's language; nothing of it is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jobs.services.numbers.library import current_library
from jobs.services.telling.words import say
from jobs.trade import on_site as site

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from jobs.trade.work import Sentence

    Told = Mapping[str, Any]

BARROW = "wheelbarrow"


def answers(kind: str, told: Told, language: str) -> tuple[str, ...]:
    """Return what a question asks for, by its cleaned measures."""
    return tuple(say(sentence, language) for sentence in _ANSWERS[kind](told))


def _wire(told: Told) -> Iterable[Sentence]:
    return site.wire(current_library().covers[told["how"]].cover, told["outside"])


def _truck(told: Told) -> Iterable[Sentence]:
    order = (told["turns"], told["agreed"], told["edition"])
    return site.truck(site.Truck(told["concrete"], told["minutes"], *order))


def _barrow(told: Told) -> Iterable[Sentence]:
    carrier = current_library().carriers[BARROW]
    amounts = (told["yards"], told["load"], told["feet"])
    return site.barrow(*amounts, carrier, slope_or_soft=told["soft"])


_ANSWERS: Mapping[str, Callable[[Told], Iterable[Sentence]]] = {
    "pit": lambda told: site.pit(told["depth"], told["ladder"], told["back"]),
    "wire": _wire,
    "water": lambda told: site.water_edge(told["edge"]),
    "saw": lambda told: site.saw(told["hours"], walk_behind=told["pushed"]),
    "truck": _truck,
    "drying": lambda told: site.drying(
        told["concrete"], told["air"], told["humidity"], told["wind"]
    ),
    "mortar": lambda told: site.mortar(told["mortar"]),
    "slab": lambda told: site.slab(
        site.Slab(told["days"], told["kept"], told["cement"], told["tested"])
    ),
    "barrow": _barrow,
    "corner": lambda told: site.corner(told["first"], told["second"], told["width"]),
}
