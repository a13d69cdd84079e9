"""Everything back from one file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.services.upkeep.backup import BackupError, restore_backup


class Command(BaseCommand):
    """``restore FILE [--over]``."""

    help = "Bring everything back from a file that backup wrote: all of it, or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument(
            "--over", action="store_true", help="let what is in the database now go"
        )

    def handle(self, *args: Any, file: Path, over: bool, **options: Any) -> None:
        call_command("migrate", verbosity=0, interactive=False)
        try:
            kept = restore_backup(file, over=over)
        except BackupError as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(
            f"{kept.rows} rows and {kept.files} photos are back, as of {kept.made_at}.\n"
            "Phones go on with the addresses they have; browsers sign in again."
        )
