"""Change orders: what the owner wants otherwise than was sold, and what it does to the plan once signed."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from crews.models.base import Revised, Stamped

from .job import Job, new_uid
from .place import Zone
from .scope import Activity, ScopeItem


class ChangeOrder(Revised):
    """Something asked for after the job was sold. Only a signed one touches the plan.

    Once signed or declined it is not edited any more: a second thought is another change order.
    """

    class State(models.TextChoices):
        """Asked for, then signed or declined by the owner."""

        ASKED = "asked", "asked"
        SIGNED = "signed", "signed"
        DECLINED = "declined", "declined"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="change_orders")
    uid = models.CharField(max_length=32, unique=True, default=new_uid, editable=False)
    number = models.PositiveSmallIntegerField()
    """Counted within the job, as it stands on the paper."""
    title = models.CharField(max_length=120)
    scope = models.TextField(max_length=2000, blank=True)
    """What changes, in the words the owner signs."""
    amount = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    """Dollars added; negative where it takes work out; None where nothing was agreed."""
    state = models.CharField(max_length=8, choices=State.choices, default=State.ASKED)
    asked_on = models.DateField()
    signed_by = models.CharField(max_length=120, blank=True)
    """Who signed, or who declined."""
    signed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("job_id", "number")
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="change_order_once_per_job"),
            models.CheckConstraint(
                condition=Q(state="asked") | (~Q(signed_by="") & Q(signed_on__isnull=False)),
                name="change_order_answered_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        """Return number and title."""
        return f"{self.number}, {self.title}"


class ChangeLine(Stamped):
    """One thing a change order does to the plan: a work more, days more on a work, a work or an item out."""

    class Does(models.TextChoices):
        """What it does."""

        WORK = "work", "a work more"
        DAYS = "days", "more days for a work"
        WORK_OUT = "work-out", "a work of one's own left out"
        ITEM = "item", "an item of the takeoff more"
        ITEM_OUT = "item-out", "an item of the takeoff left out"

    order = models.ForeignKey(ChangeOrder, on_delete=models.CASCADE, related_name="lines")
    does = models.CharField(max_length=8, choices=Does.choices)
    activity = models.ForeignKey(
        Activity, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    """The work that takes longer or is left out; of a work more, the one it comes after."""
    item = models.ForeignKey(
        ScopeItem, on_delete=models.CASCADE, null=True, blank=True, related_name="change_lines"
    )
    name = models.CharField(max_length=105, blank=True)
    zone = models.ForeignKey(
        Zone, on_delete=models.RESTRICT, null=True, blank=True, related_name="change_lines"
    )
    skill = models.CharField(max_length=30, blank=True)
    days = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.25"))],
    )
    people = models.PositiveSmallIntegerField(null=True, blank=True)
    made = models.ForeignKey(
        Activity, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    """The work that came of it once it was signed."""

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        """Return what it does, and to what."""
        return f"{self.get_does_display()}: {self.name or self.activity or self.item}"
