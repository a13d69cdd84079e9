"""What matters in a plan, and how much: every weight of the objective, with the reason for it.

A score is compared part by part: days late by the weight of their job come first, then upset of the
published plan, then finishes. A part never pays for one before it.
"""

from __future__ import annotations

NEXT_DAY = 20
"""A crew sent elsewhere than it was told for the next working day: people have packed for it."""
THIS_WEEK = 3
"""The same within a working week: the owner and the supplier have been told."""
NEXT_WEEK = 2
"""The same in the week after: machines are booked and deliveries ordered."""
LATER = 1
"""The same in the third week, the last that people plan their own days by; beyond it nothing counts."""
NEARNESS = (NEXT_DAY, *[THIS_WEEK] * 4, *[NEXT_WEEK] * 5, *[LATER] * 5)
"""Weight of a changed crew-day by working days from now, the next one first."""

DAY_PRICE = 3.75
"""Days of finish that a weighted day late is worth while a search walks, half of it counted by the slot.

Dearer, and the step from a day late to not late would hide all progress; cheaper, and nothing is kept.
"""
UPSET_PRICE = 1.0
"""Days of finish that a point of upset is worth on the same walk: a changed day of this week costs three."""
