"""Reads when a pour is ready for what: the part of an activity's story that curing concrete adds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.services.scope.extras import failed
from jobs.services.scope.releases import may_be_released
from jobs.services.sky.cure import tell_cure
from jobs.services.telling.speech import say_day, say_time
from jobs.weather.errors import WeatherError

from .frame import local

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from jobs import models
    from jobs.services.sky.cure import CureDate, CureTold

FOOTINGS = "pour-footings"
USUAL_CEMENT = "Type I"
FAILED = "It failed, and is poured again: nothing may rest on this one."
WHY = {
    "least": "the published least time",
    "strength": "until it is strong enough in the warmth expected",
    "warm hours": "only hours at 50 °F and above count",
    "usual": "as usual before a wall; light block work bears a day at 50 °F and above",
}


class Ready(NamedTuple):
    """One thing that may be done from a day on, and what binds."""

    what: str
    since: str
    why: str


@dataclass(frozen=True, slots=True)
class Cure:
    """Dates in order, and how they were reckoned."""

    dates: tuple[Ready, ...]
    basis: str


def read_cure(
    activity: models.Activity,
    poured: datetime,
    job: models.Job,
    now: datetime,
    releases: Sequence[models.Release],
) -> Cure | None:
    """Return when a pour is ready for what; None for other work, or where no climate is known."""
    if not may_be_released(activity):
        return None
    if failed(activity):
        return Cure((), FAILED)
    try:
        footing = activity.template == FOOTINGS
        told = tell_cure(
            job, local(poured, job), now,
            cement=_cement(activity, job), footing=footing, releases=releases,
        )  # fmt: skip
    except WeatherError:
        return None
    return Cure(tuple(_ready(one, job) for one in told.dates), _basis(told))


def _cement(activity: models.Activity, job: models.Job) -> str:
    """Return the cement that its item was answered with; the usual one where nobody chose."""
    item, *_ = (activity.part_of or activity).key.split("/")
    answers = job.items.filter(uid=item).values_list("answers", flat=True).first() or {}
    return str(answers.get("cement") or USUAL_CEMENT)


def _ready(one: CureDate, job: models.Job) -> Ready:
    if one.at is None:
        return Ready(one.name, "not by itself within sixty days", WHY[one.by])
    at = local(one.at, job)
    return Ready(one.name, f"{say_day(at)}, {say_time(at)}", one.released or WHY[one.by])


def _basis(told: CureTold) -> str:
    """Say what the dates were made from."""
    sky = (
        f"the forecast for the first {told.forecast_hours} hours, then "
        if told.forecast_hours
        else ""
    )
    return (
        f"Reckoned with {sky}the usual air of {told.place}, {told.coldest:.0f} to "
        f"{told.warmest:.0f} °F in the first week: hours count by their warmth (equivalent age), never "
        "less than the published least. A named engineer's release, recorded here, overrules it."
    )
