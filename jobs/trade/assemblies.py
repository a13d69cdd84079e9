"""What an owner buys: the questions it asks, and the activities it unfolds into."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of an assembly: a quantity with its unit, or a choice of words."""

    key: str
    name: str
    unit: str
    default: str = ""
    required: bool = False
    choices: tuple[str, ...] = ()
    most: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One activity of an assembly: which template, how much (a named formula), when it applies.

    ``quantity`` names an entry of ``formulas.FORMULAS``; ``when`` holds questions, each with the
    words one of which must have been answered.
    """

    template: str
    quantity: str
    when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Assembly:
    """A thing the owner buys, the questions it asks and the activities it unfolds into."""

    key: str
    name: str
    group: str
    asks: tuple[Ask, ...]
    parts: tuple[Part, ...]
    source: str
