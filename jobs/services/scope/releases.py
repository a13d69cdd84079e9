"""An engineer's releases of a pour: recorded, taken back, and what they shorten in a plan."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import record
from jobs.services.telling.speech import say_day
from jobs.trade.concrete import POURED
from jobs.trade.errors import TradeError
from jobs.trade.releases import READY, SHORTENS, Allows, shortened

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from datetime import date

    from jobs.services.history import Who

HOURS_A_DAY = 24


class ReleaseTold(NamedTuple):
    """A release as somebody enters it from the engineer's letter."""

    allows: str
    hours: int
    engineer: str
    licence: str
    signed_on: date
    note: str = ""


def releases_of(row: models.Activity) -> list[models.Release]:
    """Return the releases of a pour, the earliest first."""
    return list(models.Release.objects.filter(activity=row))


def releases_by_pour(activities: Collection[int]) -> dict[int, list[models.Release]]:
    """Return the releases of some activities, by pour, the earliest first; one query."""
    rows: dict[int, list[models.Release]] = defaultdict(list)
    for row in models.Release.objects.filter(activity__in=activities):
        rows[row.activity_id].append(row)
    return rows


def released_waits(activities: Collection[int]) -> dict[int, dict[str, int]]:
    """Return, by pour, the minutes that its released waits last after its end; one query."""
    return {
        pk: shortened((Allows(row.allows), row.hours * 60) for row in rows)
        for pk, rows in releases_by_pour(activities).items()
    }


def released_dates(rows: Iterable[models.Release]) -> dict[str, models.Release]:
    """Return the release that counts for each date of a cure, by the date's key."""
    found: dict[str, models.Release] = {}
    for row in sorted(rows, key=lambda row: -row.hours):
        found |= dict.fromkeys(READY[Allows(row.allows)], row)
    return found


def release_for(rows: Iterable[models.Release], wait: str) -> models.Release | None:
    """Return the release by which a wait is shortened, the earliest; None if it is not."""
    named = [row for row in rows if wait in SHORTENS[Allows(row.allows)]]
    return min(named, key=lambda row: row.hours, default=None)


def released_by(row: models.Release) -> str:
    """Return ``released by J. Moss, PE 20417, Fri 3 Jul``."""
    return f"released by {row.engineer}, {row.licence}, {say_day(row.signed_on)}"


def seen(rows: Sequence[models.Release]) -> str:
    """Return what an editor saw, so that he can be told if it is not so any more."""
    return " ".join(f"{row.pk}.{row.revision}" for row in rows)


def may_be_released(row: models.Activity) -> bool:
    """Return True for a pour of concrete."""
    return row.template in POURED


@transaction.atomic
def keep_release(row: models.Activity, told: ReleaseTold, who: Who, *, at: str) -> models.Release:
    """Record an engineer's release; one for the same thing is replaced, and the record keeps both.

    Parameters
    ----------
    at
        What the editor saw, by ``seen``.

    Raises
    ------
    ChangedMeanwhileError
        If the releases are not those the editor saw.
    TradeError
        If the work is no pour, or nobody is named.
    """
    if not may_be_released(row):
        raise TradeError(
            f"{row.name} is no pour of concrete", remedy="wait as long as the product data say"
        )
    if not (told.engineer and told.licence):
        raise TradeError("nobody is named", remedy="give the engineer's name and license")
    rows = list(models.Release.objects.select_for_update().filter(activity=row))
    mine = next((one for one in rows if one.allows == told.allows), None)
    if mine is not None and _facts(mine) == told:
        return mine
    if seen(rows) != at:
        raise ChangedMeanwhileError
    before = words(mine) if mine else None
    made = mine or models.Release(activity=row, allows=told.allows)
    for name, value in told._asdict().items():
        setattr(made, name, value)
    made.by = who.by
    made.save()
    record(
        "engineer's release", by=who.by, at=who.now, job=row.job, before=before, after=words(made)
    )
    return made


@transaction.atomic
def take_back(row: models.Release, who: Who) -> None:
    """Take a release back: the published least holds again."""
    job, before = row.activity.job, words(row)
    row.delete()
    record("engineer's release taken back", by=who.by, at=who.now, job=job, before=before)


def words(row: models.Release) -> dict[str, str]:
    """Return a release as the record keeps it."""
    facts = {
        "what": row.activity.name,
        "allows": f"{row.get_allows_display()}, {say_hours(row.hours)} after the pour",
        "engineer": f"{row.engineer}, {row.licence}, signed {row.signed_on.isoformat()}",
        "note": row.note,
    }
    return {key: value for key, value in facts.items() if value}


def say_hours(hours: int) -> str:
    """Return ``18 hours`` or ``4 days``."""
    amount, unit = (hours // HOURS_A_DAY, "day") if hours % HOURS_A_DAY == 0 else (hours, "hour")
    return f"{amount} {unit}{'' if amount == 1 else 's'}"


def _facts(row: models.Release) -> ReleaseTold:
    return ReleaseTold(*(getattr(row, name) for name in ReleaseTold._fields))


def fixed_waits(released: Mapping[str, Mapping[str, int]]) -> frozenset[tuple[str, str]]:
    """Return the works and waits whose length an engineer has set, for the futures."""
    return frozenset((uid, wait) for uid, waits in released.items() for wait in waits)
