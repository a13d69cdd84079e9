"""The earlier plan again."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.scheduling.errors import SchedulingError
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.accept_storm import undo


class Command(BaseCommand):
    """``undo``: publish the earlier plan again for unstarted work."""

    help = "Bring the earlier plan back; what cannot stand there any more is moved into gaps."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take nothing."""

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = undo(by="command line", now=clock.now())
        except (SchedulingError, PlanRefusedError) as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(
            f"plan {done.back_to} again, published as plan {done.accepted.plan.number}; "
            f"{done.taken_back} losses taken back"
        )
