"""Lost time as the planner reads it: rows of days and causes to slots closed for works and crews."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from jobs import models
from jobs.models.cause import ALL_DAY, WEATHER
from jobs.scheduling.storm.lost import Loss
from jobs.services.numbers.library import current_library
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from jobs.scheduling.slots import SlotAxis

INDOORS = "W0"
FIRST_SLOT, LAST_SLOT = 1, 8
"""Bits of the first and the last day slot."""


def read_losses(axis: SlotAxis, activities: Sequence[models.Activity]) -> tuple[Loss, ...]:
    """Return every loss that still stands and touches the axis, in date order; one query."""
    rows = models.LostTime.objects.filter(taken_back_at=None, last__gte=axis.first)
    return tuple(
        loss_of(row, axis, activities)
        for row in rows.select_related("crew").order_by("first", "pk")
    )


def loss_of(row: models.LostTime, axis: SlotAxis, activities: Iterable[models.Activity]) -> Loss:
    """Return one row as slots closed to the works or the crew that it stops.

    A crew stops altogether. Else weather stops work outdoors, wet ground only work that needs it
    dry, and anything else all work in its scope. What people who are not ours do goes on.
    """
    slots = slots_of(row, axis)
    if row.crew is not None:
        return Loss(slots, crews=frozenset({row.crew.slug}))
    return Loss(slots, works=frozenset(a.uid for a in activities if _stops(row, a)))


def _stops(row: models.LostTime, activity: models.Activity) -> bool:
    if activity.finished_at is not None or activity.detail.get("outside"):
        return False
    if row.activity_id not in (None, activity.pk) or row.job_id not in (None, activity.job_id):
        return False
    weather = activity.detail.get("weather", "W1")
    if row.ground:
        kind = current_library().weather.get(weather)
        return kind is not None and kind.needs_dry_ground
    return row.cause not in WEATHER or weather != INDOORS


def slots_of(row: models.LostTime, axis: SlotAxis) -> int:
    """Return the slots of a row on an axis as a bitmap."""
    bits, day = 0, max(row.first, axis.first)
    last = min(row.last, axis.first + timedelta(days=axis.days - 1))
    while day <= last:
        bits |= _positions(mask_on(row, day), axis) << axis.slot(day)
        day += timedelta(days=1)
    return bits


def mask_on(row: models.LostTime, day: date) -> int:
    """Return the day slots lost on one day of a row."""
    mask = ALL_DAY
    if day == row.first:
        mask &= row.first_slots
    if day == row.last:
        mask &= row.last_slots
    return mask


def _positions(mask: int, axis: SlotAxis) -> int:
    """Widen day slots to positions: dawn goes with the first, the evening with the last slot."""
    bits, at = 0, 0
    for index, position in enumerate(axis.positions):
        if position.shift is Shift.DAY:
            bits |= (mask >> at & 1) << index
            at += 1
        elif mask & (FIRST_SLOT if position.shift is Shift.DAWN else LAST_SLOT):
            bits |= 1 << index
    return bits
