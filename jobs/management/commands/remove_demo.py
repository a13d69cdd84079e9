"""Take the demo company out, so that the database is as new."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.services.upkeep.demo import NotADemoError
from jobs.services.upkeep.remove_demo import YoursTooError, remove_demo


class Command(BaseCommand):
    """``remove_demo [--with-mine]``."""

    help = "Take the demo company out: jobs, plans, crews, machines, its sign-ins."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--with-mine", action="store_true", help="jobs you set up in the demo go too"
        )

    def handle(self, *args: Any, with_mine: bool, **options: Any) -> None:
        try:
            gone = remove_demo(with_mine=with_mine)
        except (NotADemoError, YoursTooError) as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(
            f"{gone} jobs and the demo company are gone.\n"
            "Next: python manage.py create_owner EMAIL NAME, then sign in and set your company up."
        )
