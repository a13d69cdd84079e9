"""The solve queue: plans asked for, who works on them, how far they are, what came of it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from crews.models.base import Stamped

from .plan import Plan


class Solve(Stamped):
    """A better plan, or an answer, that somebody asked for.

    A worker claims it by changing exactly one row, and shows by ``beat`` that it is alive; a row whose
    worker fell silent is taken up again. ``progress`` is what the page shows: best and bound so far.
    """

    class State(models.TextChoices):
        """Waiting, being worked on, or over: with a plan, or with a reason."""

        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    class Kind(models.TextChoices):
        """What is asked for: a plan, what a change would buy, or what would help most."""

        PLAN = "plan"
        WHAT_IF = "what-if"
        HELPS_MOST = "helps-most"

    OPEN = (State.WAITING, State.RUNNING)

    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.PLAN)
    question = models.JSONField(default=dict, blank=True)
    answer = models.JSONField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    asked = models.DateTimeField()
    by = models.CharField(max_length=120, blank=True)
    limit = models.FloatField()
    """Seconds it may take."""
    seed = models.BigIntegerField(default=0)
    worker = models.CharField(max_length=40, blank=True)
    claimed = models.DateTimeField(null=True, blank=True)
    beat = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    stop = models.BooleanField(default=False)
    progress = models.JSONField(default=dict, blank=True)
    plan = models.ForeignKey(
        Plan, on_delete=models.SET_NULL, null=True, blank=True, related_name="solves"
    )
    reason = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ("-asked", "-pk")
        indexes = [models.Index(fields=["state", "asked"])]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="running") | Q(claimed__isnull=False, beat__isnull=False),
                name="running_solve_is_claimed",
            ),
        ]

    def __str__(self) -> str:
        """Return when it was asked for and its state."""
        return f"asked {self.asked:%d %b %Y %H:%M}, {self.state}"


class Worker(models.Model):
    """A worker that looks for something to do, and when it last said so."""

    name = models.CharField(max_length=40, unique=True)
    beat = models.DateTimeField()

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        """Return its name."""
        return self.name
