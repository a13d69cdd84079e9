"""Reads the sequence sheet of one job: the plan's rows as lines, drawn, with the same as a table."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from django.urls import reverse

from jobs import models
from jobs.drawing.marks import MATERIALS, Line, OddsLine, StageLine
from jobs.drawing.rows import as_table, by_day
from jobs.drawing.sheet import draw_sheet
from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import machine_name
from jobs.services.planning.how_proven import how_proven
from jobs.services.scope.releases import release_for, released_by, releases_by_pour
from jobs.services.telling.speech import say_day, say_room

from .frame import (
    JobHead,
    closed_days,
    first_said,
    job_head,
    local,
    outsider,
    said_of,
    shown_plan,
)
from .odds import basis_of, delay_of, eaters_of, kept_of, odds_line
from .story import Story, read_story

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime

    from jobs.drawing.marks import Sheet
    from jobs.drawing.rows import Day, TableRow

PAPER = "Paper and calls"
FINISH = "To finish"
MOST = 80
"""Percent of the zones' works begun, after which whole-yard work is finishing."""
BY_ZONE, BY_TRADE = "zone", "trade"


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """The block at the foot, as on an architect's sheet."""

    finish: date
    likely: date | None
    safe: date | None
    promise: date | None
    promise_words: str
    at_risk: bool
    number: int
    proven: str
    sent: datetime | None


@dataclass(frozen=True, slots=True)
class SheetPage:
    """Everything the sheet's template writes out; ``sheet`` is None where nothing is planned."""

    head: JobHead
    by: str
    first: date | None = None
    last: date | None = None
    sheet: Sheet | None = None
    table: tuple[TableRow, ...] = ()
    days: tuple[Day, ...] = ()
    over: tuple[Day, ...] = ()
    legend: tuple[tuple[str, str], ...] = ()
    eaters: tuple[str, ...] = ()
    delay: str = ""
    stages: tuple[StageLine, ...] = ()
    kept: str = ""
    basis: str = ""
    visits: tuple[str, ...] = ()
    block: TitleBlock | None = None
    story: Story | None = None
    opened: str = ""


def read_sheet(job: models.Job, *, now: datetime, by: str = BY_ZONE, opened: str = "") -> SheetPage:
    """Read and draw the sheet of one job, with one story open if asked."""
    plan = shown_plan()
    head = job_head(job, "sheet", plan)
    rows = plan_rows(plan, job)
    if not rows or plan is None:
        return SheetPage(head, by)
    planned = plan.jobs.get(job=job)
    releases = releases_by_pour([row.activity_id for row in rows])
    drawer = _Lines(job, rows, _follow_waits(job), releases, by)
    lines, visits = drawer.counted(), drawer.visits()
    said = said_of(job, plan)
    odds = odds_line(said, first_said(job) if said else None, job)
    days = _span(lines, odds)
    sheet = draw_sheet(
        lines,
        closed=closed_days(*days, plan),
        chain=planned.chain,
        today=local(now, job),
        opened=opened,
        odds=odds,
    )
    return SheetPage(
        head=head,
        by=by,
        first=min(line.start for line in lines).date(),
        last=max(line.finish for line in lines).date(),
        sheet=sheet,
        table=as_table((*lines, *visits)),
        days=by_day(line for line in (*lines, *visits) if not line.ended),
        over=by_day(line for line in (*lines, *visits) if line.ended),
        visits=tuple(f"{line.title}, {say_day(line.start)}" for line in visits),
        legend=_legend(lines),
        block=_block(plan, planned, head, odds),
        eaters=eaters_of(said),
        delay=delay_of(said),
        stages=odds.stages if odds else (),
        kept=kept_of(said),
        basis=basis_of(said),
        story=read_story(job, opened, plan, now) if opened else None,
        opened=opened,
    )


def without_zone(name: str, zone: str) -> str:
    """Return the name of an activity without the place it ends with."""
    return name.removesuffix(f", {zone.lower()}").removesuffix(f", {zone}")


def plan_rows(plan: models.Plan | None, job: models.Job) -> list[models.PlanRow]:
    """Return a job's rows of a plan in construction order, ready to be read."""
    if plan is None:
        return []
    rows = plan.rows.filter(activity__job=job).select_related("activity__zone", "crew", "lent")
    return list(rows.order_by("start", "activity__order", "pk"))


def _span(lines: Sequence[Line], odds: OddsLine | None) -> tuple[date, date]:
    """Whole weeks about all lines and the odds."""
    first = min(line.start for line in lines).date()
    last = max([*(line.finish for line in lines), *([odds.last] if odds else [])]).date()
    return first - timedelta(days=first.weekday()), last + timedelta(days=6 - last.weekday())


def _follow_waits(job: models.Job) -> dict[tuple[int, str], str]:
    """By activity and wait: what may be done when the wait is over, the longest wait first."""
    links = models.Link.objects.filter(job=job, after__retired=False, lifted=False).exclude(wait="")
    return {
        (link.before_id, link.wait): without_zone(link.after.name, str(link.after.zone or ""))
        for link in links.select_related("after__zone").order_by("lag", "-after__order")
    }


