"""Stages of a yard: which works make them."""

from __future__ import annotations

from jobs.trade.stages import STAGES
from tests.yards import library


def test_every_work_of_a_stage_is_in_the_library_and_in_one_stage_only() -> None:
    """None is told twice, none is unknown."""
    named = [key for keys in STAGES.values() for key in keys]
    assert set(named) <= set(library().templates)
    assert len(named) == len(set(named))
