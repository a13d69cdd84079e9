"""What a named engineer may release a pour for before the published least, and what that shortens.

Published least days hold as a floor unless a release is on record (trade practice after ACI 301 and C1074:
the engineer of record decides on tests of the concrete that was placed). Mortar and grout know none.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

CURES = frozenset({"W-cure", "W-cure-slow", "W-cure-slower"})
LONGEST_HOURS = 28 * 24
"""From then on concrete has the strength it was ordered with: there is nothing to release."""


class Allows(StrEnum):
    """What is allowed on the concrete, or to it, from some hours after its pour."""

    WALK = "walk"
    STRIP = "strip"
    LOAD = "load"
    BUILD = "build"


SHORTENS: Mapping[Allows, frozenset[str]] = {
    Allows.WALK: frozenset({"W-foot"}),
    Allows.STRIP: frozenset({"W-strip"}),
    Allows.LOAD: CURES | {"W-machine"},
    Allows.BUILD: CURES | {"W-stone", "W-wallstart"},
}
"""Waits that a release shortens; a wait named by two ends with the earlier."""
READY: Mapping[Allows, frozenset[str]] = {
    Allows.WALK: frozenset({"foot"}),
    Allows.STRIP: frozenset({"strip-forms"}),
    Allows.LOAD: frozenset({"barrow", "stand-on"}),
    Allows.BUILD: frozenset({"cured", "wall"}),
}
"""Dates of the cure that a release brings forward."""


def shortened(
    released: Iterable[tuple[Allows, int]], by: Mapping[Allows, frozenset[str]] = SHORTENS
) -> dict[str, int]:
    """Return hours after the pour by wait, or by another table's keys; the earliest counts."""
    found: dict[str, int] = {}
    for allows, hours in released:
        for key in by[allows]:
            found[key] = min(hours, found.get(key, hours))
    return found
