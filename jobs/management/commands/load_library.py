"""Check the trade library and record its version: ``load_library [--folder DIR]``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand

from jobs.services.numbers.library import load_library
from jobs.trade.errors import LibraryError

if TYPE_CHECKING:
    from django.core.management.base import CommandParser

BAD_LIBRARY = 2
"""Exit code if the files cannot be trusted."""


class Command(BaseCommand):
    help = "Check the trade library and record its version."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--folder", type=Path, help="a folder of .toml files instead of our own"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            found = load_library(options["folder"])
        except LibraryError as error:
            for fault in error.faults:
                self.stderr.write(str(fault))
            sys.exit(BAD_LIBRARY)
        state = "loaded" if found.new else "was loaded before"
        self.stdout.write(
            f"Library {found.version} {state}: {found.templates} kinds of work, {found.rules} rules, "
            f"{found.waits} waits, {found.assemblies} assemblies, {found.crews} crews, "
            f"{found.machines} machines, {found.notices} notice rules, {found.sources} sources."
        )
