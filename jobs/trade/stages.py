"""Stages of a yard after which its weather buffer is told: groundwork, concrete, the finish.

Which works make a stage is common practice; a stage ends with the last of its works.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

GROUNDWORK, CONCRETE, FINISH = "groundwork", "concrete", "finish"
STAGES: Mapping[str, frozenset[str]] = {
    GROUNDWORK: frozenset(
        {
            "strip-sod", "strip-by-loader", "break-haul-slab", "break-haul-slab-machine",
            "rough-grade", "dig-out", "haul-soil", "build-berm", "compact-ground", "trench",
            "lay-drain", "gravel-drain", "set-sleeves", "lay-conduit", "irrigation-main",
            "irrigation-laterals", "test-main", "gas-line", "backfill-trench",
        }
    ),
    CONCRETE: frozenset(
        {
            "dig-footings", "set-forms-rebar", "pour-footings", "pour-slab", "saw-joints",
            "cure-slab", "strip-forms", "check-strength",
        }
    ),
}  # fmt: skip
"""Kinds of work of each stage but the last, which is everything."""
