"""Reads what the sky may do to a day: rain, alerts, heat, frost and wind, by the forecast of each yard."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.sky.cautions import day_cautions
from jobs.scheduling.sky.limits import fahrenheit
from jobs.services.numbers.library_words import alert_name
from jobs.services.sky.forecast import latest_of
from jobs.services.telling.speech import say_day, say_time
from jobs.services.telling.words import say
from jobs.trade.work import Sentence
from jobs.weather.hours import LIKELY
from jobs.weather.reading import read_day

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from collections.abc import Set as AbstractSet
    from datetime import date, datetime

    from jobs import models
    from jobs.services.sky.forecast import Told

MM_PER_IN = 25.4
LEAST_RAIN_IN = 0.1


class Sky(NamedTuple):
    """The forecast of one yard for one day, in words, and what it asks people to mind.

    Where there is none to go by, ``air`` says so and why: never silently no rain.
    """

    job: str
    slug: str
    air: str
    minds: tuple[str, ...]
    wet: bool
    credit: str


def read_sky(
    jobs: Iterable[models.Job],
    day: date,
    now: datetime,
    language: str = "en",
    *,
    works: Iterable[models.Activity] = (),
) -> tuple[Sky, ...]:
    """Return the sky over each yard that is worked in on a day; yards without a position have none.

    Parameters
    ----------
    works
        What is worked that day: concrete and masonry ask for steps of their own.
    """
    jobs = list(jobs)
    told, classes = latest_of(jobs, now), _classes(works)
    rows = [(job, told[job.uid]) for job in jobs if job.uid in told]
    skies = (_sky(job, known, day, language, classes.get(job.pk, set())) for job, known in rows)
    return tuple(sky for sky in skies if sky is not None)


def read_sky_of(
    job: models.Job, day: date, now: datetime, *, works: Iterable[models.Activity] = ()
) -> Sky | None:
    """Return the sky over one yard, None where it has no position."""
    return next(iter(read_sky([job], day, now, works=works)), None)


def _classes(works: Iterable[models.Activity]) -> Mapping[int, set[str]]:
    """Weather classes of works, by job."""
    found: dict[int, set[str]] = {}
    for work in works:
        found.setdefault(work.job_id, set()).add(str(work.detail.get("weather", "")))
    return found


def no_forecast(told: Told, language: str = "en") -> str:
    """Return why there is no forecast to go by; empty where there is one."""
    if told.hours is not None and not told.stale:
        return ""
    age = told.age_hours
    if age is None:
        words = say(Sentence("weather-no-forecast-none"), language)
    else:
        which = "clock" if age < 0 else "old"
        words = say(
            Sentence(f"weather-no-forecast-{which}", {"hours": f"{abs(age):.0f}"}), language
        )
    if not told.failure or language != "en":  # what went wrong is the office's to read
        return words
    failure = Sentence("weather-no-forecast-failure", {"failure": told.failure})
    if told.tried is not None:
        when = f"{say_day(told.tried)}, {say_time(told.tried)}"
        failure = Sentence("weather-no-forecast-tried", {"failure": told.failure, "when": when})
    return f"{words} {say(failure, language)}"


def _sky(
    job: models.Job, told: Told, day: date, language: str, classes: AbstractSet[str]
) -> Sky | None:
    if told.hours is None or told.stale:
        return Sky(job.name, job.slug, no_forecast(told, language), (), wet=False, credit="")
    seen = read_day(told.hours, day, told.zone)
    if seen.tmin_c is None or seen.tmax_c is None:
        return None
    inches = (seen.rain_mm or 0.0) / MM_PER_IN
    wet = inches >= LEAST_RAIN_IN and (seen.pop_pct or 0.0) >= LIKELY
    low, high = (f"{fahrenheit(degrees):.0f}" for degrees in (seen.tmin_c, seen.tmax_c))
    words = [say(Sentence("sky-air", {"low": low, "high": high}), language)]
    if seen.pop_pct is not None:
        rain = f", {inches:.1f} in" if inches >= LEAST_RAIN_IN else ""
        tenths = str(round(seen.pop_pct / 10))
        words.append(say(Sentence("sky-rain", {"tenths": tenths}), language) + rain)
    cautions = day_cautions(told.hours, told.alerts, day, told.zone, job.us_state, classes=classes)
    minds = tuple(_mind(sentence, language) for sentence in cautions)
    return Sky(job.name, job.slug, "; ".join(words), minds, wet, told.credit)


def _mind(sentence: Sentence, language: str) -> str:
    """Say what to mind; an alert by the name it has in the language."""
    event = sentence.values.get("event")
    if event is None:
        return say(sentence, language)
    named = {**sentence.values, "event": alert_name(str(event), language)}
    return say(Sentence(sentence.key, named), language)
