"""The jobs application: yards, takeoffs, activities, plans."""

from __future__ import annotations

from django.apps import AppConfig
from django.core.signals import request_started

from jobs.forms.wrong import word_errors


class JobsConfig(AppConfig):
    """Django's handle on the package."""

    name = "jobs"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Say in the house's words, in every form, what was typed wrongly; tell the days of each request on its own day."""
        from jobs.clock import forget  # noqa: PLC0415 (tables are there only now)

        word_errors()
        request_started.connect(forget)
