"""Measure the app: ``bench KIND [FILE...] [--limit S] [--seed N] [--json]``, each with a baseline timed in the same run."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError

from jobs.services.bench.feeds import NothingToMeasureWith, feeds_text
from jobs.services.bench.measure import BENCHES, OF_FILES
from jobs.services.bench.replan import replan_text
from jobs.services.bench.solve import solve_text
from jobs.services.files.file_fault import FileFaultError

from .plan import seconds

if TYPE_CHECKING:
    from django.core.management.base import CommandParser


class Command(BaseCommand):
    """``bench cpm``: the critical path and one pass of the builder; ``bench feeds``: polling phones."""

    help = "Measure the planner against a plain reference timed in the same run."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("bench", choices=sorted(BENCHES))
        parser.add_argument("files", nargs="*", metavar="FILE", help="for psplib and portfolio")
        parser.add_argument("--limit", type=seconds, default=10.0, metavar="S", help="for the same")
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        kind, given = options["bench"], {"seed": options["seed"]}
        if kind in OF_FILES:
            given |= {"files": options["files"], "limit": options["limit"]}
        try:
            figures = BENCHES[kind](**given)
        except (NothingToMeasureWith, FileFaultError) as nothing:
            raise CommandError(str(nothing), returncode=2) from nothing
        if options["json"]:
            self.stdout.write(json.dumps(figures))
            return
        self.stdout.write(TEXTS.get(figures["bench"], plain_text)(figures))


def cpm_text(figures: dict[str, Any]) -> str:
    """Return a line a size, and one for the quick builder."""
    lines = [
        "{activities:>8,} activities, {links:>8,} links: {ours_ms:>8} ms, "
        "networkx {reference_ms:>8} ms, {times_faster} times faster".format(**row)
        for row in figures.get("sizes", [])
    ]
    quick = (
        "{activities:,} activities of {jobs} yards planned by one rule in {ms} ms, "
        "{pass_ms} ms of it for placing"
    )
    return "\n".join([*lines, quick.format(**figures["quick"])])


def plain_text(figures: dict[str, Any]) -> str:
    """Return figures as they are, a line each."""
    return json.dumps(figures, indent=2)


TEXTS = {
    "cpm": cpm_text,
    "feeds": feeds_text,
    "portfolio": solve_text,
    "psplib": solve_text,
    "quick": cpm_text,
    "replan": replan_text,
}
"""How the figures of each bench are told to people."""
