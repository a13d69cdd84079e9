"""A named engineer's word that a pour may bear something sooner than is published."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from crews.models.base import Revised
from jobs.trade.releases import LONGEST_HOURS
from jobs.trade.releases import Allows as Kind

from .scope import Activity


class Release(Revised):
    """One thing allowed on one pour from some hours after its end; never without a name."""

    class Allows(models.TextChoices):
        """What is allowed."""

        WALK = Kind.WALK.value, "walk on it"
        STRIP = Kind.STRIP.value, "strip the forms"
        LOAD = Kind.LOAD.value, "bring barrows and a light machine onto it"
        BUILD = Kind.BUILD.value, "bed stone or build on it"

    activity = models.ForeignKey(Activity, on_delete=models.CASCADE, related_name="releases")
    allows = models.CharField(max_length=8, choices=Allows.choices)
    hours = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_HOURS)]
    )
    """After the end of the pour."""
    engineer = models.CharField(max_length=120)
    licence = models.CharField(max_length=60)
    signed_on = models.DateField()
    note = models.CharField(max_length=200, blank=True)
    by = models.CharField(max_length=120)
    """Who entered it here."""

    class Meta:
        ordering = ("hours", "pk")
        constraints = [
            models.UniqueConstraint(fields=["activity", "allows"], name="one_release_for_a_thing"),
            models.CheckConstraint(
                condition=~Q(engineer="") & ~Q(licence=""), name="release_by_a_named_engineer"
            ),
            models.CheckConstraint(
                condition=Q(hours__gte=1, hours__lte=LONGEST_HOURS), name="release_within_28_days"
            ),
        ]

    def __str__(self) -> str:
        """Return what is allowed and from when."""
        return f"{self.get_allows_display()} after {self.hours} h"
