"""The forecast over both worlds of a planning: with the time that was lost, and without it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.scheduling.storm.lost import lose

from .weather_windows import with_weather

if TYPE_CHECKING:
    from datetime import datetime

    from jobs.services.world.planning import Planning


def under_sky(planning: Planning, now: datetime) -> Planning:
    """Return a planning whose world and dry world both keep works out of slots the forecast shuts.

    The sky is looked at once, for the dry world; what was lost is closed on top of it.
    """
    dry = with_weather(replace(planning, world=planning.dry), now).world
    return replace(planning, dry=dry, world=lose(dry, planning.losses))
