"""The log of a yard's day: what was said, by whom and when, with its photos."""

from __future__ import annotations

import uuid

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q

from .cause import Cause
from .job import Job, new_uid
from .scope import Activity, Delivery


class DayLog(models.Model):
    """What was said of a work or a yard on a day. Append-only: a correction is a new row."""

    class Kind(models.TextChoices):
        """What is said."""

        STARTED = "started", "started"
        PART = "part-way", "stopped part-way"
        DONE = "done", "done"
        NOT_TODAY = "not-today", "not today"
        NOTE = "note", "note"
        VISIT = "visit", "came by"
        RECEIVED = "received", "delivery came"
        PRESENT = "present", "was here"
        PHOTO = "photo", "photo"
        TAKEN_BACK = "taken-back", "taken back"

    class Result(models.TextChoices):
        """What an inspector said."""

        PASSED = "passed", "passed"
        FAILED = "failed", "not passed"
        AGAIN = "again", "comes again"

    client = models.UUIDField(unique=True, default=uuid.uuid4)
    """Made where it was said, so that a tap sent twice counts once."""
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="day_log")
    activity = models.ForeignKey(
        Activity, on_delete=models.CASCADE, null=True, blank=True, related_name="day_log"
    )
    day = models.DateField()
    kind = models.CharField(max_length=12, choices=Kind.choices)
    share = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(100)]
    )
    """Percent of the work that is done."""
    quantity = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    """How much is done in all, in the activity's unit."""
    crew = models.ForeignKey(
        "crews.Crew", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    people = models.PositiveSmallIntegerField(null=True, blank=True)
    cause = models.CharField(max_length=12, choices=Cause.choices, blank=True)
    who = models.CharField(max_length=120, blank=True)
    """Who came by."""
    result = models.CharField(max_length=8, choices=Result.choices, blank=True)
    again_on = models.DateField(null=True, blank=True)
    delivery = models.ForeignKey(
        Delivery, on_delete=models.SET_NULL, null=True, blank=True, related_name="day_log"
    )
    complete = models.BooleanField(null=True, blank=True)
    """Whether all of a delivery came."""
    note = models.CharField(max_length=400, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="corrected_by"
    )
    """The line that this one takes back."""
    stood = models.JSONField(null=True, blank=True)
    """How what the line changed stood before it, so that it can be taken back."""
    by = models.CharField(max_length=120)
    device_at = models.DateTimeField()
    server_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "day log"
        ordering = ("-day", "-pk")
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="taken-back") | Q(corrects__isnull=False),
                name="day_log_takes_back_a_line",
            ),
            models.CheckConstraint(
                condition=~Q(result="again") | Q(again_on__isnull=False),
                name="day_log_again_on_a_day",
            ),
        ]
        indexes = [models.Index(fields=["job", "day"])]

    def __str__(self) -> str:
        """Return day, what and kind."""
        return f"{self.day:%d %b %Y} {self.activity or self.job}: {self.kind}"


class Photo(models.Model):
    """A picture of the day: two files made from what was sent, which itself is never kept.

    The files lie below the media folder and are served only to who is signed in.
    """

    line = models.OneToOneField(DayLog, on_delete=models.CASCADE, related_name="photo")
    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    small_width = models.PositiveSmallIntegerField()
    small_height = models.PositiveSmallIntegerField()
    gone = models.BooleanField(default=False)
    """Taken back: the files were deleted."""

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        """Return its size in pixels."""
        return f"{self.width} by {self.height}"
