"""Where a yard's climate comes from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import models
from jobs.services.sky.climate import choose_place, climate_of, use_record
from jobs.weather.errors import WeatherError


class Command(BaseCommand):
    """``climate JOB [--place NAME] [--record FILE.csv]``."""

    help = "Show where a yard's climate comes from; choose another place, or load a daily record."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", help="slug of a job")
        parser.add_argument("--place", default="", help="a city and state, or a station number")
        parser.add_argument(
            "--record", type=Path, help="daily record: date,tmax_c,tmin_c,precip_mm"
        )

    def handle(self, *args: Any, job: str, place: str, record: Path | None, **options: Any) -> None:
        yard = models.Job.objects.filter(slug=job).first()
        if yard is None:
            raise CommandError(f"there is no job called {job}", returncode=2)
        try:
            if place:
                choose_place(yard, place)
            if record is not None:
                use_record(yard, record)
            found = climate_of(yard)
        except WeatherError as error:
            raise CommandError(str(error), returncode=2) from error
        far = ", which is far: the odds are widened" if found.near.far else ""
        self.stdout.write(f"{found.near.climate.label}, {found.near.km:.0f} km away{far}")
        if found.record:
            self.stdout.write(f"rain counted from {found.record}")
