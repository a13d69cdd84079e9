"""Record time lost, look at the ways out, accept one."""

from __future__ import annotations

import json
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from jobs import clock, models
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.storm.ways_out import BETTER, NoWay
from jobs.services.causes.lose_days import MOST_RAIN_IN, Lost, lose_days, say_lost
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.money import read_owed, say_owed
from jobs.services.storm.offer import answer_at_once, answer_better, read_storm
from jobs.services.storm.storm_json import offered_as_json, owed_as_json, terms_as_json
from jobs.services.storm.terms import TermRefusedError, say_odds
from jobs.services.storm.terms_told import Told, say_terms
from jobs.services.telling.speech import say_day, say_least, say_moved
from jobs.services.telling.words import say
from jobs.services.world.lacking import some_of
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from datetime import datetime

    from jobs.services.storm.offer import Offered, Weather

BY = "command line"
TERMS: dict[str, tuple[tuple[str, ...], str]] = {
    "keep-days": (("JOB", "WORK"), "a work stays on its days"),
    "keep-crew": (("JOB", "WORK"), "a work keeps its crew"),
    "keep-yard": (("JOB",), "a whole yard stays as published"),
    "not-crew": (("JOB", "WORK", "CREW"), "a work goes to anybody but a crew"),
    "not-before": (("JOB", "WORK", "DAY"), "a work begins no earlier"),
    "not-after": (("JOB", "WORK", "DAY"), "a work is done by a day"),
}
"""Options that say what must hold, with what each names; a work by its template, its name or its id."""


class Command(BaseCommand):
    """``lose_days --from DATE [--from-slot K] [--days N] [--job SLUG] [--why TEXT] [--accept WAY] [--json]``.

    What must hold in the ways out is said by ``--keep-days JOB WORK`` and the other ``TERMS``.
    """

    help = "Record lost time, print the ways out on the same six lines, accept one."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--from", dest="first", required=True, metavar="DATE")
        parser.add_argument(
            "--from-slot",
            type=int,
            default=1,
            metavar="K",
            help="day slot of the first day, 1 to 4",
        )
        parser.add_argument("--days", type=int, default=1, metavar="N", help="calendar days")
        parser.add_argument("--job", default="", metavar="SLUG", help="one yard; all without it")
        parser.add_argument("--why", default="", metavar="TEXT")
        parser.add_argument("--cause", choices=models.Cause.values, default=models.Cause.RAIN)
        parser.add_argument("--rain", default="", metavar="INCHES", help="what fell in all")
        for option, (about, says) in TERMS.items():
            parser.add_argument(
                f"--{option}",
                action="append",
                default=[],
                nargs=len(about),
                metavar=about,
                help=says,
            )
        parser.add_argument("--no-weekends", action="store_true", help="nobody works weekends")
        parser.add_argument("--accept", choices=[way.value for way in BETTER])
        parser.add_argument("--limit", type=float, metavar="S", help="seconds for each search")
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        now = clock.now()
        try:
            with transaction.atomic():
                rows = lose_days(_asked(options), by=BY, now=now)
                say_terms(_terms(options), by=BY, now=now)
            weather = read_storm(now)
            offered = answer_at_once(weather, now)
            offered += answer_better(weather, now, seconds=options["limit"], seed=options["seed"])
            accepted = _accept(weather, offered, options["accept"], now)
        except (ValueError, OverflowError) as error:  # days beyond any calendar are the latter
            raise CommandError(str(error), returncode=2) from error
        except (SchedulingError, PlanRefusedError, TermRefusedError) as error:
            raise CommandError(str(error), returncode=2) from error
        told = _json(weather, rows, offered, options["accept"], accepted)
        self.stdout.write(
            json.dumps(told, ensure_ascii=False) if options["json"] else _text(weather, told)
        )


def _asked(options: dict[str, Any]) -> Lost:
    first, rain = _day(options["first"]), _inches(options["rain"])
    job = models.Job.objects.filter(slug=options["job"]).first()
    if options["job"] and job is None:
        raise CommandError(f"there is no job called {options['job']}", returncode=2)
    if options["days"] < 1:
        raise CommandError("at least one day was lost", returncode=2)
    last = first + timedelta(days=options["days"] - 1)
    return Lost(
        first=first,
        last=last,
        from_slot=max(1, options["from_slot"]),
        job=job,
        cause=options["cause"],
        why=options["why"],
        rain_in=rain,
    )


