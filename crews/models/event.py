"""Published calendar events: what phones read. Written when a plan is published, never by a feed."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from .base import Stamped


def new_uid() -> str:
    """Return a fresh opaque UID."""
    return uuid.uuid4().hex


class CalendarEvent(models.Model):
    """One event per (activity, subject, run): a run is consecutive open days.

    ``subject`` says whose feed it is in: ``crew:<slug>``, ``machine:<slug>``, ``person:<pk>``,
    ``homeowner:<job uid>``. ``start`` and ``end`` are instants (end exclusive); for ``all_day`` they
    are local midnights of ``zone``.
    """

    class Kind(models.TextChoices):
        """What the event is about."""

        WORK = "work"
        DELIVERY = "delivery"
        INSPECTION = "inspection"
        MILESTONE = "milestone"
        NOTHING = "nothing"

    class Status(models.TextChoices):
        """RFC 5545 3.8.1.11."""

        CONFIRMED = "CONFIRMED"
        TENTATIVE = "TENTATIVE"
        CANCELLED = "CANCELLED"

    uid = models.CharField(max_length=64, unique=True, default=new_uid)
    subject = models.CharField(max_length=80)
    activity = models.CharField(max_length=40, blank=True)
    job = models.CharField(max_length=40, blank=True)
    run = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.WORK)
    start = models.DateTimeField()
    end = models.DateTimeField()
    all_day = models.BooleanField()
    zone = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    place = models.CharField(max_length=255, blank=True)
    notes = models.TextField(blank=True)
    changed = models.CharField(max_length=160, blank=True)
    """The line that says when it was moved last and what it was before."""
    status = models.CharField(max_length=12, choices=Status.choices, default=Status.CONFIRMED)
    sequence = models.PositiveIntegerField(default=0)
    created = models.DateTimeField()
    modified = models.DateTimeField()

    class Meta:
        ordering = ("start", "uid")
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="event_ends_after_start"),
            models.UniqueConstraint(
                fields=["subject", "activity", "kind", "run"],
                condition=~Q(status="CANCELLED"),
                name="one_live_event_per_run",
            ),
        ]
        indexes = [
            models.Index(fields=["subject", "start"]),
            models.Index(fields=["activity", "subject"]),
            models.Index(fields=["subject", "kind", "sequence", "modified"], name="event_told"),
        ]

    def __str__(self) -> str:
        """Return subject and title."""
        return f"{self.subject}: {self.title}"


class FeedLink(Stamped):
    """A secret address of a feed or page; only the hash of its token is stored."""

    hash = models.CharField(max_length=64, unique=True)
    subject = models.CharField(max_length=80, db_index=True)
    label = models.CharField(max_length=120, blank=True)
    person = models.CharField(max_length=120, blank=True)
    last_read = models.DateTimeField(null=True, blank=True)
    revoked = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("subject", "pk")

    def __str__(self) -> str:
        """Return what it opens."""
        return f"{self.subject} {self.label}".strip()
