"""What a plan is made from: a world, with the rows it was read from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from crews.services.day_hours import HoursBook
    from crews.services.hours import Hours
    from jobs import models
    from jobs.scheduling.storm.lost import Loss
    from jobs.scheduling.world import World


@dataclass(frozen=True, slots=True)
class Planning:
    """A world with the rows it was made of, and the revision it was read at.

    ``dry`` is the same world without the time that was lost, which ``losses`` closed.
    """

    world: World
    dry: World
    losses: tuple[Loss, ...]
    activities: Mapping[str, models.Activity]
    jobs: Mapping[str, models.Job]
    hours: Hours
    revision: str
    book: HoursBook
    fixed: frozenset[tuple[str, str]] = frozenset()
    """Works and waits whose length an engineer has set."""
    overtime: tuple[dict[str, Any], ...] = ()
    """Optional days that are open, as plans keep them."""
    windows: Mapping[str, int | None] = field(default_factory=dict)
    """Slots of works that the forecast keeps out of some, as they are without it; None is all slots."""
