"""The checks of a plan as one JSON object: the contract of ``health --json``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jobs.services.telling.words import say
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from jobs.scheduling.health.check import Check

    from .health import Health


def health_as_json(health: Health) -> list[dict[str, Any]]:
    """Return every check of a plan or job, in the order in which they are published."""
    return [_check(check, health) for check in health.checks]


def _check(check: Check, health: Health) -> dict[str, Any]:
    planning = health.planning
    return {
        "key": check.key,
        "title": say(Sentence(f"health-title-{check.key}")),
        "verdict": check.verdict.value,
        "value": round(check.value, 4),
        "limit": check.limit,
        "unit": check.unit.value,
        "of": check.of,
        "source": check.source,
        "findings": [
            {
                "activity": finding.work or None,
                "job": planning.jobs[finding.job or planning.world.works[finding.work].job].slug,
                "words": say(finding.sentence),
            }
            for finding in check.findings
        ],
    }
