"""Working weeks, time off and down days."""

from __future__ import annotations

from datetime import time

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q

from .base import Revised

USUAL_WEEK = (15, 15, 15, 15, 15, 0, 0)
"""Monday to Friday, all four day slots; one bit per slot, the first slot of the day lowest."""

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
HALVES = {15: "", 3: " morning", 12: " afternoon"}


def say_week(masks: tuple[int, ...]) -> str:
    """Return a working week in words: ``Mon - Fri``, ``Mon, Tue, Fri morning``."""
    if masks == USUAL_WEEK:
        return "Mon – Fri"
    days = [
        f"{day}{HALVES.get(mask, ' part of the day')}"
        for day, mask in zip(DAYS, masks, strict=True)
        if mask
    ]
    return ", ".join(days) or "never"


class WorkingWeek(Revised):
    """Which day slots of each weekday are worked: a four-bit mask a day."""

    name = models.CharField(max_length=60, unique=True)
    monday = models.PositiveSmallIntegerField(default=15, validators=[MaxValueValidator(15)])
    tuesday = models.PositiveSmallIntegerField(default=15, validators=[MaxValueValidator(15)])
    wednesday = models.PositiveSmallIntegerField(default=15, validators=[MaxValueValidator(15)])
    thursday = models.PositiveSmallIntegerField(default=15, validators=[MaxValueValidator(15)])
    friday = models.PositiveSmallIntegerField(default=15, validators=[MaxValueValidator(15)])
    saturday = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(15)])
    sunday = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(15)])

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        """Return its name."""
        return self.name

    @property
    def masks(self) -> tuple[int, ...]:
        """Slot masks, Monday first."""
        return (
            self.monday,
            self.tuesday,
            self.wednesday,
            self.thursday,
            self.friday,
            self.saturday,
            self.sunday,
        )


class TimeOff(Revised):
    """Days on which a crew, a member, a machine, or (with none of them) everybody is off."""

    crew = models.ForeignKey(
        "crews.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="time_off"
    )
    member = models.ForeignKey(
        "crews.CrewMember", on_delete=models.CASCADE, null=True, blank=True, related_name="time_off"
    )
    machine = models.ForeignKey(
        "crews.Machine", on_delete=models.CASCADE, null=True, blank=True, related_name="time_off"
    )
    first = models.DateField()
    last = models.DateField()
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("first", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(last__gte=F("first")), name="time_off_ends_after_it_begins"
            ),
            models.CheckConstraint(
                condition=Q(crew__isnull=True, member__isnull=True)
                | Q(crew__isnull=True, machine__isnull=True)
                | Q(member__isnull=True, machine__isnull=True),
                name="time_off_has_one_subject",
            ),
        ]
        indexes = [models.Index(fields=["last", "first"])]

    def __str__(self) -> str:
        """Return dates and reason."""
        return f"{self.first:%d %b} - {self.last:%d %b %Y} {self.why}".strip()


EVERY_DAY = 127
"""All weekdays; one bit a day, Monday lowest."""


class DayHours(Revised):
    """When the day of everybody, or of one crew, begins: all the year, or each year between two days.

    ``lunch`` is in minutes, half way through the day; a crew has its own beginning but everybody's lunch. Of
    several rows that hold for a day the narrowest counts: a crew's before everybody's, a season's
    before the year's, then the newest.
    """

    crew = models.ForeignKey(
        "crews.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="day_hours"
    )
    first_month = models.PositiveSmallIntegerField(null=True, blank=True)
    first_day = models.PositiveSmallIntegerField(null=True, blank=True)
    last_month = models.PositiveSmallIntegerField(null=True, blank=True)
    last_day = models.PositiveSmallIntegerField(null=True, blank=True)
    weekdays = models.PositiveSmallIntegerField(
        default=EVERY_DAY, validators=[MaxValueValidator(EVERY_DAY)]
    )
    starts = models.TimeField(default=time(7, 0))
    lunch = models.PositiveSmallIntegerField(default=30, validators=[MaxValueValidator(120)])

    class Meta:
        verbose_name_plural = "day hours"
        ordering = ("pk",)
        constraints = [
            models.CheckConstraint(
                condition=Q(first_month=None, first_day=None, last_month=None, last_day=None)
                | Q(first_month__range=(1, 12), first_day__range=(1, 31))
                & Q(last_month__range=(1, 12), last_day__range=(1, 31)),
                name="season_has_two_days_of_the_year",
            ),
            models.CheckConstraint(
                condition=Q(starts__gte=time(4, 0), starts__lte=time(11, 0)),
                name="day_begins_in_the_morning",
            ),
        ]

    def __str__(self) -> str:
        """Return whose and when."""
        return f"{self.crew or 'everybody'} from {self.starts:%H:%M}"
