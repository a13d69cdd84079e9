"""Stores what hangs on the activities of a job file: deliveries, decisions, links by hand, what is done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import networkx as nx

from jobs import models
from jobs.services.by_hand.ties import hand_why, sentence
from jobs.services.scope.takeoff import expand_job

from .job_file_keys import RELATIONS
from .load_hands import load_hands
from .naming import Named

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from .job_file import Fault, JobFile

MINUTES = {"minutes": 1, "hours": 60, "days": 24 * 60}


def load_activities(job: models.Job, file: JobFile, *, by: str, now: datetime) -> list[Fault]:
    """Store what hangs on the activities of a job that was just expanded; return what is wrong."""
    hands = load_hands(job, file, by=by, now=now)
    hanging = Hanging(job, file)
    hanging.store()
    if file.rows("link") and not hanging.faults:
        expand_job(job, now=now)
    return [*hands, *hanging.faults]


@dataclass(slots=True)
class Hanging(Named):
    """One kind of table a method, faults gathered on the way."""

    def store(self) -> None:
        """Store deliveries, decisions, links by hand and what is done."""
        self.read()
        self._supply()
        self._links()
        self._no_ring()
        self._done()

    def _supply(self) -> None:
        for line, row in self.file.rows("delivery"):
            models.Delivery.objects.create(
                job=self.job,
                name=row["name"],
                activity=self.activity(line, "delivery.for", row),
                earliest=row.get("earliest"),
                lead_business_days=row.get("lead_business_days", 5),
                arrived_on=row.get("arrived"),
            )
        for line, row in self.file.rows("decision"):
            models.Decision.objects.create(
                job=self.job,
                name=row["name"],
                activity=self.activity(line, "decision.for", row),
                expected_on=row.get("expected"),
                decided_on=row.get("decided"),
                answer=row.get("answer", ""),
            )

    def _links(self) -> None:
        for line, row in self.file.rows("link"):
            after = self.activity(line, "link.activity", row)
            before = self.activity(line, "link.after", row, "after_where", "after_which")
            if after is None or before is None:
                continue
            if after == before:
                self.fault(line, "link.after", "is the activity itself", "name another one")
                continue
            lag, clock = _lag(row.get("wait", {}))
            relation, reason = row.get("relation", RELATIONS[0]), row.get("reason", "")
            rule = self.job.links.filter(before=before, after=after, relation=relation).first()
            stood = sentence(rule) if rule is not None and rule.rule and reason else ""
            models.Link.objects.update_or_create(
                job=self.job,
                before=before,
                after=after,
                relation=relation,
                defaults={
                    "lag": lag,
                    "clock": clock,
                    "at_most": _lag(row["at_most"])[0] if "at_most" in row else None,
                    "rule": "",
                    "wait": "",
                    "by": row.get("by", ""),
                    "reason": reason,
                    "why": hand_why(row.get("why", ""), reason, stood),
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
        self.fault(
            lines[0][0],
            "link",
            f"these wait for each other in a ring: {', '.join(ring)}",
            "take one of the links out",
        )

    def _done(self) -> None:
        zone = ZoneInfo(self.job.zone)
        for line, row in self.file.rows("done"):
            activity = self.activity(line, "done.activity", row)
            crew = self.crew(line, "done.crew", row)
            if activity is None:
                continue
            started = _local(row["started"], zone)
            finished = _local(row["finished"], zone) if "finished" in row else None
            if finished is not None and finished <= started:
                self.fault(line, "done.finished", "lies before its start", "swap the two")
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
