"""Stores what hangs on the activities of a job file: deliveries, decisions, links by hand, what is done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import networkx as nx

from crews.models import Crew
from jobs import models

from .job_file import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from .job_file import JobFile, Table

MINUTES = {"minutes": 1, "hours": 60, "days": 24 * 60}


def load_activities(job: models.Job, file: JobFile) -> list[Fault]:
    """Store what hangs on the activities of a job that was just expanded; return what is wrong."""
    hanging = _Hanging(job, file)
    hanging.store()
    return hanging.faults


def matching(
    activities: Iterable[models.Activity], template: str, where: str | None
) -> list[models.Activity]:
    """Return the activities of a template (by name for work by hand), in one zone if it is told."""
    return [
        row
        for row in activities
        if template == (row.template or row.name)
        and (
            where is None or (row.zone is not None and row.zone.name.casefold() == where.casefold())
        )
    ]


@dataclass(slots=True)
class _Hanging:
    """One kind of table a method, faults gathered on the way."""

    job: models.Job
    file: JobFile
    faults: list[Fault] = field(default_factory=list)
    activities: list[models.Activity] = field(default_factory=list)

    def store(self) -> None:
        rows = self.job.activities.filter(retired=False)
        self.activities = list(rows.select_related("zone", "done_crew"))
        self._supply()
        self._links()
        self._no_ring()
        self._done()

    def _fault(self, line: int, key: str, reason: str, remedy: str) -> None:
        self.faults.append(Fault(line, key, reason, remedy))

    def _activity(
        self, line: int, key: str, row: Table, where: str = "where", which: str = "which"
    ) -> models.Activity | None:
        """Return the activity a row names: by template, by place, and by number where some are alike."""
        template = row[key.partition(".")[2]]
        found = matching(self.activities, template, row.get(where))
        number: int | None = row.get(which)
        if number is not None and 1 <= number <= len(found):
            return found[number - 1]
        if len(found) == 1 and number is None:
            return found[0]
        if not found:
            reason, remedy = "no such activity in this job", "look at the job's activities"
        elif number is not None:
            reason, remedy = f"there is no number {number}", f"write 1 to {len(found)}"
        elif row.get(where) is None:
            reason, remedy = "stands in several zones", f"say {where}"
        else:
            reason, remedy = "stands there several times", f"say {which} = 1 to {len(found)}"
        self._fault(line, key, f"{template!r}: {reason}", remedy)
        return None

    def _supply(self) -> None:
        for line, row in self.file.rows("delivery"):
            models.Delivery.objects.create(
                job=self.job,
                name=row["name"],
                activity=self._activity(line, "delivery.for", row),
                earliest=row.get("earliest"),
                lead_business_days=row.get("lead_business_days", 5),
                arrived_on=row.get("arrived"),
            )
        for line, row in self.file.rows("decision"):
            models.Decision.objects.create(
                job=self.job,
                name=row["name"],
                activity=self._activity(line, "decision.for", row),
                expected_on=row.get("expected"),
                decided_on=row.get("decided"),
                answer=row.get("answer", ""),
            )

    def _links(self) -> None:
        for line, row in self.file.rows("link"):
            after = self._activity(line, "link.activity", row)
            before = self._activity(line, "link.after", row, "after_where", "after_which")
            if after is None or before is None:
                continue
            if after == before:
                self._fault(line, "link.after", "is the activity itself", "name another one")
                continue
            lag, clock = _lag(row.get("wait", {}))
            models.Link.objects.update_or_create(
                job=self.job,
                before=before,
                after=after,
                relation=row.get("relation", "finish-to-start"),
                defaults={
                    "lag": lag,
                    "clock": clock,
                    "at_most": _lag(row["at_most"])[0] if "at_most" in row else None,
                    "rule": "",
                    "by": row.get("by", ""),
                    "why": ["by-hand", {"why": row.get("why", "")}],
                },
            )

    def _no_ring(self) -> None:
        """Links by hand may not make works wait for each other in a ring."""
        lines = self.file.rows("link")
        if not lines:
            return
        names = dict(self.job.activities.values_list("pk", "name"))
        graph = nx.DiGraph(list(self.job.links.values_list("before_id", "after_id")))
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

    def _done(self) -> None:
        zone = ZoneInfo(self.job.zone)
        for line, row in self.file.rows("done"):
            activity = self._activity(line, "done.activity", row)
            crew = Crew.objects.filter(slug=row.get("crew", "")).first()
            if "crew" in row and crew is None:
                known = ", ".join(Crew.objects.values_list("slug", flat=True))
                self._fault(
                    line, "done.crew", f"there is no crew {row['crew']!r}", f"crews: {known}"
                )
            if activity is None:
                continue
            started = _local(row["started"], zone)
            finished = _local(row["finished"], zone) if "finished" in row else None
            if finished is not None and finished <= started:
                self._fault(line, "done.finished", "lies before its start", "swap the two")
                continue
            activity.started_at, activity.finished_at = started, finished
            activity.done_share = 100 if finished else row.get("share", 0)
            activity.done_crew = crew
            activity.save()


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
