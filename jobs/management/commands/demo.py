"""An invented company with three yards, planned, published and served."""

from __future__ import annotations

import os
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.urls import reverse

from jobs import clock
from jobs.services.sky.outlook import say_first_outlook
from jobs.services.upkeep.demo import NotADemoError, Ready, make_demo
from jobs.services.upkeep.serving import serve


class Command(BaseCommand):
    """``demo [--no-serve] [--port N] [--fresh]``."""

    help = "Load, plan and publish the demo company, then serve it until Ctrl-C."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="only load, plan, publish")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--fresh", action="store_true", help="throw the old demo away first")

    def handle(self, *args: Any, no_serve: bool, port: int, fresh: bool, **options: Any) -> None:
        call_command("migrate", verbosity=0, interactive=False)
        try:
            ready = make_demo(fresh=fresh)
            say_first_outlook(clock.now())
        except NotADemoError as error:
            raise CommandError(
                f"{error}; give YARDWRIGHT_DATA another folder", returncode=2
            ) from error
        self._tell(ready, os.environ.get("BASE_URL") or f"http://127.0.0.1:{port}")
        if not no_serve:
            self.stdout.write("\nStop with Ctrl-C.")
            self.stdout.flush()
            serve("127.0.0.1", port)

    def _tell(self, ready: Ready, base: str) -> None:
        feed = reverse("crews:feed", args=[ready.crew_feed])
        crew_page = reverse("crew-set-up", args=[ready.crew_page])
        homeowner = reverse("homeowner", args=[ready.homeowner])
        self.stdout.write(
            f"{ready.jobs} jobs are planned and published (plan {ready.plan}).\n"
            f"Office:     {base}/   {ready.email}   password {ready.password}\n"
            f"Crew feed:  {base}{feed}   ({ready.crew})\n"
            f"Crew page:  {base}{crew_page}   (opens once, for one phone)\n"
            f"Homeowner:  {base}{homeowner}   ({ready.job})"
        )
