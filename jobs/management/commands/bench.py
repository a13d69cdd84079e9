"""Measure the planner: ``bench {cpm,feeds,quick} [--seed N] [--json]``."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError

from jobs.services.bench import BENCHES
from jobs.services.bench_feeds import NothingToMeasureWith, feeds_text
from jobs.services.bench_replan import replan_text

if TYPE_CHECKING:
    from django.core.management.base import CommandParser


class Command(BaseCommand):
    """``bench cpm``: the critical path and one pass of the builder; ``bench feeds``: polling phones."""

    help = "Measure the planner against a plain reference timed in the same run."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("bench", choices=sorted(BENCHES))
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            figures = BENCHES[options["bench"]](seed=options["seed"])
        except NothingToMeasureWith as nothing:
            raise CommandError(str(nothing), returncode=2) from nothing
        if options["json"]:
            self.stdout.write(json.dumps(figures))
            return
        if figures["bench"] == "feeds":
            self.stdout.write(feeds_text(figures))
            return
        if figures["bench"] == "replan":
            self.stdout.write(replan_text(figures))
            return
        for row in figures.get("sizes", []):
            self.stdout.write(
                "{activities:>8,} activities, {links:>8,} links: {ours_ms:>8} ms, "
                "networkx {reference_ms:>8} ms, {times_faster} times faster".format(**row)
            )
        self.stdout.write(
            "{activities:,} activities of {jobs} yards planned by one rule in {ms} ms, "
            "{pass_ms} ms of it for placing".format(**figures["quick"])
        )
