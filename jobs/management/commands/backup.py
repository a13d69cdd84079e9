"""Everything in one file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.services.upkeep.backup import BackupError, write_backup


class Command(BaseCommand):
    """``backup FILE``."""

    help = "Write everything kept, rows and photos, into one file."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        try:
            kept = write_backup(file, clock.now())
        except BackupError as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(f"{file}: {kept.rows} rows and {kept.files} photos")
