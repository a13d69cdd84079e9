"""Reads the plan page: what is published, what is proposed, and what would change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.planning.conflicts import promises_against, told, wishes_in
from jobs.services.planning.how_proven import how_proven, score_words
from jobs.services.planning.how_tidy import tidy_words
from jobs.services.planning.rentals import Rental, rentals_of, total
from jobs.services.telling.speech import say_day, say_span
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of
from jobs.services.world.overtime import OvertimeLine, overtime_lines
from jobs.services.world.read_world import read_world
from jobs.services.world.revision import world_revision
from jobs.services.world.row_days import stretches
from jobs.trade.work import Sentence

from .frame import how_it_stands, is_late, local
from .nobody import NOTHING, read_lacking
from .solve import SolvePart, read_solve_part

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime
    from decimal import Decimal

    from jobs.scheduling.asking.conflicts import Conflict

    from .nobody import Lacking


class JobChange(NamedTuple):
    """One job's finish in both plans."""

    name: str
    slug: str
    was: str
    becomes: str
    words: str
    at_risk: bool
    moved: bool
    late: bool


class Move(NamedTuple):
    """One activity that stands elsewhere in the proposal."""

    name: str
    job: str
    slug: str
    uid: str
    was: str
    becomes: str


class WishRow(NamedTuple):
    """Something wished by hand or promised that stands against other wishes, and where it is changed."""

    words: str
    slug: str
    uid: str


@dataclass(frozen=True, slots=True)
class Against:
    """Wishes that cannot all be kept, with what is known of that."""

    told: str
    rows: tuple[WishRow, ...]


@dataclass(frozen=True, slots=True)
class PlanPage:
    """Both plans side by side; ``proposal`` None where nothing is proposed.

    ``stale`` if something has changed since the proposal was made, so that it would be refused; ``against`` are the wishes no plan could be made for, if one was just asked for.
    """

    published: models.Plan | None
    sent: datetime | None
    proposal: models.Plan | None
    jobs: tuple[JobChange, ...]
    moves: tuple[Move, ...]
    crew_days: int
    open_jobs: int
    proven: str
    solve: SolvePart
    late: bool
    stale: bool
    against: Against | None = None
    lacking: Lacking = NOTHING
    overtime: tuple[OvertimeLine, ...] = ()
    rentals: tuple[Rental, ...] = ()
    rent: Decimal | None = None
    tidy: str = ""


def read_plan_page(now: datetime, conflict: Conflict | None = None) -> PlanPage:
    """Read both plans and compare them, in a bounded number of queries."""
    states = (models.Plan.State.PUBLISHED, models.Plan.State.PROPOSED)
    plans = {plan.state: plan for plan in models.Plan.objects.filter(state__in=states)}
    old, new = (plans.get(state) for state in states)
    before, after = _rows(old), _rows(new)
    jobs, rentals = _jobs(old, new), rentals_of(new or old)
    return PlanPage(
        published=old,
        sent=old.published_at.astimezone(now.tzinfo) if old and old.published_at else None,
        proposal=new,
        jobs=jobs,
        moves=_moves(before, after) if old and new else (),
        crew_days=len(_crew_days(before, now) ^ _crew_days(after, now)) if old and new else 0,
        open_jobs=models.Job.objects.filter(state__in=models.Job.OPEN).count(),
        proven=how_good(new or old),
        solve=read_solve_part(),
        late=any(job.late for job in jobs),
        stale=new is not None and new.world != world_revision(),
        against=against_of(conflict) if conflict else None,
        lacking=read_lacking(new or old),
        overtime=overtime_lines(new or old),
        rentals=rentals,
        rent=total(rentals),
        tidy=how_tidy(new or old),
    )


def read_promises(now: datetime) -> Against | None:
    """Read which promises, and what was wished by hand, cannot all be kept; None if none are known."""
    conflict = promises_against(read_world(now).world)
    return None if conflict is None else against_of(conflict)