def _legend(lines: Sequence[Line]) -> tuple[tuple[str, str], ...]:
    used = {line.material for line in lines}
    return tuple((key, word) for key, word in MATERIALS.items() if key in used)


def _block(
    plan: models.Plan,
    planned: models.JobPlan,
    head: JobHead,
    odds: OddsLine | None,
) -> TitleBlock:
    return TitleBlock(
        likely=odds.likely.date() if odds else None,
        safe=odds.safe.date() if odds else None,
        finish=local(planned.finish, planned.job).date(),
        promise=head.promise,
        promise_words=head.promise_words,
        at_risk=head.at_risk,
        number=plan.number,
        proven=how_proven(plan),
        sent=local(plan.published_at, planned.job) if plan.published_at else None,
    )


@dataclass(frozen=True, slots=True)
class _Lines:
    """Plan rows of one job as lines of the sheet."""

    job: models.Job
    rows: Sequence[models.PlanRow]
    waits: Mapping[tuple[int, str], str]
    releases: Mapping[int, Sequence[models.Release]]
    by: str

    def visits(self) -> list[Line]:
        """Return the return visits after the hand-over: told, but not drawn."""
        return [self.line(row) for row in self.rows if not row.activity.detail.get("counts", True)]

    def counted(self) -> list[Line]:
        """Return the other lines, those of one group together, groups in the order they begin."""
        lines = [self.line(row) for row in self.rows if row.activity.detail.get("counts", True)]
        if self.by == BY_ZONE:
            lines = _with_finish(lines, self.job)
        first: dict[str, tuple[bool, datetime]] = {}
        for line in lines:
            first.setdefault(line.group, (line.group == FINISH, line.start))
        return sorted(lines, key=lambda line: first[line.group])

    def line(self, row: models.PlanRow) -> Line:
        """Return one row as a line."""
        activity, job = row.activity, self.job
        outside = bool(activity.detail.get("outside"))
        ended = activity.finished_at is not None
        finish, latest = local(row.finish, job), local(row.late_finish, job)
        return Line(
            id=activity.uid,
            title=self._title(activity),
            note=self._note(row),
            group=self._group(activity, outside=outside),
            material=activity.material,
            start=local(row.start, job),
            finish=finish,
            address=f"{reverse('sheet', args=[job.slug])}?by={self.by}&open={activity.uid}#row-{activity.uid}",
            wait_until=local(row.wait_until, job) if row.wait_until else None,
            wait_text=self._wait(row),
            slip_text="" if ended or row.critical else say_room(row.float_hours, finish, latest),
            critical=row.critical,
            done=activity.done_share,
            ended=ended,
            outside=outside,
            milestone=str(activity.detail.get("milestone", "")),
        )

    def _title(self, activity: models.Activity) -> str:
        """Leave the zone out of the name under the zone's own heading."""
        zone = activity.zone
        if self.by == BY_TRADE or zone is None or activity.detail.get("outside"):
            return activity.name
        return without_zone(activity.name, zone.name)

    def _group(self, activity: models.Activity, *, outside: bool) -> str:
        if self.by == BY_TRADE:
            return MATERIALS[activity.material].capitalize()
        if outside:
            return PAPER
        zone = activity.zone
        if zone is None:
            return "Whole yard"
        area = f", {zone.area_ft2:,.0f} ft²" if zone.area_ft2 else ""
        return f"{zone.name}{area}"

    def _note(self, row: models.PlanRow) -> str:
        if row.crew is None:
            return outsider(row.activity)
        machines = [machine_name(kind) for kind, _, _ in row.machines]
        return " · ".join([row.crew_names, *machines])

    def _wait(self, row: models.PlanRow) -> str:
        if row.wait_until is None:
            return ""
        kind = current_library().waits.get(row.wait)
        name = kind.name if kind else "wait"
        follower = self.waits.get((row.activity_id, row.wait))
        day = say_day(local(row.wait_until, self.job))
        release = release_for(self.releases.get(row.activity_id, ()), row.wait)
        if release is not None:
            day = f"{day}, {released_by(release)}"
        return f"{name}: {follower.lower()} from {day}" if follower else f"{name} until {day}"


def _with_finish(lines: Sequence[Line], job: models.Job) -> list[Line]:
    """Whole-yard work after most work of the zones has begun stands at the end of the sheet."""
    whole = {zone.name for zone in job.zones.all() if zone.whole} | {PAPER}
    in_zones = sorted(ln.start for ln in lines if ln.group.partition(",")[0] not in whole)
    if not in_zones:
        return list(lines)
    late = in_zones[len(in_zones) * MOST // 100]
    return [
        replace(line, group=FINISH)
        if line.start >= late and line.group.partition(",")[0] in whole
        else line
        for line in lines
    ]
