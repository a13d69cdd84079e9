"""A job as a job file: what was set up, what is built, and everything that hangs on it.

Read in again it gives the same job, every zone, way in and thing built under its own id, so that every
activity is what it was.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import tomli_w

from jobs.services.scope.hands import HAND, is_by_hand, parts_by_root, whole_of
from jobs.services.scope.releases import releases_by_pour
from jobs.services.scope.takeoff import built_items
from jobs.trade.units import INCH, say_feet

from .naming import matching

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from jobs import models

Table = dict[str, Any]
HALF_DAY = 12 * 60


def export_job(job: models.Job) -> str:
    """Return the job file of a job."""
    writer = _Writer(job)
    tables: Mapping[str, Iterable[Table]] = {
        "zone": writer.zones(),
        "passage": writer.passages(),
        "build": writer.build(),
        "delivery": writer.deliveries(),
        "decision": writer.decisions(),
        "work": writer.works(),
        "split": writer.splits(),
        "extra": writer.extras(),
        "pin": writer.pins(),
        "lift": writer.lifts(),
        "link": writer.links(),
        "release": writer.releases(),
        "done": writer.done(),
        "no_work": writer.no_work(),
    }
    told = writer.job_keys()
    told |= {name: rows for name, found in tables.items() if (rows := list(found))}
    return tomli_w.dumps(told)


class _Writer:
    """One kind of table a method; keys that say nothing are left out."""

    def __init__(self, job: models.Job) -> None:
        self.job = job
        self.activities = list(
            job.activities.filter(retired=False).select_related("zone", "done_crew", "only_crew")
        )

    def job_keys(self) -> Table:
        job = self.job
        return _told(
            id=job.uid,
            whole_yard_id=job.zones.get(whole=True).uid,
            name=job.name,
            slug=job.slug,
            address=job.address,
            state=job.us_state,
            time_zone=job.zone,
            latitude=_position(job.latitude),
            longitude=_position(job.longitude),
            soil=job.soil,
            stage=str(job.state),
            paused_from=job.paused_from,
            paused_until=job.paused_until,
            start=job.starts_on,
            promise=job.promised_on,
            weight=job.weight,
            access=job.access_notes,
            yard=job.options,
        )

    def zones(self) -> Iterable[Table]:
        for zone in self.job.zones.all():
            if not zone.whole:
                area = None if zone.area_ft2 is None else f"{zone.area_ft2.normalize():f} ft2"
                yield _told(name=zone.name, area=area, id=zone.uid)

    def passages(self) -> Iterable[Table]:
        for way in self.job.passages.select_related("start", "end"):
            yield _told(
                name=way.name,
                **{"from": way.start.name if way.start else "street", "to": way.end.name},
                width=length(way.width) if way.width else None,
                headroom=length(way.headroom) if way.headroom else None,
                load=None if way.load_lb is None else f"{way.load_lb} lb",
                floor=way.floor,
                slope=way.slope_percent or None,
                length=f"{way.length_ft} ft" if way.length_ft else None,
                id=way.uid,
            )

    def build(self) -> Iterable[Table]:
        for item in built_items(self.job):
            answers = {str(key): value for key, value in item.answers.items()}
            told = _told(what=item.assembly, where=item.zone.name, name=item.name, id=item.uid)
            yield told | answers

    def deliveries(self) -> Iterable[Table]:
        for row in self.job.deliveries.select_related("activity__zone"):
            if row.activity is not None:
                yield _told(
                    name=row.name,
                    **self._named(row.activity, "for"),
                    earliest=row.earliest,
                    lead_business_days=row.lead_business_days,
                    arrived=row.arrived_on,
                )

    def decisions(self) -> Iterable[Table]:
        for row in self.job.decisions.select_related("activity__zone"):
            if row.activity is not None:
                yield _told(
                    name=row.name,
                    **self._named(row.activity, "for"),
                    expected=row.expected_on,
                    decided=row.decided_on,
                    answer=row.answer,
                )

    def works(self) -> Iterable[Table]:
        for row in self.activities:
            if is_by_hand(row) and row.part_of_id is None and row.zone is not None:
                whole = whole_of(row)
                yield _told(
                    name=whole["name"],
                    where=row.zone.name,
                    skill=row.skill,
                    days=float(whole["days"]),
                    people=row.people,
                    id=row.key.removeprefix(HAND),
                )

    def splits(self) -> Iterable[Table]:
        whole = [row for row in self.activities if row.part_of_id is None]
        cut = [row for row in self.activities if not row.extra]
        for root_pk, parts in parts_by_root(cut).items():
            root = next(row for row in whole if row.pk == root_pk)
            named = (
                {"activity": whole_of(root)["name"]}
                if is_by_hand(root)
                else self._named(root, "activity", among=whole)
            )
            yield _told(
                **named,
                shares=[root.share, *(part.share for part in parts)],
                ids=[part.key.removeprefix(HAND) for part in parts],
            )

    def extras(self) -> Iterable[Table]:
        whole = {row.pk: row for row in self.activities if row.part_of_id is None}
        for row in self.activities:
            if row.extra and row.part_of_id in whole:
                yield _told(
                    **self._named(whole[row.part_of_id], "activity", among=list(whole.values())),
                    what=row.extra,
                    days=float(row.own_days) if row.own_days else None,
                    share=None if row.own_days else row.share,
                    id=row.key.removeprefix(HAND),
                )

    def pins(self) -> Iterable[Table]:
        for row in self.activities:
            if row.not_before or row.not_after or row.only_crew or row.hired:
                yield _told(
                    **self._named(row, "activity"),
                    not_before=row.not_before,
                    not_after=row.not_after,
                    crew=row.only_crew.slug if row.only_crew else None,
                    hired=row.hired or None,
                )

    def lifts(self) -> Iterable[Table]:
        rows = self.job.links.filter(lifted=True, before__retired=False, after__retired=False)
        for row in rows.select_related("before__zone", "after__zone"):
            yield _told(
                **self._named(row.after, "activity"),
                **self._named(row.before, "after", "after_where", "after_which"),
                relation=row.relation,
                reason=row.reason,
                by=row.by,
            )

    def links(self) -> Iterable[Table]:
        rows = self.job.links.filter(rule="", before__retired=False, after__retired=False)
        for row in rows.select_related("before__zone", "after__zone"):
            yield _told(
                **self._named(row.after, "activity"),
                **self._named(row.before, "after", "after_where", "after_which"),
                relation=row.relation,
                wait=wait(row.lag, row.clock),
                at_most=wait(row.at_most, "elapsed"),
                why=row.why[1].get("why", "") if row.why and not row.reason else "",
                reason=row.reason,
                by=row.by,
            )

    def releases(self) -> Iterable[Table]:
        found = releases_by_pour([row.pk for row in self.activities])
        for row in self.activities:
            for release in found.get(row.pk, ()):
                yield _told(
                    **self._named(row, "activity"),
                    allows=release.allows,
                    after=wait(release.hours * 60, "elapsed"),
                    engineer=release.engineer,
                    licence=release.licence,
                    signed=release.signed_on,
                    note=release.note,
                    by=release.by,
                )

    def done(self) -> Iterable[Table]:
        for row in self.activities:
            if row.started_at is not None:
                yield _told(
                    **self._named(row, "activity"),
                    started=self._local(row.started_at),
                    finished=self._local(row.finished_at) if row.finished_at else None,
                    share=None if row.finished_at else row.done_share,
                    crew=row.done_crew.slug if row.done_crew else None,
                )

    def no_work(self) -> Iterable[Table]:
        for row in self.job.no_work_days.all():
            yield _told(**{"from": row.first, "to": row.last}, why=row.why)

    def _named(
        self,
        activity: models.Activity,
        key: str,
        where: str = "where",
        which: str = "which",
        among: list[models.Activity] | None = None,
    ) -> Table:
        """Name an activity by its template, with its place and number where others are alike."""
        told: Table = {key: activity.template or activity.name}
        rows = self.activities if among is None else among
        alike = matching(rows, told[key], None)
        if len(alike) > 1 and activity.zone is not None:
            told[where] = activity.zone.name
            alike = matching(rows, told[key], activity.zone.name)
        if len(alike) > 1:
            told[which] = [row.pk for row in alike].index(activity.pk) + 1
        return told

    def _local(self, moment: datetime) -> datetime:
        """On the yard's own clock; with its distance from UTC only where the clock is set back."""
        here = moment.astimezone(ZoneInfo(self.job.zone))
        bare = here.replace(tzinfo=None)
        again = bare.replace(tzinfo=ZoneInfo(self.job.zone))
        return bare if again.timestamp() == here.timestamp() else here


def length(tenths: int) -> str:
    """Return a length that reads back to the same tenth of a millimetre, in feet if it can be."""
    if tenths % INCH == 0:
        return say_feet(tenths)
    inches = Decimal(tenths) / INCH
    if inches == round(inches, 4):
        return f"{inches.normalize():f} in"
    return f"{Decimal(tenths) / 10:f} mm"


def wait(amount: int | None, clock: str) -> Table | None:
    """Return a wait as a job file tells it, None if there is none."""
    if not amount:
        return None
    if clock == "work":
        return {"work_days": amount / 4 if amount % 4 else amount // 4}
    if clock == "business":
        return {"business_days": amount}
    if amount % HALF_DAY == 0 and amount % (2 * HALF_DAY) == 0:
        return {"days": amount // (2 * HALF_DAY)}
    return {"hours": amount // 60} if amount % 60 == 0 else {"minutes": amount}


def _told(**keys: Any) -> Table:
    return {key: value for key, value in keys.items() if value not in (None, "", {})}


def _position(degrees: Decimal | None) -> float | None:
    return None if degrees is None else float(degrees)
