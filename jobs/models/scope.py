"""What is to be built, and the activities and links it unfolds into."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from crews.models.base import Revised, Stamped

from .job import Job, new_uid
from .place import Zone


class ScopeItem(Revised):
    """One assembly in one zone with its answers: quantities (unit as asked) and choices of words."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="items")
    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    assembly = models.CharField(max_length=60)
    zone = models.ForeignKey(Zone, on_delete=models.RESTRICT, related_name="items")
    name = models.CharField(max_length=120, blank=True)
    answers = models.JSONField(default=dict)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("order", "pk")

    def __str__(self) -> str:
        """Return assembly and zone."""
        return f"{self.assembly} in {self.zone}"


class Activity(Revised):
    """A piece of work. ``key`` says what it is (item, template, zone, ordinal); ``uid`` names it.

    ``detail`` holds what only the planner and the story of the activity read: machines, holds,
    treads, hauls, cautions; it is rewritten whenever the job is expanded again.
    """

    class Extra(models.TextChoices):
        """What a part is that came on top of the work, rather than being cut from it."""

        AGAIN = "again", "done again"
        MORE = "more", "more days"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="activities")
    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    key = models.CharField(max_length=200)
    name = models.CharField(max_length=120)
    template = models.CharField(max_length=60)
    zone = models.ForeignKey(
        Zone, on_delete=models.RESTRICT, null=True, blank=True, related_name="activities"
    )
    skill = models.CharField(max_length=30)
    quantity = models.DecimalField(max_digits=12, decimal_places=3)
    unit = models.CharField(max_length=12)
    days_low = models.DecimalField(max_digits=8, decimal_places=3)
    days = models.DecimalField(max_digits=8, decimal_places=3)
    days_high = models.DecimalField(max_digits=8, decimal_places=3)
    people = models.PositiveSmallIntegerField()
    least = models.PositiveSmallIntegerField(default=1)
    material = models.CharField(max_length=12)
    detail = models.JSONField(default=dict)
    part_of = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="parts"
    )
    """The activity this was split from; it takes over its rules and a share of its quantity."""
    share = models.PositiveSmallIntegerField(
        default=100, validators=[MinValueValidator(1), MaxValueValidator(100)]
    )
    """Percent of what the library reckons; less than all where it was split."""
    extra = models.CharField(max_length=5, choices=Extra.choices, blank=True)
    own_days = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    """Crew days of an extra part where somebody said how many; else its share of the whole."""
    retired = models.BooleanField(default=False)
    done_share = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(100)])
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    lent = models.ForeignKey(
        "crews.Crew", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    """A second crew that helps with it, lent by hand."""
    done_crew = models.ForeignKey(
        "crews.Crew", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    not_before = models.DateField(null=True, blank=True)
    not_after = models.DateField(null=True, blank=True)
    only_crew = models.ForeignKey(
        "crews.Crew", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    """The one crew that may do it, fixed by hand."""
    hired = models.BooleanField(default=False)
    """Somebody hired does it, said by hand: no crew of the house."""
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        verbose_name_plural = "activities"
        ordering = ("order", "pk")
        constraints = [
            models.UniqueConstraint(fields=["job", "key"], name="activity_key_once_per_job"),
            models.CheckConstraint(
                condition=Q(finished_at__isnull=True)
                | Q(started_at__isnull=False, finished_at__gt=F("started_at")),
                name="activity_finishes_after_it_starts",
            ),
            models.CheckConstraint(
                condition=Q(not_after__isnull=True)
                | Q(not_before__isnull=True)
                | Q(not_after__gte=F("not_before")),
                name="activity_pins_in_order",
            ),
            models.CheckConstraint(
                condition=Q(share__gte=1, share__lte=100), name="activity_share_is_a_percentage"
            ),
        ]
        indexes = [models.Index(fields=["job", "retired"])]

    def __str__(self) -> str:
        """Return its name."""
        return self.name

    @property
    def by_others(self) -> bool:
        """Whether people who are not of the house do it: by the library, by hand, or by what was logged."""
        begun = self.started_at is not None and self.done_crew_id is None
        return self.hired or begun or bool(self.detail.get("outside"))


class Link(Stamped):
    """Two activities tied together; by a rule of the library, or by hand (rule empty)."""

    class Relation(models.TextChoices):
        """Which event binds which."""

        FINISH_START = "finish-to-start"
        START_START = "start-to-start"
        FINISH_FINISH = "finish-to-finish"
        START_FINISH = "start-to-finish"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="links")
    before = models.ForeignKey(Activity, on_delete=models.CASCADE, related_name="links_out")
    after = models.ForeignKey(Activity, on_delete=models.CASCADE, related_name="links_in")
    relation = models.CharField(
        max_length=20, choices=Relation.choices, default=Relation.FINISH_START
    )
    lag = models.IntegerField(default=0)
    clock = models.CharField(max_length=10, default="elapsed")
    at_most = models.PositiveIntegerField(null=True, blank=True)
    wait = models.CharField(max_length=30, blank=True)
    rule = models.CharField(max_length=80, blank=True)
    why = models.JSONField(default=list)
    """Sentence as [key, values]."""
    lifted = models.BooleanField(default=False)
    """A rule that somebody says does not hold here: shown with his reason, not planned by."""
    reason = models.CharField(max_length=200, blank=True)
    by = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=["before", "after", "relation"], name="same_link_only_once"
            ),
            models.CheckConstraint(condition=~Q(before=F("after")), name="link_to_another"),
            models.CheckConstraint(
                condition=Q(lifted=False) | ~Q(reason=""), name="lifted_for_a_reason"
            ),
        ]

    def __str__(self) -> str:
        """Return the link in words."""
        return f"{self.before} {self.relation} {self.after}"


