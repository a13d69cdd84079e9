"""Bare admin for support."""

from __future__ import annotations

from django.contrib import admin

from crews import models

for _model in (
    models.CalendarEvent,
    models.Crew,
    models.CrewMember,
    models.CrewSkill,
    models.FeedLink,
    models.Machine,
    models.Person,
    models.TimeOff,
    models.WorkingWeek,
):
    admin.site.register(_model)
