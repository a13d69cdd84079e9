"""Plans: what was proposed, what is published, and where every activity stands in it."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from crews.models import Crew
from crews.models.base import Stamped

from .job import Job
from .scope import Activity


class Plan(Stamped):
    """One answer of the planner for all open jobs at once, with its account."""

    class State(models.TextChoices):
        """At most one plan is published; a proposal becomes it or is set aside."""

        PROPOSED = "proposed"
        PUBLISHED = "published"
        SUPERSEDED = "superseded"
        DROPPED = "dropped"

    number = models.PositiveIntegerField(unique=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.PROPOSED)
    world = models.CharField(max_length=64)
    """Fingerprint of everything the plan depends on: a changed world is told, not overwritten."""
    made_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True, blank=True)
    by = models.CharField(max_length=120, blank=True)
    status = models.CharField(max_length=24)
    method = models.CharField(max_length=60)
    late = models.PositiveIntegerField()
    finish_sum = models.PositiveIntegerField()
    late_bound = models.PositiveIntegerField()
    """Weighted days late that no plan can go below, as far as that is proven."""
    gap = models.FloatField(null=True, blank=True)
    """Percent by which all jobs together may take longer than they must; null where that is not known."""
    seconds = models.FloatField()
    seed = models.BigIntegerField(default=0)
    overtime = models.JSONField(default=list)
    """Optional days it uses: crew, day, and [job uid, days] of each promise a day saves."""
    lacks = models.JSONField(default=dict, blank=True)
    """What the house lacked for it when it was made, and lacks since (``services.world.lacking``); empty if nothing."""

    untidy = models.JSONField(default=dict, blank=True)
    """What is untidy in it from the day it was made on, counted (``scheduling.untidy``), machines by name."""
    untidy_before = models.JSONField(default=dict, blank=True)
    """The same of the plan that was published then; empty if none was."""
    keeps_day = models.DateField(null=True, blank=True)
    """Working day fixed as published when it was made: its bounds are of plans that keep it; null if none was."""

    class Meta:
        ordering = ("-number",)
        constraints = [
            models.UniqueConstraint(
                fields=["state"], condition=Q(state="published"), name="one_published_plan"
            ),
            models.CheckConstraint(
                condition=~Q(state="published") | Q(published_at__isnull=False),
                name="published_plan_has_its_hour",
            ),
        ]

    def __str__(self) -> str:
        """Return number and state."""
        return f"plan {self.number}, {self.state}"


class PlanRow(models.Model):
    """Where one activity stands in one plan.

    ``segments`` are [start, finish] ISO pairs per working day; ``why`` is the sentence that says
    what binds its start. Early and late dates are of the critical path.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="rows")
    activity = models.ForeignKey(Activity, on_delete=models.CASCADE, related_name="plan_rows")
    crew = models.ForeignKey(
        Crew, on_delete=models.PROTECT, null=True, blank=True, related_name="plan_rows"
    )
    lent = models.ForeignKey(
        Crew, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    """A second crew, held with the first."""
    people = models.PositiveSmallIntegerField(null=True, blank=True)
    first = models.BigIntegerField(null=True, blank=True)
    last = models.BigIntegerField(null=True, blank=True)
    """First and last slot worked, counted from the year 1: the hours of days may change."""
    start = models.DateTimeField()
    finish = models.DateTimeField()
    segments = models.JSONField(default=list)
    machines = models.JSONField(default=list)
    wait_until = models.DateTimeField(null=True, blank=True)
    wait = models.CharField(max_length=30, blank=True)
    early_start = models.DateTimeField()
    late_finish = models.DateTimeField()
    free_finish = models.DateTimeField(null=True, blank=True)
    """Until when it may be done with nothing else moved; not known of plans made before that was kept."""
    float_hours = models.FloatField()
    critical = models.BooleanField(default=False)
    why = models.JSONField(default=list)

    class Meta:
        ordering = ("start", "pk")
        constraints = [
            models.UniqueConstraint(fields=["plan", "activity"], name="activity_once_per_plan"),
            models.CheckConstraint(
                condition=Q(finish__gt=F("start")), name="row_finish_after_start"
            ),
        ]
        indexes = [models.Index(fields=["plan", "start"])]

    @property
    def crews(self) -> tuple[Crew, ...]:
        """Who is on it: its crew, and the one lent to it; nobody for outside work."""
        return tuple(crew for crew in (self.crew, self.lent) if crew is not None)

    @property
    def crew_names(self) -> str:
        """Both in words: ``Stone crew with the Ground crew``; empty for outside work."""
        return " with the ".join(crew.name for crew in self.crews)

    @property
    def own_machines(self) -> tuple[str, ...]:
        """Slugs of the machines whose units it holds, a unit each; hired units belong to none."""
        return tuple(slug for _, _, slug in self.machines if slug)

    def __str__(self) -> str:
        """Return activity and start."""
        return f"{self.activity} {self.start:%d %b %Y %H:%M}"


class JobPlan(models.Model):
    """Start, finish and account of one job in one plan."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="jobs")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="plans")
    start = models.DateTimeField()
    finish = models.DateTimeField()
    promise = models.DateField(null=True, blank=True)
    """The day promised when it was planned: another one may be by now."""
    float_hours = models.FloatField(null=True, blank=True)
    """Working hours between planned finish and promise; negative when the promise is missed."""
    chain = models.JSONField(default=list)
    """Uids of the activities on the critical chain to the finish, in order."""

    class Meta:
        ordering = ("start", "pk")
        constraints = [models.UniqueConstraint(fields=["plan", "job"], name="job_once_per_plan")]

    def __str__(self) -> str:
        """Return job and finish."""
        return f"{self.job} finishes {self.finish:%d %b %Y}"
