"""The company's own settings: one row."""

from __future__ import annotations

from django.db import models

from crews.models.base import Revised


class Company(Revised):
    """Name, home time zone, units and language of the company; exactly one row."""

    class Units(models.TextChoices):
        """What quantities are shown in; both are stored as entered."""

        US = "us", "feet, inches, pounds"
        METRIC = "metric", "meters, millimeters, kilograms"

    only = models.BooleanField(default=True, unique=True, editable=False)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=60, default="America/New_York")
    state = models.CharField(max_length=2, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.US)
    finding_days = models.PositiveSmallIntegerField(default=5)
    """Working days that finding somebody takes for a work that no crew can do (ours)."""
    evening_at = models.TimeField(null=True, blank=True)
    """When the evening summary is sent, on the company's clock; never by itself if empty."""
    demo = models.BooleanField(default=False, editable=False)
    demo_day = models.DateField(null=True, blank=True, editable=False)
    """The day a demo pretends it is."""

    class Meta:
        verbose_name_plural = "company"
        constraints = [models.CheckConstraint(condition=models.Q(only=True), name="one_company")]

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class LibraryVersion(Revised):
    """A version of the trade library that was loaded; jobs keep the one they were made with."""

    version = models.CharField(max_length=40, unique=True)
    templates = models.PositiveSmallIntegerField()
    rules = models.PositiveSmallIntegerField()
    files = models.JSONField(default=dict, editable=False)
    """Text of its files by name, so that a job can go on with the figures it was made with."""

    class Meta:
        ordering = ("-created",)

    def __str__(self) -> str:
        """Return the version."""
        return self.version
