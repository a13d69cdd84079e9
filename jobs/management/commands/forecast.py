"""What the forecast says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock, models
from jobs.services.sky.forecast import latest
from jobs.services.sky.refresh import refresh
from jobs.services.sky.saved_answer import read_saved, tell_hours
from jobs.weather.errors import WeatherError


class Command(BaseCommand):
    """``forecast (JOB | --file ANSWER.json) [--json]``."""

    help = "What the forecast says of a job, or a saved answer, by local day and slot."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", nargs="?", default="", help="slug of a job")
        parser.add_argument("--file", type=Path, help="a saved answer instead of the network")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, job: str, file: Path | None, json: bool, **options: Any) -> None:
        if bool(job) == (file is not None):
            raise CommandError("name a job, or a saved answer with --file", returncode=2)
        try:
            told = read_saved(file) if file else _ask(job)
        except WeatherError as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(_json(told) if json else _text(told))


def _ask(slug: str) -> dict[str, Any]:
    job = models.Job.objects.filter(slug=slug).first()
    if job is None:
        raise CommandError(f"there is no job called {slug}", returncode=2)
    now = clock.now()
    refresh(job, now)
    found = latest(job, now)
    heads = {
        "now": now.isoformat(),
        "timezone": found.zone.key,
        "stale": found.stale,
        "failure": found.failure,
        "credit": found.credit,
    }
    if found.hours is None:
        return heads | {"kind": "none", "usable": False}
    return heads | tell_hours(found.hours, now, found.zone)


def _json(told: dict[str, Any]) -> str:
    return json.dumps(told, ensure_ascii=False)


def _text(told: dict[str, Any]) -> str:
    lines = [f"{told['kind']}, {'usable' if told['usable'] else 'not usable: climate speaks'}"]
    if told.get("failure"):
        lines.append(f"last try: {told['failure']}")
    if told.get("age_hours") is not None:
        lines.append(f"made {told['age_hours']:.1f} h before {told['now']}")
    if told["kind"] == "grid":
        lines += [_day(day, row) for day, row in told["days"].items()]
    if told["kind"] == "alerts":
        lines += [f"{day}  {', '.join(row['events']) or '-'}" for day, row in told["days"].items()]
    return "\n".join(lines)


def _day(day: str, row: dict[str, Any]) -> str:
    def shown(value: float | None, unit: str) -> str:
        return f"{'?' if value is None else f'{value:.0f}'} {unit}"

    part = "" if row["rain_cover"] == 1 else f" (known for {row['rain_cover']:.0%} of the day)"
    rain = "rain ?" if row["rain_mm"] is None else f"rain {row['rain_mm']:.1f} mm{part}"
    return (
        f"{day}  {shown(row['tmin_c'], 'to')} {shown(row['tmax_c'], 'C')}, {rain}, "
        f"{shown(row['pop_pct'], '%')}, wind to {shown(row['wind_max_kmh'], 'km/h')}"
    )
