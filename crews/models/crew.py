"""Crews, the people in them, and what they can do."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models

from .base import Revised
from .week import WorkingWeek

if TYPE_CHECKING:
    from datetime import date

LANGUAGES = (("en", "English"), ("es", "Spanish"))


class Crew(Revised):
    """People who move together, with skills; does one thing at a time."""

    name = models.CharField(max_length=60, unique=True)
    slug = models.SlugField(max_length=60, unique=True)
    lead = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="leads",
    )
    week = models.ForeignKey(WorkingWeek, on_delete=models.PROTECT, related_name="crews")
    language = models.CharField(max_length=2, choices=LANGUAGES, default="en")
    """What messages to it are written in."""
    active = models.BooleanField(default=True, editable=False)
    """Whether lists and forms offer it: not once the day has come from which it is gone."""
    gone_from = models.DateField(null=True, blank=True, editable=False)
    """First day on which it is no longer with us: plans go by this."""
    saturdays = models.BooleanField(default=False)
    """Saturdays that are free by its week may be asked of it where a promise would be missed."""
    saturday_price = models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)]
    )

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class CrewMember(Revised):
    """One person of a crew, who need not have a sign-in."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="members")
    name = models.CharField(max_length=120)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="memberships",
    )

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=["crew", "name"], name="one_name_once_per_crew")
        ]

    def __str__(self) -> str:
        """Return the name."""
        return self.name


class CrewSkill(Revised):
    """Something a crew can do, and with how many of its people (all of them if empty), or with whom."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="skills")
    skill = models.CharField(max_length=30)
    people = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1)]
    )
    names = models.JSONField(default=list, blank=True)
    """Who they are, where that matters (a licence, the one who runs the machine); else empty."""

    class Meta:
        ordering = ("skill",)
        constraints = [models.UniqueConstraint(fields=["crew", "skill"], name="one_skill_per_crew")]

    def __str__(self) -> str:
        """Return the skill's word."""
        return self.skill


class Loan(Revised):
    """Somebody of one crew who works with another for some days, both included."""

    member = models.ForeignKey(CrewMember, on_delete=models.CASCADE, related_name="loans")
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="lent")
    first = models.DateField()
    last = models.DateField()

    class Meta:
        ordering = ("first", "pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last__gte=models.F("first")), name="loan_ends_after_it_begins"
            )
        ]
        indexes = [models.Index(fields=["last", "first"])]

    def __str__(self) -> str:
        """Return who goes where."""
        return f"{self.member} to {self.crew}"

    @property
    def until(self) -> date:
        """The last day it holds: it ends with either crew. Before ``first`` if it never begins."""
        ends = [crew.gone_from for crew in (self.crew, self.member.crew) if crew.gone_from]
        return min([self.last, *(day - timedelta(days=1) for day in ends)])
