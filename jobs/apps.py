"""The jobs application: yards, takeoffs, activities, plans."""

from __future__ import annotations

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Django's handle on the package."""

    name = "jobs"
    default_auto_field = "django.db.models.BigAutoField"
