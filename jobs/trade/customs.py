"""Customs of the trade: what is done so where it can be, and otherwise where it must be.

No pour on a Friday afternoon or before a holiday; trees and sod early in the week and in the day; no visit of
one slot alone (common practice). Rules that bind stand with the links; these only make one plan nicer than another.
"""

from __future__ import annotations

from .concrete import POURED

POURS = POURED
"""Kinds of work that are not begun into days on which nobody works."""
EARLY = frozenset({"plant-box-24", "plant-box-36", "plant-box-48", "lay-sod"})
"""Kinds of work that want the days after them for water: trees and sod."""
FRIDAY = 4
LATE_IN_WEEK = 3
"""First weekday (Monday is 0) that is late in the week: Thursday."""
