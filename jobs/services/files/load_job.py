"""Stores a job file as a job: zones, passages, what is to be built, and everything that hangs on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db import transaction
from django.utils.text import slugify

from jobs import models
from jobs.services.history import record
from jobs.services.numbers.library import current_library
from jobs.services.scope.new_job import WHOLE_YARD
from jobs.services.scope.takeoff import expand_job
from jobs.services.scope.yard import free_of
from jobs.trade.errors import TradeError

from .job_file import read_job_file
from .load_activities import load_activities
from .reading import Reading

if TYPE_CHECKING:
    from datetime import datetime

BUILD_KEYS = frozenset({"what", "where", "name", "id"})
"""Keys of a thing built that are not answers."""
MOST_BUILT = 300


def load_job(
    text: str, *, by: str, now: datetime, demo: bool = False, replace: bool = True
) -> models.Job:
    """Store the job a file describes and expand it.

    Parameters
    ----------
    replace
        A job of the same slug that was never published is thrown away; else it is a fault.

    Raises
    ------
    JobFileError
        With every fault, by line and key; nothing is stored then.
    """
    return _Loader(read_job_file(text), demo, by=by, now=now, replace=replace).load()


@dataclass(slots=True, kw_only=True)
class _Loader(Reading):
    """Stores one file in one transaction, gathering faults on the way."""

    by: str
    now: datetime
    replace: bool
    zones: dict[str, models.Zone] = field(default_factory=dict)

    def load(self) -> models.Job:
        with transaction.atomic():
            job = self._job()
            self._zones(job)
            self._passages(job)
            self._items(job)
            self._no_work(job)
            self.stop_on_faults()
            try:
                expand_job(job, now=self.now)
            except TradeError as error:
                self.fault(0, error.where or "build", error.reason, error.remedy)
            self.stop_on_faults()
            self.faults += load_activities(job, self.file, by=self.by, now=self.now)
            self.stop_on_faults()
            record("job loaded", by=self.by, at=self.now, job=job, after=job.name)
        return job

    def _job(self) -> models.Job:
        told = self.file.job
        slug = slugify(told.get("slug") or told["name"])[:60].strip("-") or "job"
        zone = told.get("time_zone", "America/New_York")
        self._check(zone)
        old = models.Job.objects.filter(slug=slug).first()
        if old is not None:
            self._replace(old)
        self.stop_on_faults()
        return models.Job.objects.create(
            uid=self.id_of(models.Job, 0, "id", told.get("id")),
            slug=slug,
            name=told["name"],
            address=told["address"],
            us_state=told["state"],
            zone=zone,
            latitude=_position(told.get("latitude")),
            longitude=_position(told.get("longitude")),
            soil=told.get("soil", "loam"),
            state=told.get("stage", models.Job.State.SOLD),
            paused_from=told.get("paused_from"),
            paused_until=told.get("paused_until"),
            starts_on=told["start"],
            promised_on=told.get("promise"),
            weight=told.get("weight", 1),
            access_notes=told.get("access", ""),
            options=told.get("yard", {}),
            demo=self.demo,
        )

    def _check(self, zone: str) -> None:
        told = self.file.job
        try:
            ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError):
            self.fault(0, "time_zone", f"{zone!r} is unknown", "write one like America/New_York")
        stages = list(models.Job.State.values)
        if told.get("stage", "sold") not in stages:
            self.fault(
                0, "stage", f"{told['stage']!r} is unknown", f"use one of {', '.join(stages)}"
            )
        if told.get("promise") and told["promise"] < told["start"]:
            self.fault(0, "promise", "lies before the start", "promise a day on or after the start")
        begun = bool(self.file.rows("done")) or told.get("stage") in ("active", "punch")
        if told["start"] < self.now.date() and not begun:
            self.fault(
                0,
                "start",
                f"{told['start']:%d %b %Y} is in the past and nothing is done yet",
                "give a day from today on, or say what is done in [[done]] tables",
            )

    def _replace(self, old: models.Job) -> None:
        """A job already in the works is never thrown away by loading its file again."""
        if not self.replace:
            self.fault(
                0,
                "name",
                f"there is a job {old.name} already",
                "give the file another name and slug, or say that it replaces that job",
            )
            return
        published = models.PlanRow.objects.filter(
            activity__job=old, plan__state=models.Plan.State.PUBLISHED
        ).exists()
        if published and not self.demo:
            self.fault(
                0,
                "slug",
                f"{old.name} is already planned and published",
                "give the file another slug, or change the job on its page",
            )
            return
        if old.day_log.exists() or old.change_orders.exists():
            self.fault(
                0,
                "slug",
                f"{old.name} has a day's log or change orders, which no file brings back",
                "give the file another slug, or change the job on its page",
            )
            return
        models.PlanRow.objects.filter(activity__job=old).delete()
        models.Activity.objects.filter(job=old).delete()
        models.ScopeItem.objects.filter(job=old).delete()
        models.HistoryEntry.objects.filter(job=old).update(job=None)
        old.delete()

    def _zones(self, job: models.Job) -> None:
        uid = self.id_of(models.Zone, 0, "whole_yard_id", self.file.job.get("whole_yard_id"))
        whole = models.Zone.objects.create(
            job=job, uid=uid, slug="whole-yard", name=WHOLE_YARD, whole=True
        )
        self.zones[WHOLE_YARD.casefold()], taken = whole, {"whole-yard"}
        for order, (line, row) in enumerate(self.file.rows("zone"), 1):
            area = self.amount(line, "zone.area", row.get("area"), "ft2")
            self.zones[row["name"].casefold()] = models.Zone.objects.create(
                job=job,
                uid=self.id_of(models.Zone, line, "zone.id", row.get("id")),
                slug=free_of(row["name"], taken, "zone"),
                name=row["name"],
                area_ft2=area,
                order=order,
            )

    def _passages(self, job: models.Job) -> None:
        taken: set[str] = set()
        for line, row in self.file.rows("passage"):
            start = row["from"].casefold()
            models.Passage.objects.create(
                job=job,
                uid=self.id_of(models.Passage, line, "passage.id", row.get("id")),
                slug=free_of(row["name"], taken, "way"),
                name=row["name"],
                start=None if start == "street" else self.zones[start],
                end=self.zones[row["to"].casefold()],
                width=self.length(line, "passage.width", row.get("width")),
                headroom=self.length(line, "passage.headroom", row.get("headroom")),
                load_lb=self.whole(line, "passage.load", row.get("load"), "lb"),
                floor=row.get("floor", ""),
                slope_percent=self.whole(line, "passage.slope", row.get("slope"), "percent") or 0,
                length_ft=self.whole(line, "passage.length", row.get("length"), "ft") or 0,
            )

    def _items(self, job: models.Job) -> None:
        known = current_library().assemblies
        if len(self.file.rows("build")) > MOST_BUILT:
            self.fault(0, "build", "is told too often", f"build {MOST_BUILT} things at the most")
            return
        for order, (line, row) in enumerate(self.file.rows("build"), 1):
            if row["what"] not in known:
                self.fault(
                    line,
                    "build.what",
                    f"{row['what']!r} is not in the library",
                    f"use one of {', '.join(sorted(known))}",
                )
                continue
            answers = {k: str(v) for k, v in row.items() if k not in BUILD_KEYS}
            models.ScopeItem.objects.create(
                job=job,
                uid=self.id_of(models.ScopeItem, line, "build.id", row.get("id")),
                assembly=row["what"],
                zone=self.zones[row["where"].casefold()],
                name=row.get("name", ""),
                answers=answers,
                order=order,
            )

    def _no_work(self, job: models.Job) -> None:
        for _, row in self.file.rows("no_work"):
            models.NoWorkDay.objects.create(
                job=job,
                first=row["from"],
                last=row["to"] if "to" in row else row["from"],
                why=row.get("why", ""),
            )


def _position(degrees: float | None) -> Decimal | None:
    return None if degrees is None else Decimal(str(round(degrees, 5)))
