"""What the worker does between plans: let go who leaves, look at the sky, say the odds, keep standing events right, back up."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from django.conf import settings

from crews.services.leaving import let_go
from crews.services.nothing import fill_feeds
from crews.services.today import wall_now
from jobs import clock, models
from jobs.scheduling.errors import SchedulingError
from jobs.services.day.photos import sweep
from jobs.services.mail.evening import is_due, may_send, send_evening
from jobs.services.sky.outlook import say_daily_outlook
from jobs.services.sky.refresh import refresh
from jobs.services.world.read_world import open_jobs

from .backup import BackupError, keep_nightly

if TYPE_CHECKING:
    from datetime import datetime

log = logging.getLogger(__name__)


def do_chores(now: datetime) -> None:
    """Do everything that is due; what fails is written down and tried again next time."""
    for chore in (_leaving, _forecasts, _odds, fill_feeds, _evening, _nightly_backup):
        try:
            chore(now)
        except (SchedulingError, BackupError, OSError, ValueError):
            log.exception("a chore of the worker failed: %s", chore.__name__)


def _leaving(now: datetime) -> None:
    """Take who is gone by today out of lists; links and phones end."""
    let_go(now.date(), wall_now())


def _forecasts(now: datetime) -> None:
    """Look at the sky over each open yard with a position, where a look is due; never on a pretended day."""
    if clock.pretends(models.Company.objects.first()) and not settings.FORECAST_URL:
        return
    for job in open_jobs():
        if job.latitude is not None and job.longitude is not None:
            refresh(job, now)


def _odds(now: datetime) -> None:
    """Say the odds of the published plan, once a day."""
    if models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).exists():
        say_daily_outlook(now)


def _nightly_backup(now: datetime) -> None:
    """Sweep out lost photos and keep a backup, once a night; a demo needs none."""
    if not clock.pretends(models.Company.objects.first()) and keep_nightly(now) is not None:
        sweep(now)


def _evening(now: datetime) -> None:
    """Send the evening summary once its hour has come; never on a pretended day."""
    company = models.Company.objects.first()
    if company is None or clock.pretends(company) or not may_send():
        return
    if is_due(company, now):
        send_evening(now)
