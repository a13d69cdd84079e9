"""What matters in a plan, and how much: every weight of the objective, with the reason for it.

A score is compared part by part: days late by the weight of their job come first, then upset of the
published plan, then finishes, then what is untidy. A part never pays for one before it.

Optional (overtime) days are no part of a score: which of them are open is settled before a plan is compared. They
are opened only where promises are missed without them, so they pay for nothing but the first part, and
of those that help as few are kept as will do (``asking.overtime``).
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

HOP = 2
"""A crew works for one yard more on a day: it loads up, drives and sets up once more. About an hour of two people (ours)."""
RETURN = 2
"""A crew comes back to a yard within a few days, having worked elsewhere in between: it sets up there twice."""
RETURN_DAYS = 5
"""Calendar days within which that counts; later, it would have cleared its things away in any case."""
LONE = 1
"""A crew comes to a yard for one slot of a day: the way costs as much as the work (trade custom)."""
IDLE = 3
"""A rented machine stands idle for a day of its hire: a day's rent for nothing."""
POUR = 3
"""Concrete poured on a Friday afternoon or the day before a holiday: nobody is there to look after it (trade custom)."""
PLANTING = 1
"""Trees or sod begun late in the week, or late in the day: the first days' water falls on days off (trade custom)."""

DAY_PRICE = 3.75
"""Days of finish that a weighted day late is worth while a search walks, half of it counted by the slot.

Dearer, and the step from a day late to not late would hide all progress; cheaper, and nothing is kept.
"""
UPSET_PRICE = 1.0
"""Days of finish that a point of upset is worth on the same walk: a changed day of this week costs three."""
