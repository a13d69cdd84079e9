"""The jobs application: yards, takeoffs, activities, plans."""

from __future__ import annotations

from django.apps import AppConfig
from django.forms import Field

MISSING = "This is missing: fill it in or choose one."


class JobsConfig(AppConfig):
    """Django's handle on the package."""

    name = "jobs"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Say in the house's words, in every form, that a field was left empty; forms are made after this."""
        Field.default_error_messages["required"] = MISSING
