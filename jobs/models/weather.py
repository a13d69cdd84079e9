"""Weather: where a yard's climate comes from, the forecasts read, and every finish we said."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from crews.models.base import Revised, Stamped

from .job import Job
from .plan import Plan


class ClimatePlace(Revised):
    """Climate chosen for a yard: another place than the nearest, a daily record of its own, or both."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="climate")
    station = models.CharField(max_length=20, blank=True)
    """Station of the tables; empty for the nearest."""
    figures = models.JSONField(default=dict, blank=True)
    """Rain counted from a record: chains, heavy shares, spread; empty for the tables."""
    record = models.CharField(max_length=160, blank=True)

    def __str__(self) -> str:
        """Return where it comes from."""
        return self.record or self.station or "nearest place"


class ForecastReading(Stamped):
    """The last good answer of a weather service for a place, and what went wrong since.

    ``key`` is the position to four decimals, so that yards of one street share it.
    """

    source = models.CharField(max_length=20)
    key = models.CharField(max_length=40)
    zone = models.CharField(max_length=60, blank=True)
    grid_url = models.CharField(max_length=300, blank=True)
    body = models.TextField(blank=True)
    alerts = models.TextField(blank=True)
    etag = models.CharField(max_length=200, blank=True)
    last_modified = models.CharField(max_length=60, blank=True)
    good_at = models.DateTimeField(null=True, blank=True)
    """When the body was last confirmed."""
    tried_at = models.DateTimeField(null=True, blank=True)
    not_before = models.DateTimeField(null=True, blank=True)
    """No new try before: the answer is fresh, or the service asked to be left alone."""
    failures = models.PositiveSmallIntegerField(default=0)
    failure = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("source", "key")
        constraints = [
            models.UniqueConstraint(fields=["source", "key"], name="one_reading_per_place")
        ]

    def __str__(self) -> str:
        """Return source and place."""
        return f"{self.source} {self.key}"


class Outlook(Stamped):
    """What we said of a job's finish on a day: the planned date and the odds.

    ``milestones``, ``buffers`` and ``risks`` are lists of objects that only pages read;
    ``basis`` says what the odds were made from.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="outlooks")
    plan = models.ForeignKey(
        Plan, on_delete=models.SET_NULL, null=True, blank=True, related_name="outlooks"
    )
    said_at = models.DateTimeField()
    runs = models.PositiveIntegerField()
    seed = models.BigIntegerField(default=0)
    planned = models.DateTimeField()
    p50 = models.DateTimeField()
    p80 = models.DateTimeField()
    p90 = models.DateTimeField()
    promise_odds = models.FloatField(null=True, blank=True)
    milestones = models.JSONField(default=list)
    buffers = models.JSONField(default=list)
    risks = models.JSONField(default=list)
    basis = models.JSONField(default=dict)

    class Meta:
        ordering = ("-said_at", "-pk")
        indexes = [models.Index(fields=["job", "said_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(p80__gte=F("p50"), p90__gte=F("p80")), name="outlook_in_order"
            ),
            models.CheckConstraint(
                condition=Q(promise_odds__isnull=True)
                | Q(promise_odds__gte=0, promise_odds__lte=1),
                name="promise_odds_are_odds",
            ),
        ]

    def __str__(self) -> str:
        """Return job, day said and the date likely kept."""
        return f"{self.job} on {self.said_at:%d %b %Y}: by {self.p80:%d %b %Y} with 8 in 10"
