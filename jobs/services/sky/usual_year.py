"""What the usual year of a place lets be done when, for a yard that is not planned yet: no forecast, no rain."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs import models
from jobs.services.numbers.library import library_for
from jobs.weather.climate import nearest

from .climate import climates, climates_of, warmth_at
from .hazards import limits_of_work, weeds_of
from .weather_windows import with_season

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.scheduling.world import World
    from jobs.trade.library import Library
    from jobs.trade.work import Activity
    from jobs.weather.temperature import Warmth


@dataclass(frozen=True, slots=True)
class UsualYear:
    """The cold and the hot months of a place.

    Attributes
    ----------
    place
        Whose months they are; empty where no place is known, which then has none.
    weeds
        What grows where an old lawn is killed, by scope item.
    """

    library: Library
    place: str = ""
    warmth: Warmth | None = None
    weeds: Mapping[str, str] = field(default_factory=dict)

    def upon(self, world: World, activities: Iterable[Activity]) -> World:
        """Return a world of one yard with work out of its wrong months, and concrete slower in the cold."""
        limits = {
            str(a.key): limits_of_work(
                self.library,
                self.library.templates.get(a.key.template),
                a.weather,
                self.weeds.get(a.key.item, ""),
            )
            for a in activities
            if not a.outside
        }
        return with_season(world, limits, self.warmth)


def usual_year_of(job: models.Job) -> UsualYear:
    """Return the usual year of a yard, by its own position or the place chosen for it."""
    library, weeds = library_for(job), weeds_of([job])
    known = climates_of([job]).get(job.uid)
    if known is None:
        return UsualYear(library, weeds=weeds)
    return UsualYear(library, known.near.climate.label, known.warmth, weeds)


def usual_year_in(us_state: str, library: Library) -> UsualYear:
    """Return the usual year of the company's newest yard in a state; before there is one, of a place there."""
    jobs = models.Job.objects.filter(us_state=us_state).exclude(latitude=None).order_by("-pk")[:1]
    for known in climates_of(jobs).values():
        return UsualYear(library, known.near.climate.label, known.warmth)
    for place in climates():
        if place.state == us_state:
            (near,) = nearest((place,), place.spot, 1)
            return UsualYear(library, place.label, warmth_at(near))
    return UsualYear(library)
