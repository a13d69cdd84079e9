"""The solve loop: looks for plans asked for, and makes them."""

from __future__ import annotations

import logging
import os
import signal
import socket
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import Error, close_old_connections

from jobs import clock
from jobs.services.planning.solving import beat, leave, run_one
from jobs.services.upkeep.chores import do_chores

log = logging.getLogger(__name__)
PAUSE = 1.0
"""Seconds between two looks at an empty queue."""
CHORES_EVERY = 60.0
"""Seconds between two looks at the sky, the odds and the standing events."""


class Command(BaseCommand):
    """``worker [--once]``."""

    help = "Make the plans that are asked for, until told to stop."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="empty the queue and end")

    def handle(self, *args: Any, once: bool, **options: Any) -> None:
        self.name = f"{socket.gethostname()[:24]}-{os.getpid()}"
        self.stopped, self.chores_at = False, 0.0
        signal.signal(signal.SIGTERM, self._stop)
        signal.signal(signal.SIGINT, self._stop)
        while not self.stopped:
            busy = self._turn()
            if once and not busy:
                break
            if not busy:
                self._chores()
                time.sleep(PAUSE)
        leave(self.name)

    def _stop(self, *args: object) -> None:
        """End after this turn."""
        self.stopped = True

    def _chores(self) -> None:
        """See to what is due besides plans, once a minute."""
        if time.monotonic() < self.chores_at:
            return
        self.chores_at = time.monotonic() + CHORES_EVERY
        try:
            do_chores(clock.now())
        except Error:
            log.exception("the database did not answer; trying again in a minute")

    def _turn(self) -> bool:
        """Do one thing; whatever goes wrong with it, the loop goes on."""
        close_old_connections()
        try:
            beat(self.name)
            return run_one(self.name, lambda: self.stopped)
        except Error:
            log.exception("the database did not answer; trying again")
        return False
