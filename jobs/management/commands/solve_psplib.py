"""Solve published project files."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.services.files.file_fault import FileFaultError
from jobs.services.files.psplib import solve_file

from .plan import seconds, tries


class Command(BaseCommand):
    """``solve_psplib FILE... [--limit S] [--workers N] [--seed N]``."""

    help = "Solve single-mode project files; prints one JSON line each."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
        parser.add_argument("--limit", type=seconds, default=10.0, metavar="S")
        parser.add_argument("--workers", type=tries, default=2, metavar="N")
        parser.add_argument("--seed", type=int, default=0)

    def handle(
        self, *args: Any, files: list[Path], limit: float, workers: int, seed: int, **options: Any
    ) -> None:
        for path in files:
            try:
                line = solve_file(path, limit=limit, workers=workers, seed=seed)
            except FileFaultError as fault:
                raise CommandError(str(fault), returncode=2) from fault
            self.stdout.write(json.dumps(line))
            self.stdout.flush()
