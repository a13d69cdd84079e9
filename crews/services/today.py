"""Two clocks: the wall clock for secret links, and the day the plan looks from."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from django.conf import settings
from django.utils import timezone
from django.utils.module_loading import import_string

if TYPE_CHECKING:
    from datetime import datetime

WALL_CLOCK = "django.utils.timezone.now"


def wall_now() -> datetime:
    """Return the real instant: when links are made, read and turned off, whatever day a demo plays."""
    return timezone.now()


def plan_now() -> datetime:
    """Return the instant plans look from: what the setting CLOCK names, or the wall clock."""
    return cast("datetime", import_string(getattr(settings, "CLOCK", WALL_CLOCK))())
