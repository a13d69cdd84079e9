"""Load a job file: a whole yard in words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.scheduling.errors import SchedulingError
from jobs.services.files.job_file import JobFileError
from jobs.services.files.load_job import load_job
from jobs.services.planning.plan_jobs import plan_jobs


class Command(BaseCommand):
    """``load_job FILE.toml [--plan]``."""

    help = "Load a yard from a job file; the README shows its format."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE.toml", type=Path)
        parser.add_argument("--plan", action="store_true", help="plan all open jobs afterwards")

    def handle(self, *args: Any, file: Path, plan: bool, **options: Any) -> None:
        try:
            text = file.read_text("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise CommandError(f"{file} cannot be read: {error}", returncode=2) from error
        now = clock.now()
        try:
            job = load_job(text, by="command line", now=now)
        except JobFileError as error:
            raise CommandError(
                "\n".join(f"{file}: {fault}" for fault in error.faults), returncode=2
            ) from error
        count = job.activities.filter(retired=False).count()
        self.stdout.write(f"{job.name}: {count} activities")
        if plan:
            self._plan(now)

    def _plan(self, now: Any) -> None:
        try:
            made = plan_jobs(now=now, by="command line")
        except SchedulingError as error:
            raise CommandError(str(error), returncode=2) from error
        for row in made.told.jobs:
            self.stdout.write(f"{row.job.name}: {row.start:%d %b %Y} to {row.finish:%d %b %Y}")
