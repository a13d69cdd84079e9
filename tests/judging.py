"""How tests ask the judge: what is wrong with a plan, by kind or in words."""

from __future__ import annotations

from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Plan
from jobs.services.telling.words import say
from tests.worlds import plan


def breaches(it, placed):
    """Kinds and works of what is wrong."""
    return [(b.kind, b.works) for b in judge_plan(it, placed).breaches]


def sentences(it, placed):
    """What is wrong, in English."""
    return [say(b.sentence) for b in judge_plan(it, placed).breaches]


def moved(placed, **changes):
    """The plan with some works placed otherwise."""
    return Plan({**placed.placements, **plan(**changes).placements})