def against_of(conflict: Conflict) -> Against:
    """Say a conflict, each wish with the page where it can be loosened; two queries."""
    uids = [wish.about for wish in conflict.wishes]
    jobs = dict(models.Job.objects.filter(uid__in=uids).values_list("uid", "slug"))
    works = models.Activity.objects.filter(uid__in=uids).values_list("uid", "job__slug")
    slugs = jobs | dict(works)
    return Against(
        told(conflict),
        tuple(
            WishRow(line, slugs.get(wish.about, ""), "" if wish.about in jobs else wish.about)
            for wish, line in zip(conflict.wishes, wishes_in(conflict), strict=True)
        ),
    )


def how_good(plan: models.Plan | None) -> str:
    """Return how a plan scores and what is proven of it, in words."""
    if plan is None:
        return ""
    told = f"{score_words((plan.late, plan.finish_sum))}; {how_proven(plan)}"
    return f"{told}; {say(Sentence('nobody-if'))}" if nobody_of(plan).works else told


def how_tidy(plan: models.Plan | None) -> str:
    """Return how crews and rented machines fare with a plan, in words."""
    return "" if plan is None else tidy_words(plan.untidy, plan.untidy_before)


def _rows(plan: models.Plan | None) -> dict[int, models.PlanRow]:
    if plan is None:
        return {}
    rows = plan.rows.select_related("activity__job", "crew", "lent").order_by("start", "pk")
    return {row.activity_id: row for row in rows}


def _jobs(old: models.Plan | None, new: models.Plan | None) -> tuple[JobChange, ...]:
    was = {row.job_id: row for row in old.jobs.select_related("job")} if old else {}
    becomes = {row.job_id: row for row in new.jobs.select_related("job")} if new else {}
    shown, nobody = becomes or was, nobody_of(new or old)
    out = []
    for pk, row in shown.items():
        earlier = _finish(was.get(pk))
        later = _finish(row)
        words, at_risk = how_it_stands(row, row.job, nobody)
        out.append(
            JobChange(
                row.job.name,
                row.job.slug,
                say_day(earlier) if earlier else "",
                say_day(later) if later else "",
                words,
                at_risk,
                earlier is not None and earlier != later,
                is_late(row, row.job),
            )
        )
    return tuple(out)


def _finish(row: models.JobPlan | None) -> date | None:
    return local(row.finish, row.job).date() if row else None


def _moves(
    before: Mapping[int, models.PlanRow], after: Mapping[int, models.PlanRow]
) -> tuple[Move, ...]:
    moves = []
    for pk, new in after.items():
        old = before.get(pk)
        if old is None or _stand(old) != _stand(new):
            moves.append(_move(new.activity, _stands(old), _stands(new)))
    gone = [row for pk, row in before.items() if pk not in after]
    moves += [_move(row.activity, _stands(row), "no longer done") for row in gone]
    return tuple(moves)


def _stand(row: models.PlanRow) -> tuple[datetime, datetime, int | None, int | None]:
    return row.start, row.finish, row.crew_id, row.lent_id


def _move(activity: models.Activity, was: str, becomes: str) -> Move:
    job = activity.job
    return Move(activity.name, job.name, job.slug, activity.uid, was, becomes)


def _stands(row: models.PlanRow | None) -> str:
    if row is None:
        return "new"
    job = row.activity.job
    span = say_span(local(row.start, job).date(), local(row.finish, job).date())
    return f"{span}, {row.crew_names}" if row.crew else span


def _crew_days(rows: Mapping[int, models.PlanRow], now: datetime) -> set[tuple[int, date, int]]:
    """Every (crew, day, job) of a plan from today on, a crew that helps included."""
    return {
        (crew.pk, stretch.day, row.activity.job_id)
        for row in rows.values()
        for crew in row.crews
        for stretch in stretches(row)
        if stretch.day >= now.date()
    }
