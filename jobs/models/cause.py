"""Why a plan is otherwise than it was: time lost, what changed, ways out that were offered, finishes moved."""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q

from crews.models.base import Stamped

from .job import Job
from .plan import Plan
from .scope import Activity

ALL_DAY = 15
"""All four day slots; one bit a slot, the first slot of the day lowest."""


class Cause(models.TextChoices):
    """Why time was lost, or why a plan is otherwise than it was."""

    RAIN = "rain", "rain"
    DRY_OUT = "dry-out", "wet ground drying out"
    WIND = "wind", "wind"
    COLD = "cold", "cold"
    HEAT = "heat", "heat"
    MACHINE = "machine", "a machine that was down"
    PEOPLE = "people", "people who were out"
    DELIVERY = "delivery", "a late delivery"
    DECISION = "decision", "a late decision of the owner"
    CHANGE_ORDER = "change-order", "a change order"
    INSPECTION = "inspection", "an inspection that failed"
    REDO = "redo", "work that had to be done again"
    PAUSE = "pause", "a pause"
    PROMISE = "promise", "another promise"
    NEW_JOB = "new-job", "a job squeezed in"
    GONE = "gone", "a crew or machine no longer with us"
    PRODUCTIVITY = "productivity", "our own pace"
    OTHER = "other", "something else"


WEATHER = (Cause.RAIN, Cause.DRY_OUT, Cause.WIND, Cause.COLD, Cause.HEAT)
"""Causes that stop outdoor work only, and make a weather day."""
LOSES_TIME = (*WEATHER, Cause.MACHINE, Cause.PEOPLE, Cause.DELIVERY, Cause.DECISION, Cause.OTHER)
"""Causes by which hours of work are lost; the others change what is planned."""


class LostTime(Stamped):
    """Time in which work could not be, or cannot be, done: for all, one job, one crew or one work.

    Whole days from ``first`` to ``last``, but of the first and of the last day only the day slots in
    their masks. Taken back, never deleted.
    """

    first = models.DateField()
    last = models.DateField()
    first_slots = models.PositiveSmallIntegerField(
        default=ALL_DAY, validators=[MaxValueValidator(ALL_DAY)]
    )
    last_slots = models.PositiveSmallIntegerField(
        default=ALL_DAY, validators=[MaxValueValidator(ALL_DAY)]
    )
    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="lost_time"
    )
    crew = models.ForeignKey(
        "crews.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="lost_time"
    )
    activity = models.ForeignKey(
        Activity, on_delete=models.CASCADE, null=True, blank=True, related_name="lost_time"
    )
    ground = models.BooleanField(default=False)
    """Only work that needs dry ground."""
    cause = models.CharField(max_length=12, choices=Cause.choices, default=Cause.RAIN)
    why = models.CharField(max_length=200, blank=True)
    rain_in = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    """Inches that fell in all, where somebody said so."""
    dries = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="drying"
    )
    """The rain after which this ground dries."""
    sky = models.JSONField(default=dict, blank=True)
    """What the forecast on file said, by uid of the yard and day, with its source and hour."""
    by = models.CharField(max_length=120)
    at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, blank=True)
    plan = models.ForeignKey(
        Plan, on_delete=models.SET_NULL, null=True, blank=True, related_name="lost_time"
    )
    """The plan that was accepted because of it."""

    class Meta:
        verbose_name_plural = "lost time"
        ordering = ("first", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(last__gte=F("first")), name="lost_time_ends_after_it_begins"
            ),
            models.CheckConstraint(
                condition=Q(first_slots__gt=0, last_slots__gt=0), name="lost_time_is_some_time"
            ),
        ]
        indexes = [models.Index(fields=["last", "first"])]

    def __str__(self) -> str:
        """Return dates and cause."""
        return f"{self.first:%d %b} - {self.last:%d %b %Y} {self.cause}"


class Change(Stamped):
    """Something late or out that was said after a plan was accepted, with how it stood before.

    ``table`` and ``row`` name what was changed (time off, a delivery, a decision, a change order, a
    promise, a pause, a crew or machine that is gone); ``before`` and ``after`` are the values of its one
    field, so that its share in a moved date can be reckoned.
    """

    first = models.DateField()
    cause = models.CharField(max_length=12, choices=Cause.choices)
    why = models.CharField(max_length=200)
    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="changes"
    )
    table = models.CharField(max_length=20)
    row = models.PositiveIntegerField()
    before = models.JSONField(null=True, blank=True)
    after = models.JSONField(null=True, blank=True)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()
    plan = models.ForeignKey(
        Plan, on_delete=models.SET_NULL, null=True, blank=True, related_name="changes"
    )

    class Meta:
        ordering = ("first", "pk")

    def __str__(self) -> str:
        """Return cause and words."""
        return f"{self.cause}: {self.why}"


class Answer(Stamped):
    """A way out that was offered: placements of one world against one published plan.

    ``placements`` holds [first minute, last minute, crew, machine units] by activity uid, minutes of
    UTC, so that it can be accepted as it was shown or not at all.
    """

    way = models.CharField(max_length=12)
    world = models.CharField(max_length=64)
    against = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="answers")
    placements = models.JSONField()
    account = models.JSONField()
    """Status, rule, scores and seed of the result it came from."""
    terms = models.CharField(max_length=64, blank=True)
    """Digest of the terms it was found under; empty for none."""
    seconds = models.FloatField()
    made_at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)
        indexes = [models.Index(fields=["world", "way"])]

    def __str__(self) -> str:
        """Return its way and age."""
        return f"{self.way}, {self.made_at:%d %b %Y %H:%M}"


class FinishChange(Stamped):
    """How one accepted plan moved the finish of one job, split by cause; the split adds up.

    ``shares`` is a list of {cause, why, days}; their days sum to the days from ``was`` to ``becomes``.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="finish_changes")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="finish_changes")
    was = models.DateField()
    becomes = models.DateField()
    shares = models.JSONField(default=list)

    class Meta:
        ordering = ("plan__number", "pk")
        constraints = [
            models.UniqueConstraint(fields=["plan", "job"], name="one_finish_change_per_plan")
        ]

    def __str__(self) -> str:
        """Return job and days."""
        return f"{self.job}: {self.was:%d %b} to {self.becomes:%d %b %Y}"
