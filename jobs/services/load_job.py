"""Stores a job file as a job: zones, passages, what is to be built, and everything that hangs on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import networkx as nx
from django.db import transaction
from django.utils.text import slugify

from crews.models import Crew
from jobs import models
from jobs.trade.errors import TradeError
from jobs.trade.units import parse_length, parse_quantity

from .history import record
from .job_file import Fault, JobFile, JobFileError, read_job_file
from .library import current_library
from .takeoff import expand_job

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

MINUTES = {"minutes": 1, "hours": 60, "days": 24 * 60}
WHOLE_YARD = "Whole yard"


def load_job(text: str, *, by: str, now: datetime, demo: bool = False) -> models.Job:
    """Store the job a file describes and expand it; a job of the same slug is replaced if unstarted.

    Raises
    ------
    JobFileError
        With every fault, by line and key; nothing is stored then.
    """
    return _Loader(read_job_file(text), by, now, demo).load()


@dataclass(slots=True)
class _Loader:
    """Stores one file in one transaction, gathering faults on the way."""

    file: JobFile
    by: str
    now: datetime
    demo: bool
    faults: list[Fault] = field(default_factory=list)
    zones: dict[str, models.Zone] = field(default_factory=dict)

    def load(self) -> models.Job:
        with transaction.atomic():
            job = self._job()
            self._zones(job)
            self._passages(job)
            self._items(job)
            self._no_work(job)
            self._stop_on_faults()
            try:
                expand_job(job, by=self.by, now=self.now)
            except TradeError as error:
                self._fault(0, error.where or "build", error.reason, error.remedy)
            self._stop_on_faults()
            self._supply(job)
            self._links(job)
            self._no_ring(job)
            self._done(job)
            self._stop_on_faults()
            record("job loaded", by=self.by, at=self.now, job=job, after=job.slug)
        return job

    # -- faults ------------------------------------------------------------------

    def _fault(self, line: int, key: str, reason: str, remedy: str) -> None:
        self.faults.append(Fault(line, key, reason, remedy))

    def _stop_on_faults(self) -> None:
        if self.faults:
            raise JobFileError(tuple(sorted(self.faults)))

    # -- the yard ----------------------------------------------------------------

    def _job(self) -> models.Job:
        told = self.file.job
        slug = slugify(told.get("slug") or told["name"])
        zone = told.get("time_zone", "America/New_York")
        self._check(zone)
        old = models.Job.objects.filter(slug=slug).first()
        if old is not None:
            self._replace(old)
        self._stop_on_faults()
        return models.Job.objects.create(
            slug=slug,
            name=told["name"],
            address=told["address"],
            us_state=told["state"],
            zone=zone,
            latitude=_position(told.get("latitude")),
            longitude=_position(told.get("longitude")),
            soil=told.get("soil", "loam"),
            state=told.get("stage", models.Job.State.SOLD),
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
            self._fault(0, "time_zone", f"{zone!r} is unknown", "write one like America/New_York")
        stages = list(models.Job.State.values)
        if told.get("stage", "sold") not in stages:
            self._fault(
                0, "stage", f"{told['stage']!r} is unknown", f"use one of {', '.join(stages)}"
            )
        if told.get("promise") and told["promise"] < told["start"]:
            self._fault(
                0, "promise", "lies before the start", "promise a day on or after the start"
            )
        begun = bool(self.file.rows("done")) or told.get("stage") in ("active", "punch")
        if told["start"] < self.now.date() and not begun:
            self._fault(
                0,
                "start",
                f"{told['start']:%d %b %Y} is in the past and nothing is done yet",
                "give a day from today on, or say what is done in [[done]] tables",
            )

    def _replace(self, old: models.Job) -> None:
        """A job already in the works is never thrown away by loading its file again."""
        published = models.PlanRow.objects.filter(
            activity__job=old, plan__state=models.Plan.State.PUBLISHED
        ).exists()
        if published and not self.demo:
            self._fault(
                0,
                "slug",
                f"{old.name} is already planned and published",
                "give the file another slug, or change the job on its page",
            )
            return
        models.PlanRow.objects.filter(activity__job=old).delete()
        models.Activity.objects.filter(job=old).delete()
        models.ScopeItem.objects.filter(job=old).delete()
        old.delete()

    def _zones(self, job: models.Job) -> None:
        whole = models.Zone.objects.create(job=job, slug="whole-yard", name=WHOLE_YARD, whole=True)
        self.zones[WHOLE_YARD.casefold()] = whole
        for order, (line, row) in enumerate(self.file.rows("zone"), 1):
            area = self._amount(line, "zone.area", row.get("area"), "ft2")
            self.zones[row["name"].casefold()] = models.Zone.objects.create(
                job=job, slug=slugify(row["name"]), name=row["name"], area_ft2=area, order=order
            )

    def _passages(self, job: models.Job) -> None:
        for line, row in self.file.rows("passage"):
            start = row["from"].casefold()
            models.Passage.objects.create(
                job=job,
                slug=slugify(row["name"]),
                name=row["name"],
                start=None if start == "street" else self.zones[start],
                end=self.zones[row["to"].casefold()],
                width=self._length(line, "passage.width", row["width"]) or 1,
                headroom=self._length(line, "passage.headroom", row.get("headroom")),
                load_lb=self._whole(line, "passage.load", row.get("load"), "lb"),
                floor=row.get("floor", ""),
                slope_percent=self._whole(line, "passage.slope", row.get("slope"), "percent") or 0,
                length_ft=self._whole(line, "passage.length", row.get("length"), "ft") or 0,
            )

    def _items(self, job: models.Job) -> None:
        known = current_library().assemblies
        for order, (line, row) in enumerate(self.file.rows("build"), 1):
            if row["what"] not in known:
                self._fault(
                    line,
                    "build.what",
                    f"{row['what']!r} is not in the library",
                    f"use one of {', '.join(sorted(known))}",
                )
                continue
            answers = {k: str(v) for k, v in row.items() if k not in ("what", "where", "name")}
            models.ScopeItem.objects.create(
                job=job,
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

    # -- what hangs on activities --------------------------------------------------

    def _activity(
        self, job: models.Job, line: int, key: str, template: str, where: str | None
    ) -> models.Activity | None:
        found = models.Activity.objects.filter(job=job, template=template, retired=False)
        if where is not None:
            found = found.filter(zone__name__iexact=where)
        match list(found[:2]):
            case [one]:
                return one
            case []:
                reason, remedy = "no such activity in this job", "look at the job's activities"
            case _:
                reason, remedy = "stands in several zones", "say where"
        self._fault(line, key, f"{template!r}: {reason}", remedy)
        return None

    def _supply(self, job: models.Job) -> None:
        for line, row in self.file.rows("delivery"):
            models.Delivery.objects.create(
                job=job,
                name=row["name"],
                activity=self._activity(job, line, "delivery.for", row["for"], row.get("where")),
                earliest=row.get("earliest"),
                lead_business_days=row.get("lead_business_days", 5),
            )
        for line, row in self.file.rows("decision"):
            models.Decision.objects.create(
                job=job,
                name=row["name"],
                activity=self._activity(job, line, "decision.for", row["for"], row.get("where")),
                expected_on=row.get("expected"),
                decided_on=row.get("decided"),
                answer=row.get("answer", ""),
            )

    def _links(self, job: models.Job) -> None:
        for line, row in self.file.rows("link"):
            after = self._activity(job, line, "link.activity", row["activity"], row.get("where"))
            before = self._activity(job, line, "link.after", row["after"], row.get("after_where"))
            if after is None or before is None:
                continue
            lag, clock = _lag(row.get("wait", {}))
            models.Link.objects.update_or_create(
                job=job,
                before=before,
                after=after,
                relation=row.get("relation", "finish-to-start"),
                defaults={
                    "lag": lag,
                    "clock": clock,
                    "at_most": _lag(row["at_most"])[0] if "at_most" in row else None,
                    "rule": "",
                    "why": ["by-hand", {"why": row.get("why", "")}],
                },
            )

    def _no_ring(self, job: models.Job) -> None:
        """Links by hand may not make works wait for each other in a ring."""
        lines = self.file.rows("link")
        if not lines:
            return
        names = dict(job.activities.values_list("pk", "name"))
        graph = nx.DiGraph(list(job.links.values_list("before_id", "after_id")))
        try:
            ring = [names[before] for before, _ in nx.find_cycle(graph)]
        except nx.NetworkXNoCycle:
            return
        self._fault(
            lines[0][0],
            "link",
            f"these wait for each other in a ring: {', '.join(ring)}",
            "take one of the links out",
        )

    def _done(self, job: models.Job) -> None:
        zone = ZoneInfo(job.zone)
        for line, row in self.file.rows("done"):
            activity = self._activity(job, line, "done.activity", row["activity"], row.get("where"))
            crew = Crew.objects.filter(slug=row.get("crew", "")).first()
            if "crew" in row and crew is None:
                known = ", ".join(Crew.objects.values_list("slug", flat=True))
                self._fault(
                    line, "done.crew", f"there is no crew {row['crew']!r}", f"crews: {known}"
                )
            if activity is None:
                continue
            finished = row.get("finished")
            if finished is not None and finished <= row["started"]:
                self._fault(line, "done.finished", "lies before its start", "swap the two")
                continue
            activity.started_at = _local(row["started"], zone)
            activity.finished_at = _local(finished, zone) if finished else None
            activity.done_share = 100 if finished else row.get("share", 0)
            activity.done_crew = crew
            activity.save()

    # -- amounts -------------------------------------------------------------------

    def _amount(self, line: int, key: str, told: object, unit: str) -> Decimal | None:
        if told is None:
            return None
        try:
            return parse_quantity(str(told), unit).amount
        except TradeError as error:
            self._fault(line, key, error.reason, error.remedy)
            return None

    def _whole(self, line: int, key: str, told: object, unit: str) -> int | None:
        amount = self._amount(line, key, told, unit)
        return None if amount is None else int(amount)

    def _length(self, line: int, key: str, told: object) -> int | None:
        if told is None:
            return None
        try:
            return parse_length(str(told))
        except TradeError as error:
            self._fault(line, key, error.reason, error.remedy)
            return None


def _lag(wait: Mapping[str, Any]) -> tuple[int, str]:
    """Return amount and clock of ``{ days = 7 }``; work days are four slots each."""
    for unit, number in wait.items():
        if unit in MINUTES:
            return round(number * MINUTES[unit]), "elapsed"
        if unit == "work_days":
            return round(number * 4), "work"
        return int(number), "business"
    return 0, "elapsed"


def _local(moment: datetime, zone: ZoneInfo) -> datetime:
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def _position(degrees: float | None) -> Decimal | None:
    return None if degrees is None else Decimal(str(round(degrees, 5)))
