"""A yard under way."""

from __future__ import annotations

import uuid

from django.core.validators import MinValueValidator
from django.db import models

from crews.models.base import Revised


def new_uid() -> str:
    """Return a fresh opaque uid, minted once and kept."""
    return uuid.uuid4().hex


class Job(Revised):
    """One yard: where it is, what state it is in, when it may start and what was promised."""

    class State(models.TextChoices):
        """A plan takes sold, active and paused jobs, and those at the punch list; bids only in what-if."""

        BID = "bid", "Bid"
        SOLD = "sold", "Sold"
        ACTIVE = "active", "Active"
        PAUSED = "paused", "Paused"
        PUNCH = "punch", "Punch list"
        HANDED_OVER = "handed-over", "Handed over"
        CLOSED = "closed", "Closed"

    OPEN = (State.SOLD, State.ACTIVE, State.PAUSED, State.PUNCH)

    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=200)
    us_state = models.CharField(max_length=2)
    zone = models.CharField(max_length=60, default="America/New_York")
    latitude = models.DecimalField(max_digits=8, decimal_places=5, null=True, blank=True)
    longitude = models.DecimalField(max_digits=8, decimal_places=5, null=True, blank=True)
    soil = models.CharField(max_length=20, default="loam")
    state = models.CharField(max_length=12, choices=State.choices, default=State.SOLD)
    paused_from = models.DateField(null=True, blank=True)
    paused_until = models.DateField(null=True, blank=True)
    starts_on = models.DateField()
    promised_on = models.DateField(null=True, blank=True)
    weight = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    options = models.JSONField(default=dict, blank=True)
    """Answers of the yard as a whole that only the takeoff reads (weed, hoa, permit ...)."""
    access_notes = models.CharField(max_length=255, blank=True)
    library = models.CharField(max_length=40, blank=True)
    own = models.JSONField(default=list, blank=True, editable=False)
    """Own figures in force since the numbers of this job were last accepted: [path, value] pairs."""
    demo = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering = ("starts_on", "name")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(promised_on__isnull=True)
                | models.Q(promised_on__gte=models.F("starts_on")),
                name="promise_not_before_start",
            )
        ]
        indexes = [models.Index(fields=["state"])]

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class NoWorkDay(Revised):
    """Days on which a yard may not be worked in: the homeowner's party, a street closed."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="no_work_days")
    first = models.DateField()
    last = models.DateField()
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("first",)
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last__gte=models.F("first")),
                name="no_work_days_end_after_they_begin",
            )
        ]

    def __str__(self) -> str:
        """Return dates and reason."""
        return f"{self.first:%d %b} - {self.last:%d %b %Y} {self.why}".strip()
