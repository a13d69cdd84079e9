"""Every change, with who, when, before and after."""

from __future__ import annotations

from django.db import models

from .job import Job


class HistoryEntry(models.Model):
    """One line of the record; never edited, never deleted with what it tells about."""

    at = models.DateTimeField()
    by = models.CharField(max_length=120)
    job = models.ForeignKey(
        Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="history"
    )
    what = models.CharField(max_length=60)
    sentence = models.JSONField(default=list)
    before = models.JSONField(null=True, blank=True)
    after = models.JSONField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "history"
        ordering = ("-at", "-pk")
        indexes = [models.Index(fields=["job", "-at"])]

    def __str__(self) -> str:
        """Return when and what."""
        return f"{self.at:%d %b %Y %H:%M} {self.what}"
