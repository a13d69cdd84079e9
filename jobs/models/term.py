"""Terms: what must hold in the ways out of one storm."""

from __future__ import annotations

from django.db import models

from crews.models.base import Stamped

from .job import Job
from .plan import Plan
from .scope import Activity


class Term(Stamped):
    """What must hold in the ways out looked for against one plan: kept days, crews, yards, or none of these.

    It holds for this reckoning alone; whoever wants it for good pins the work.
    """

    class Kind(models.TextChoices):
        """What must hold; the values are those of ``scheduling.storm.terms.TermKind``."""

        KEEP_DAYS = "keep-days", "stays on its days"
        KEEP_CREW = "keep-crew", "keeps its crew"
        NOT_CREW = "not-crew", "not by this crew"
        NOT_BEFORE = "not-before", "not before this day"
        NOT_AFTER = "not-after", "done by this day"
        KEEP_YARD = "keep-yard", "the whole yard stays as published"
        NO_WEEKENDS = "no-weekends", "nobody works weekends"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    against = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="terms")
    activity = models.ForeignKey(
        Activity, on_delete=models.CASCADE, null=True, blank=True, related_name="terms"
    )
    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="terms"
    )
    crew = models.ForeignKey(
        "crews.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    day = models.DateField(null=True, blank=True)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        """Return what it is about and its kind."""
        return f"{self.activity or self.job or 'everybody'}: {self.get_kind_display()}"
