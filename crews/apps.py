"""The crews application: people, crews, machines, published events and feeds."""

from __future__ import annotations

from django.apps import AppConfig


class CrewsConfig(AppConfig):
    """Django's handle on the package."""

    name = "crews"
    default_auto_field = "django.db.models.BigAutoField"
