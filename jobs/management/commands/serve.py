"""Serve the app on this machine, or on the local network."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from jobs.services.upkeep.serving import serve


class Command(BaseCommand):
    """``serve [--host H] [--port N]``."""

    help = "Serve the app until Ctrl-C."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, host: str, port: int, **options: Any) -> None:
        self.stdout.write(f"Serving on http://{host}:{port}/. Stop with Ctrl-C.")
        self.stdout.flush()
        serve(host, port)
