"""Machines: counted, wide, heavy, owned or rented."""

from __future__ import annotations

from datetime import date

from django.core.validators import MinValueValidator
from django.db import models

from .base import Revised


class Machine(Revised):
    """A machine by kind and count. Width in tenths of a millimetre; None means the usual of its kind."""

    name = models.CharField(max_length=60, unique=True)
    slug = models.SlugField(max_length=60, unique=True)
    kind = models.CharField(max_length=40, db_index=True)
    count = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    width = models.PositiveIntegerField(null=True, blank=True)
    weight_lb = models.PositiveIntegerField(null=True, blank=True)
    rented = models.BooleanField(default=False)
    day_price = models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    """Of a rented one, dollars a calendar day."""
    least_days = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    """Fewest days that are paid each time it is hired."""
    lead_days = models.PositiveSmallIntegerField(default=2)
    """Working days ahead on which it must be ordered."""
    active = models.BooleanField(default=True, editable=False)
    """Whether lists and forms offer it: not once the day has come from which no unit is left."""
    gone = models.JSONField(default=list, blank=True, editable=False)
    """Units that are no longer with us, as [first day without them, how many]: plans go by this."""

    class Meta:
        ordering = ("name",)
        constraints = [
            models.CheckConstraint(condition=models.Q(count__gte=1), name="machine_count_positive")
        ]

    def __str__(self) -> str:
        """Return its name."""
        return self.name

    def units_on(self, day: date) -> int:
        """Return how many of them are still with us on a day."""
        gone: int = sum(units for since, units in self.gone if since <= day.isoformat())
        return self.count - gone

    @property
    def gone_from(self) -> date | None:
        """The first day on which none of them is with us any more; None if some stay."""
        days = sorted(date.fromisoformat(since) for since, _ in self.gone)
        return next((day for day in days if self.units_on(day) <= 0), None)
