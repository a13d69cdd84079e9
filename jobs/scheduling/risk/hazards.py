"""What may go otherwise than planned: weather, pace, waits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.weather.limits import Limit

    from .place import Place


@dataclass(frozen=True, slots=True)
class Hazards:
    """What may go otherwise than planned.

    Attributes
    ----------
    places
        What weather is drawn from, by job.
    limits
        What stops a work, by work.
    paces
        Quickest and slowest as a multiple of the planned duration, by work.
    waits
        Least and high as a multiple of the usual, by key of the wait.
    cures
        Days at 50 F or more that a wait of concrete takes at least, by key of the wait.
    own_waits
        The same for one job, by job and key, where it goes by other figures.
    fixed
        Works and waits after them that last as planned, come what may: an engineer has set them.
    windows
        Slots of works that the plan keeps out of days which the forecast speaks of, without that: those days
        are drawn here. None is all slots.
    apart
        True if no crew or machine is held up at another yard, as if each job had its own.
    """

    places: Mapping[str, Place] = field(default_factory=dict)
    limits: Mapping[str, tuple[Limit, ...]] = field(default_factory=dict)
    paces: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    waits: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    cures: Mapping[str, float] = field(default_factory=dict)
    own_waits: Mapping[tuple[str, str], tuple[float, float]] = field(default_factory=dict)
    fixed: frozenset[tuple[str, str]] = frozenset()
    windows: Mapping[str, int | None] = field(default_factory=dict)
    apart: bool = False

    def spread(self, job: str, wait: str) -> tuple[float, float] | None:
        """Return least and high of a wait of a job as a multiple of its usual; None if not known."""
        return self.own_waits.get((job, wait)) or self.waits.get(wait)
