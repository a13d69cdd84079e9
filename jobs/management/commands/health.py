"""How sound the plan is."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.scheduling.errors import SchedulingError
from jobs.services.pages.frame import shown_plan
from jobs.services.pages.health import row_of
from jobs.services.planning.health import Checkup
from jobs.services.planning.health_json import health_as_json
from jobs.services.world.read_world import open_jobs

if TYPE_CHECKING:
    from jobs.services.planning.health import Health

SHOWN = 3


class Command(BaseCommand):
    """``health [--json]``."""

    help = "Put the published checks of a schedule's quality to the plan that is shown."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="all findings, and each job's own")

    def handle(self, *args: Any, json: bool, **options: Any) -> None:
        try:
            checkup = Checkup(shown_plan(), clock.now())
            told = _json(checkup) if json else _text(checkup.of())
        except SchedulingError as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(told)


def _json(checkup: Checkup) -> str:
    told = {
        "plan": checkup.plan.number if checkup.plan else None,
        "checks": health_as_json(checkup.of()),
        "jobs": [
            {"slug": job.slug, "name": job.name, "checks": health_as_json(checkup.of(job))}
            for job in open_jobs()
        ],
    }
    return json.dumps(told, ensure_ascii=False)


def _text(health: Health) -> str:
    lines = []
    for check in health.checks:
        row = row_of(check, health)
        lines.append(f"{row.verdict:>18}  {row.title}: {row.measured}")
        if row.fails:
            lines += [f"{'':20}{mend.job}: {mend.words}" for mend in row.mends[:SHOWN]]
            more = len(row.mends) - SHOWN
            lines += [f"{'':20}and {more} more"] if more > 0 else []
    return "\n".join(lines)
