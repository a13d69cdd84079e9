"""The ten practices of scheduling, and which of the published checks speaks for each.

GAO-16-89G (US Government Accountability Office, Schedule Assessment Guide). Where no check can, the page says
what keeps the practice instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from .case import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from .case import Check

PRACTICES: Mapping[str, tuple[str, ...]] = {
    "capture": (),
    "sequence": ("missing-logic", "leads", "lags", "kinds-of-links", "hard-dates"),
    "resources": ("no-crew",),
    "durations": ("long-works",),
    "traced": (),
    "critical-path": ("path-test",),
    "float": ("high-float", "negative-float"),
    "risk": (),
    "updated": ("invalid-dates",),
    "baseline": ("missed", "path-length", "pace"),
}
"""By practice, in the order of the guide, the keys of the checks that measure it."""


class Practice(NamedTuple):
    """How a practice stands: its checks measured, and those that fail."""

    key: str
    measured: int
    failing: tuple[Check, ...]


def practices(checks: Iterable[Check]) -> tuple[Practice, ...]:
    """Return how each practice stands by the checks put to a plan."""
    by_key = {check.key: check for check in checks}
    return tuple(
        Practice(
            practice,
            sum(by_key[key].verdict is not Verdict.NOTHING for key in keys),
            tuple(by_key[key] for key in keys if by_key[key].verdict is Verdict.FAILS),
        )
        for practice, keys in PRACTICES.items()
    )