class Override(Revised):
    """A contractor's own figure in place of the library's, for the company or for one job."""

    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="overrides"
    )
    path = models.CharField(max_length=120)
    """What is changed, in words: ``template pour-slab rate``."""
    value = models.JSONField()
    why = models.CharField(max_length=200, blank=True)
    by = models.CharField(max_length=120)

    class Meta:
        ordering = ("path",)
        constraints = [
            models.UniqueConstraint(fields=["job", "path"], name="one_override_per_job_and_path"),
            models.UniqueConstraint(
                fields=["path"], condition=Q(job=None), name="one_override_of_the_company_per_path"
            ),
        ]

    def __str__(self) -> str:
        """Return path and value."""
        return f"{self.path}: {self.value}"


class Delivery(Revised):
    """Material that must be on site before some work, with its order-by date."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="deliveries")
    name = models.CharField(max_length=120)
    activity = models.ForeignKey(
        Activity, on_delete=models.CASCADE, null=True, blank=True, related_name="deliveries"
    )
    earliest = models.DateField(null=True, blank=True)
    """The supplier cannot bring it before; the work waits for it."""
    lead_business_days = models.PositiveSmallIntegerField(
        default=5, validators=[MinValueValidator(0)]
    )
    arrived_on = models.DateField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "deliveries"
        ordering = ("pk",)

    def __str__(self) -> str:
        """Return what is delivered."""
        return self.name


class Decision(Revised):
    """Something the owner must choose; late means the work waits."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="decisions")
    name = models.CharField(max_length=120)
    activity = models.ForeignKey(
        Activity, on_delete=models.CASCADE, null=True, blank=True, related_name="decisions"
    )
    expected_on = models.DateField(null=True, blank=True)
    decided_on = models.DateField(null=True, blank=True)
    answer = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        """Return what is decided."""
        return self.name


class Notice(Revised):
    """A further call for utility marks, with its legal lead time; the first is a work of its own."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="notices")
    ask_on = models.DateField()
    good_from = models.DateTimeField()
    expires_on = models.DateField(null=True, blank=True)
    sent_on = models.DateField(null=True, blank=True)
    reference = models.CharField(max_length=60, blank=True)
    """Number of the ticket, as the notice centre gave it."""
    needed = models.BooleanField(default=True, editable=False)
    """Whether the published plan needs it; one that it needs no more keeps its page and may be needed again."""

    class Meta:
        ordering = ("ask_on", "pk")

    def __str__(self) -> str:
        """Return the day to call by."""
        return f"utility marks, call by {self.ask_on:%d %b %Y}"
