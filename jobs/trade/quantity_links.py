"""Links that no library rule can say, because they hang on quantities: pours, and spoil for mounds."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from .concrete import POURED
from .unfold import BERM, HAUL, HAULED_IN, THIS_YARD
from .work import Clock, Lag, Link, Relation, Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from .unfold import Task

NEXT_POUR = "pour-by-pour"
SPOIL = "spoil-feeds-mound"
HALF_DAY = 2
"""Slots of work after which there is enough soil to begin with."""


def quantity_links(tasks: Sequence[Task]) -> list[Link]:
    """Return the links that hang on quantities: pours of one slab follow each other, spoil comes before mounds."""
    return [*_pours(tasks), *_spoil(tasks)]


def _pours(tasks: Iterable[Task]) -> list[Link]:
    by_item: dict[tuple[str, str], list[Task]] = defaultdict(list)
    for task in tasks:
        if task.key.template in POURED:
            by_item[task.key.item, task.key.template].append(task)
    links = []
    for split in by_item.values():
        row = sorted(split, key=lambda task: task.key.ordinal)
        links += [
            Link(one.key, two.key, NEXT_POUR, why=Sentence(NEXT_POUR)) for one, two in pairwise(row)
        ]
    return links


def _spoil(tasks: Sequence[Task]) -> list[Link]:
    """The largest hauls feed the mounds, until they hold enough."""
    mounds = [
        task
        for task in tasks
        if task.key.template == BERM and task.words.get("soil", THIS_YARD) == THIS_YARD
    ]
    hauls = [task for task in tasks if task.key.template == HAUL and task.key.ordinal != HAULED_IN]
    hauls.sort(key=lambda task: (-task.quantity.amount, str(task.key)))
    lacking = sum((task.quantity.amount for task in mounds), Decimal(0))
    links = []
    for haul in hauls:
        if lacking <= 0:
            break
        lacking -= haul.quantity.amount
        links += [_feeds(haul, mound) for mound in mounds if mound.key.zone != haul.key.zone]
    return links


def _feeds(haul: Task, mound: Task) -> Link:
    return Link(
        haul.key,
        mound.key,
        SPOIL,
        Relation.START_START,
        Lag(HALF_DAY, Clock.WORK),
        Sentence(SPOIL, {"from": haul.zone.name}),
    )
