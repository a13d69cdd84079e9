"""The jobs application: yards, takeoffs, activities, plans."""

from __future__ import annotations

from django.apps import AppConfig

from jobs.forms.wrong import word_errors


class JobsConfig(AppConfig):
    """Django's handle on the package."""

    name = "jobs"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Say in the house's words, in every form, what was typed wrongly."""
        word_errors()
