"""Killing an old lawn: what the sky must allow, and the months that are good for it.

How many sprays and how far apart stands in the library (assembly *turf-kill*, waits *W-wake*, *W-respray*,
*W-kill-2*, *W-kill-3*); air, wind and rain in weather class W3. The label of the product is the law, and
spraying for hire takes a licence or supervision: every figure gives way to them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

GROWING_F: Mapping[str, int] = {"bermuda or other runners": 60}
"""Mean air of a week or month from which a lawn grows, and carries spray to its roots; runners sleep below
60 F (extension, from memory), other turf and weeds below 50."""
LEAST_GROWING_F = 50
HOT_MONTHS = frozenset({6, 7, 8})
"""Months with sun enough to cook the soil, north of the equator (UC IPM: hot season only)."""
SPRAYED = frozenset({"spray-turf-1", "spray-turf-2", "spray-turf-3"})
ONLY_IN: Mapping[str, frozenset[int]] = {"cover-solarise": HOT_MONTHS}
"""Works that only some months of the year are good for."""
