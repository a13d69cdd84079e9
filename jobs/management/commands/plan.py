"""Plan all open jobs."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.scheduling.errors import SchedulingError
from jobs.services.pages.nobody import lines_of, read_lacking
from jobs.services.pages.plan import how_good
from jobs.services.planning.accept_plan import PlanRefusedError, accept_plan
from jobs.services.planning.conflicts import promises_against, told, wishes_in
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.planning.plan_json import plan_as_json
from jobs.services.planning.solve_world import Limits
from jobs.services.planning.solving import CORES
from jobs.services.sky.outlook import odds_of_plan, say_first_outlook
from jobs.services.telling.speech import say_day

if TYPE_CHECKING:
    from datetime import datetime

    from jobs.services.planning.plan_jobs import Made

BY = "command line"


class Command(BaseCommand):
    """``plan [--limit S | --work W] [--seed N] [--dry-run] [--publish] [--json]``."""

    help = "Plan all open jobs; stores a proposal, --publish accepts it."

    def add_arguments(self, parser: CommandParser) -> None:
        spend = parser.add_mutually_exclusive_group()
        spend.add_argument("--limit", type=seconds, metavar="S", help="level for so many seconds")
        spend.add_argument(
            "--work", type=tries, metavar="W", help="level with so many tries: repeats for a seed"
        )
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--dry-run", action="store_true", help="store nothing")
        parser.add_argument("--publish", action="store_true", help="accept the plan at once")
        parser.add_argument("--json", action="store_true", help="print the whole plan")

    def handle(
        self, *args: Any, seed: int, dry_run: bool, publish: bool, json: bool, **options: Any
    ) -> None:
        now, limits = clock.now(), _limits(options["limit"], options["work"])
        try:
            made = plan_jobs(now=now, by=BY, seed=seed, store=not dry_run, limits=limits)
            if publish and made.plan is not None:
                accept_plan(made.plan, by=BY, now=now)
                say_first_outlook(now)
            text = _json(made, now) if json else _text(made)
        except (SchedulingError, PlanRefusedError) as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(text)


def seconds(text: str) -> float:
    """Read a limit: more than nothing."""
    value = float(text)
    if not 0 < value < float("inf"):
        raise ValueError(text)
    return value


def tries(text: str) -> int:
    """Read an amount of work: one or more."""
    value = int(text)
    if value < 1:
        raise ValueError(text)
    return value


def _limits(limit: float | None, work: int | None) -> Limits | None:
    """Both cores for seconds, one for counted work; None for the quick builder."""
    if limit is not None:
        return Limits(seconds=limit, workers=CORES)
    return None if work is None else Limits(tries=work)


def _json(made: Made, now: datetime) -> str:
    odds = None if made.plan is None else odds_of_plan(made.plan, now)
    return json.dumps(plan_as_json(made, odds), ensure_ascii=False)


def _text(made: Made) -> str:
    lines = [
        f"{row.job.name}: {say_day(row.start.date())} to {say_day(row.finish.date())}"
        for row in made.told.jobs
    ]
    number = f"plan {made.plan.number}" if made.plan else "not stored"
    lines.append(f"{how_good(made.told.plan)}; {made.seconds:.2f} s, {number}")
    lines += lines_of(read_lacking(made.told.plan, made.told.rows))
    conflict = promises_against(made.planning.world) if made.result.score.late else None
    if conflict is not None:
        lines += [f"{told(conflict)}:", *(f"  {line}" for line in wishes_in(conflict))]
    return "\n".join(lines)
