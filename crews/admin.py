"""Bare admin for support."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import admin

from crews import models

if TYPE_CHECKING:
    from django.http import HttpRequest

    EventAdmin = admin.ModelAdmin[models.CalendarEvent]
else:
    EventAdmin = admin.ModelAdmin

for _model in (
    models.Crew,
    models.CrewMember,
    models.CrewSkill,
    models.DayHours,
    models.FeedLink,
    models.Loan,
    models.Machine,
    models.Person,
    models.PhoneSetup,
    models.TimeOff,
    models.WorkingWeek,
):
    admin.site.register(_model)


@admin.register(models.CalendarEvent)
class CalendarEventAdmin(EventAdmin):
    """Look only: a change that raises no sequence would never reach a phone."""

    list_display = ("subject", "title", "start", "status", "sequence")

    def has_change_permission(
        self,
        request: HttpRequest,  # noqa: ARG002 (Django passes it)
        obj: models.CalendarEvent | None = None,  # noqa: ARG002 (Django passes it)
    ) -> bool:
        """Refuse everybody."""
        return False