def _terms(options: dict[str, Any]) -> list[Told]:
    """Read what must hold; the words of an option are named by its metavars."""
    told = [Told("no-weekends")] if options["no_weekends"] else []
    for option, (about, _) in TERMS.items():
        for words in options[option.replace("-", "_")]:
            named = dict(zip(map(str.lower, about), words, strict=True))
            day = _day(named.pop("day")) if "day" in named else None
            told.append(Told(option, **named, day=day))
    return told


def _day(told: str) -> date:
    try:
        return date.fromisoformat(told)
    except ValueError as error:
        raise CommandError(f"{told!r} is no day: write 2026-06-22", returncode=2) from error


def _inches(told: str) -> Decimal | None:
    """Read inches of rain; None where nobody measured."""
    if not told:
        return None
    try:
        rain = Decimal(told)
    except InvalidOperation:
        rain = Decimal("NaN")
    if not (rain.is_finite() and 0 <= rain <= MOST_RAIN_IN):
        raise CommandError(f"{told!r} is no amount of rain: write inches like 0.5", returncode=2)
    return rain


def _accept(
    weather: Weather, offered: list[Offered], way: str | None, now: datetime
) -> models.Plan | None:
    """Accept a way; a twin stands for the way it equals."""
    if way is None:
        return None
    found = next(one for one in offered if one.found.way == way)
    if isinstance(found.found, NoWay) and found.found.twin:
        found = next(one for one in offered if one.found.way == found.found.twin)
    if isinstance(found.found, NoWay):
        clash = say_odds(weather.wide, weather.terms)
        raise CommandError(f"there is no way {way}: {clash or found.found.reason}", returncode=2)
    return accept_answer(found.row, by=BY, now=now).plan


def _json(
    weather: Weather,
    rows: list[models.LostTime],
    offered: list[Offered],
    way: str | None,
    plan: models.Plan | None,
) -> dict[str, Any]:
    return {
        "lost": [
            {
                "from": row.first.isoformat(),
                "to": row.last.isoformat(),
                "job": row.job.slug if row.job else None,
                "cause": row.cause,
                "why": row.why,
                "told": say_lost(row),
            }
            for row in rows
        ],
        "terms": terms_as_json(weather.terms),
        "cannot_be_kept": say_odds(weather.wide, weather.terms) or None,
        "signed": owed_as_json(weather),
        "against": weather.published.number,
        "revision": weather.planning.revision,
        "alternatives": [offered_as_json(weather, one) for one in offered],
        "accepted": way if plan else None,
        "plan": plan.number if plan else None,
    }


def _text(weather: Weather, told: dict[str, Any]) -> str:
    lines = [row["told"] for row in told["lost"]]
    lines += [f"must hold: {term['told']}" for term in told["terms"]]
    lines += [_way(weather, way) for way in told["alternatives"]]
    lines += [told["cannot_be_kept"]] if told["cannot_be_kept"] else []
    lines += [owed] if (owed := say_owed(read_owed(weather.causes))) else []
    lines += _nobody(weather, told["alternatives"])
    if told["plan"]:
        lines.append(f"plan {told['plan']} is published ({told['accepted']})")
    else:
        lines.append("nothing is accepted yet: phones show the plan as it was")
    return "\n".join(lines)


def _nobody(weather: Weather, ways: list[dict[str, Any]]) -> list[str]:
    """Say which works nobody can do, in any of the ways."""
    uids = dict.fromkeys(uid for way in ways for uid in way.get("nobody", ()))
    works = some_of([weather.planning.activities[uid].name for uid in uids])
    return [say(Sentence("nobody-need", {"work": works}))] if works else []


def _way(weather: Weather, way: dict[str, Any]) -> str:
    if way["same_as"]:
        return f"{way['way']}: the same as {way['same_as']}, nobody works weekends"
    if way["reason"]:
        return f"{way['way']}: none; {way['reason']}"
    names = {job.slug: job.name for job in weather.planning.jobs.values()}
    ends = ", ".join(
        f"{names[row['job']]} {say_day(date.fromisoformat(row['becomes']))}{_moved(row)}"
        for row in way["finishes"]
    )
    least = say_least(way["crew_days_changed"], way["crew_days_least"])
    risk = ", ".join(names[slug] for slug in way["promises_at_risk"]) or "none"
    return (
        f"{way['way']}: {ends}; promises at risk: {risk}; {way['crew_days_changed']} crew-days "
        f"changed{f' ({least})' if least else ''}, {len(way['saturdays'])} Saturdays, {len(way['rentals_extended'])} rentals extended"
    )


def _moved(row: dict[str, Any]) -> str:
    """Say that a finish is not the one that was published, where there was one."""
    if row["was"] in (None, row["becomes"]):
        return ""
    return f" ({say_moved(date.fromisoformat(row['was']), date.fromisoformat(row['becomes']))})"
