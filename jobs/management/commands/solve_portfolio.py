"""Solve a portfolio file."""

from __future__ import annotations

import json
from pathlib import Path
from time import perf_counter
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.scheduling.errors import SchedulingError
from jobs.services.files.file_fault import FileFaultError
from jobs.services.files.portfolio_file import read_portfolio
from jobs.services.planning.solve_world import Limits, solve_world

from .plan import seconds, tries


class Command(BaseCommand):
    """``solve_portfolio FILE [--limit S] [--workers N] [--seed N]``."""

    help = "Schedule a portfolio of remodels; prints one JSON object."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--limit", type=seconds, default=10.0, metavar="S")
        parser.add_argument("--workers", type=tries, default=2, metavar="N")
        parser.add_argument("--seed", type=int, default=0)

    def handle(
        self, *args: Any, file: Path, limit: float, workers: int, seed: int, **options: Any
    ) -> None:
        begun = perf_counter()
        try:
            portfolio = read_portfolio(file)
            left = max(0.0, limit - (perf_counter() - begun))  # reading counts, too
            limits = Limits(seconds=left, workers=workers)
            result = solve_world(portfolio.world, limits, seed=seed)
        except (FileFaultError, SchedulingError) as error:
            raise CommandError(str(error), returncode=2) from error
        took = round(perf_counter() - begun, 3)
        self.stdout.write(json.dumps({**portfolio.schedule(result), "seconds": took}))
