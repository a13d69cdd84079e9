"""Is the house in order?"""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from jobs.services.upkeep.doctor import Health, look_over


class Command(BaseCommand):
    """``doctor``: exit code 1 if something is broken."""

    help = "Look at database, library, worker, forecast, backups, mail and addresses."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        found = look_over(timezone.now())
        for finding in found:
            self.stdout.write(f"{finding.health:<7} {finding.says}")
        if any(finding.health is Health.BROKEN for finding in found):
            sys.exit(1)
