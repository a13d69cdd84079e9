"""Looks the house over, and says what is well and what to do about the rest."""

from __future__ import annotations

import shutil
import stat
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import urlsplit

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from jobs import models
from jobs.services.numbers.library import current_library
from jobs.services.planning import solving
from jobs.services.world.read_world import open_jobs
from jobs.services.world.revision import world_revision
from jobs.trade.errors import LibraryError

from .backup import nightly

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

LEAST_FREE = 500_000_000
"""Bytes free on the disk below which a backup or a photo may fail."""
OLD_BACKUP = timedelta(days=3)
OLD_SKY = timedelta(hours=12)
OTHERS = stat.S_IRWXG | stat.S_IRWXO
LOOPBACK = ("localhost", "127.0.0.1", "::1", "")


class Health(StrEnum):
    """How a thing is."""

    WELL = "well"
    LOOK = "look"
    BROKEN = "broken"


class Finding(NamedTuple):
    """One thing looked at: how it is, and a sentence with what to do."""

    health: Health
    says: str


def look_over(now: datetime) -> list[Finding]:
    """Look at database, files, library, worker, sky, backups, mail and addresses.

    What needs the database is left out where it cannot be reached.
    """
    found = [*_database()]
    if found[-1].health is not Health.BROKEN:
        for look in IN_THE_DATABASE:
            found += look(now)
    for look in OUTSIDE:
        found += look(now)
    return found


def _database() -> Iterator[Finding]:
    try:
        executor = MigrationExecutor(connection)
        waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError as error:
        yield Finding(Health.BROKEN, f"The database cannot be reached: {error}".strip())
        return
    if waiting:
        yield Finding(
            Health.BROKEN,
            f"{len(waiting)} changes of the tables wait: run python manage.py migrate",
        )
        return
    yield Finding(Health.WELL, f"The database answers ({connection.display_name})")


def _library(now: datetime) -> Iterator[Finding]:
    del now
    try:
        version = current_library().version
    except LibraryError as error:
        yield Finding(Health.BROKEN, f"The trade library cannot be read: {error}")
        return
    if models.LibraryVersion.objects.filter(version=version).exists():
        yield Finding(Health.WELL, f"The trade library is loaded ({version})")
    else:
        yield Finding(
            Health.LOOK,
            f"The library {version} is not recorded: run python manage.py load_library",
        )


def _plan(now: datetime) -> Iterator[Finding]:
    del now
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if plan is None:
        yield Finding(Health.LOOK, "No plan is published: nothing is on any phone yet")
    elif plan.world != world_revision():
        yield Finding(
            Health.LOOK,
            f"Something was changed since plan {plan.number} was published: plan anew",
        )
    else:
        yield Finding(Health.WELL, f"Plan {plan.number} is on the phones and fits what is known")


def _worker(now: datetime) -> Iterator[Finding]:
    del now
    if solving.anybody_there():
        yield Finding(Health.WELL, "A worker is at work")
    else:
        yield Finding(
            Health.LOOK,
            "No worker is at work: better plans, forecasts and nightly backups wait for python manage.py worker",
        )


def _sky(now: datetime) -> Iterator[Finding]:
    jobs = [job for job in open_jobs() if job.latitude is not None]
    if not jobs:
        return
    newest = models.ForecastReading.objects.exclude(good_at=None).order_by("-good_at").first()
    if newest is None or newest.good_at is None:
        yield Finding(Health.LOOK, "No forecast was read yet: plans go by the climate alone")
    elif now - newest.good_at > OLD_SKY:
        yield Finding(
            Health.LOOK, f"The last forecast was read on {newest.good_at:%a %d %b %H:%M} UTC"
        )
    else:
        yield Finding(
            Health.WELL, f"The last forecast was read on {newest.good_at:%a %d %b %H:%M} UTC"
        )


def _folder(now: datetime) -> Iterator[Finding]:
    del now
    folder = settings.DATA
    if stat.S_IMODE(folder.stat().st_mode) & OTHERS:
        yield Finding(Health.LOOK, f"Others on this machine may open {folder}: chmod 700 {folder}")
    free = shutil.disk_usage(folder).free
    health = Health.LOOK if free < LEAST_FREE else Health.WELL
    yield Finding(health, f"{free / 1e9:.1f} GB are free where the data lies ({folder})")


def _backups(now: datetime) -> Iterator[Finding]:
    kept = nightly()
    limit = f"yardwright-{now - OLD_BACKUP:%Y-%m-%d}.zip"
    if not kept or kept[-1].name < limit:
        yield Finding(
            Health.LOOK,
            "There is no backup of the last three nights: let the worker run, or python manage.py backup FILE",
        )
    else:
        yield Finding(Health.WELL, f"The last nightly backup is {kept[-1].name}")


def _mail(now: datetime) -> Iterator[Finding]:
    del now
    if settings.EMAIL_BACKEND.endswith(("console.EmailBackend", "dummy.EmailBackend")):
        yield Finding(Health.LOOK, "No mail is set up (EMAIL_URL): messages are there to be copied")
    else:
        yield Finding(Health.WELL, "Mail is set up")


def _address(now: datetime) -> Iterator[Finding]:
    del now
    host = urlsplit(settings.BASE_URL).hostname or ""
    if host in LOOPBACK:
        yield Finding(
            Health.LOOK,
            "BASE_URL names no address that a phone could reach: calendars work on this machine only",
        )
    else:
        yield Finding(
            Health.WELL, f"Phones and homeowners are given addresses at {settings.BASE_URL}"
        )


IN_THE_DATABASE: tuple[Callable[[datetime], Iterator[Finding]], ...] = (
    _library,
    _plan,
    _worker,
    _sky,
)
OUTSIDE: tuple[Callable[[datetime], Iterator[Finding]], ...] = (_folder, _backups, _mail, _address)
