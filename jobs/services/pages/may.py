"""Reads whether a work may be done on the days the forecast reaches, and if not, why."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from jobs.scheduling.sky.limits import not_known
from jobs.services.numbers.library import library_for
from jobs.services.sky.hazards import limits_of_work, weeds_of
from jobs.services.sky.weather_windows import weather_of
from jobs.services.telling.speech import say_day, say_time
from jobs.services.telling.words import say
from jobs.services.world.axes import axis_of
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from jobs import models
    from jobs.services.sky.weather_windows import JobWeather
    from jobs.weather.limits import Limit

DAYS = 8
MOST_SHOWN = 7


class MayDay(NamedTuple):
    """One day: whether the work may be done on it, from when on, and what stops it."""

    day: str
    may: str
    why: str


def read_may(activity: models.Activity, job: models.Job, now: datetime) -> tuple[MayDay, ...]:
    """Return the days of the forecast for a work not done yet, if one of them stops it; else nothing."""
    if activity.finished_at is not None or activity.detail.get("outside"):
        return ()
    library = library_for(job)
    weed = weeds_of([job]).get(activity.key.partition("/")[0], "")
    limits = limits_of_work(
        library,
        library.templates.get(activity.template),
        activity.detail.get("weather", "W1"),
        weed,
    )
    axis = axis_of(job, now.astimezone(ZoneInfo(job.zone)).date(), DAYS)
    weather = weather_of([job], {job.zone: axis}, now)[job.uid]
    days = tuple(_days(weather, limits, Shift(activity.detail.get("shift", Shift.DAY))))
    return days[:MOST_SHOWN] if any(day.why for day in days) else ()


def _days(weather: JobWeather, limits: tuple[Limit, ...], shift: Shift) -> Iterator[MayDay]:
    axis = weather.axis
    for n in range(axis.days):
        slots = [
            slot
            for slot in range(n * axis.per_day, (n + 1) * axis.per_day)
            if slot in weather.slots and axis.positions[slot % axis.per_day].shift is shift
        ]
        if slots:
            yield _day(weather, limits, slots)


def _day(weather: JobWeather, limits: tuple[Limit, ...], slots: list[int]) -> MayDay:
    day = say_day(weather.axis.day(slots[0]))
    why = {slot: weather.why(limits, slot) for slot in slots}
    stopped = [sentence for sentence in why.values() if sentence is not None]
    if not stopped:
        open_one = not_known(limits, weather.slots[slots[0]])
        return MayDay(day, "all day", say(open_one) if open_one else "")
    free = [slot for slot in slots if why[slot] is None]
    return MayDay(day, _spans(weather, free) or "not at all", say(stopped[0]))


def _spans(weather: JobWeather, slots: list[int]) -> str:
    """Return slots as stretches of the day: ``7:00 am to 11:00 am, 1:30 pm to 3:30 pm``."""
    stretches: list[list[int]] = []
    for slot in slots:
        if stretches and stretches[-1][-1] + 1 == slot:
            stretches[-1].append(slot)
        else:
            stretches.append([slot])
    begins, ends = weather.axis.begins, weather.axis.ends
    told = (f"{say_time(begins(one[0]))} to {say_time(ends(one[-1]))}" for one in stretches)
    return ", ".join(told)
