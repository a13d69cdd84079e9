"""How sure the dates are."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.scheduling.errors import SchedulingError
from jobs.services.sky.outlook import RUNS, say_outlook
from jobs.services.telling.speech import say_day

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.models import Outlook
    from jobs.services.sky.outlook import Outlooks

SHOWN = 3


class Command(BaseCommand):
    """``outlook [JOB] [--runs N] [--seed N] [--dry-run] [--json]``."""

    help = "P50, P80 and P90 per job and milestone of the accepted plan; kept as what was said."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", nargs="?", default="", help="slug of a job; all without it")
        parser.add_argument("--runs", type=int, default=RUNS)
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--dry-run", action="store_true", help="store nothing")
        parser.add_argument("--json", action="store_true")

    def handle(
        self, *args: Any, job: str, runs: int, seed: int, json: bool, **options: Any
    ) -> None:
        try:
            made = say_outlook(now=clock.now(), runs=runs, seed=seed, store=not options["dry_run"])
        except SchedulingError as error:
            raise CommandError(str(error), returncode=2) from error
        rows = [row for row in made.outlooks if job in ("", row.job.slug)]
        if not rows:
            raise CommandError(f"no planned job is called {job}", returncode=2)
        self.stdout.write(_json(made, rows) if json else _text(made, rows))


def _json(made: Outlooks, rows: Sequence[Outlook]) -> str:
    told = {"runs": made.runs, "seed": made.seed, "seconds": round(made.seconds, 3)}
    return json.dumps(told | {"jobs": [_job(row) for row in rows]}, ensure_ascii=False)


def _job(row: Outlook) -> dict[str, Any]:
    promise = row.job.promised_on
    return {
        "slug": row.job.slug,
        "name": row.job.name,
        "planned": row.planned.isoformat(),
        "p50": row.p50.isoformat(),
        "p80": row.p80.isoformat(),
        "p90": row.p90.isoformat(),
        "promise": promise.isoformat() if promise else None,
        "promise_odds": row.promise_odds,
        "milestones": row.milestones,
        "buffers": row.buffers,
        "risks": row.risks,
        "basis": row.basis,
    }


def _text(made: Outlooks, rows: Sequence[Outlook]) -> str:
    lines = [line for row in rows for line in _lines(row)]
    return "\n".join([*lines, f"{made.runs} futures, seed {made.seed}, {made.seconds:.1f} s"])


def _lines(row: Outlook) -> list[str]:
    place = row.basis.get("place")
    where = f"climate of {place}, {row.basis['km']} km away" if place else "no position: no weather"
    kept = "" if row.promise_odds is None else f", promise kept {row.promise_odds:.0%}"
    risks = ", ".join(f"{risk['name']} {risk['days']:.1f} d" for risk in row.risks[:SHOWN])
    planned, p50, p80, p90 = (
        say_day(moment.date()) for moment in (row.planned, row.p50, row.p80, row.p90)
    )
    return [
        f"{row.job.name}: planned {planned}, even odds {p50}, 8 in 10 {p80}, 9 in 10 {p90}{kept}",
        f"  {where}; what eats the days: {risks or 'nothing'}",
    ]
