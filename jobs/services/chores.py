"""What the worker does between plans: look at the sky, say the odds, keep standing events right."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from django.conf import settings

from crews.services.nothing import fill_feeds
from jobs import clock, models
from jobs.scheduling.errors import SchedulingError

from .forecast import refresh
from .outlook import say_first_outlook
from .world import open_jobs

if TYPE_CHECKING:
    from datetime import datetime

log = logging.getLogger(__name__)


def do_chores(now: datetime) -> None:
    """Do everything that is due; what fails is written down and tried again next time."""
    for chore in (_forecasts, _odds, fill_feeds):
        try:
            chore(now)
        except (SchedulingError, OSError, ValueError):
            log.exception("a chore of the worker failed: %s", chore.__name__)


def _forecasts(now: datetime) -> None:
    """Look at the sky over each open yard with a position, where a look is due; never on a pretended day."""
    if clock.pretends(models.Company.objects.first()) and not settings.FORECAST_URL:
        return
    for job in open_jobs():
        if job.latitude is not None and job.longitude is not None:
            refresh(job, now)


def _odds(now: datetime) -> None:
    """Say the odds of a plan that was published since."""
    if models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).exists():
        say_first_outlook(now)
