"""A yard's zones and the passages between them."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from crews.models.base import Revised, Stamped

from .job import Job, new_uid


class Zone(Revised):
    """A part of the yard that work happens in. One zone of each job is the whole yard."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="zones")
    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    slug = models.SlugField(max_length=60)
    name = models.CharField(max_length=60)
    area_ft2 = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    whole = models.BooleanField(default=False)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("order", "pk")
        constraints = [
            models.UniqueConstraint(fields=["job", "slug"], name="zone_slug_once_per_job"),
            models.UniqueConstraint(
                fields=["job"], condition=Q(whole=True), name="one_whole_yard_per_job"
            ),
        ]

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class Passage(Revised):
    """The way between two zones, or from the street (``start`` empty) to one.

    Widths and heights are whole tenths of a millimetre (1 in = 254).
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="passages")
    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    slug = models.SlugField(max_length=60)
    name = models.CharField(max_length=60)
    start = models.ForeignKey(
        Zone, on_delete=models.CASCADE, null=True, blank=True, related_name="passages_out"
    )
    end = models.ForeignKey(Zone, on_delete=models.CASCADE, related_name="passages_in")
    width = models.PositiveIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    """Clear width at the narrowest; empty: nobody measured it, and what comes that far gets through."""
    headroom = models.PositiveIntegerField(null=True, blank=True)
    load_lb = models.PositiveIntegerField(null=True, blank=True)
    floor = models.CharField(max_length=40, blank=True)
    slope_percent = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(100)])
    length_ft = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=["job", "slug"], name="passage_slug_once_per_job"),
            models.CheckConstraint(
                condition=Q(start__isnull=True) | ~Q(start=F("end")),
                name="passage_leads_elsewhere",
            ),
        ]

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class GateCode(Stamped):
    """How the gate opens. Shown on a crew's own page only, on tap, from a day before its work there."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="gate_code")
    code = models.CharField(max_length=60)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        """Return whose gate it is; never the code."""
        return f"gate of {self.job}"
