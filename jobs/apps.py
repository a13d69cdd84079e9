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
        """Say in the house's words, in every form, what was typed wrongly; tell the days of each request on its own day.

        What a job's works are called reaches phones as soon as it is expanded: ``scope`` knows no calendar.
        """
        from jobs.clock import forget  # noqa: PLC0415 (tables are there only now)
        from jobs.services.calendar.publish import call_again  # noqa: PLC0415 (the same)
        from jobs.services.scope.takeoff import expanded  # noqa: PLC0415 (the same)

        word_errors()
        request_started.connect(forget)
        expanded.connect(call_again)
