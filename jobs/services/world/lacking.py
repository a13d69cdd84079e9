"""What the house lacks for a plan: works that nobody can do, what hangs on them, and machines there are too few of.

Such a work is planned as if somebody were hired for it, who has to be found first, so that it stops no other
yard. Nobody has been: its dates, and those of all that follows it, are no promise. ``Plan.lacks`` keeps what was lacking when
the plan was made; somebody hired since, or the work being done, takes it away. What crews could do then and nobody can do
any more is kept beside it (``note_since``): its crew stands in the plan until a new one is made, but no odds are told of it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from jobs import models
from jobs.services.scope.detail import machines_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from django.db.models import QuerySet

    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import World

    from .planning import Planning

NAMED = 2
"""Works up to which each is named where a finish hangs on them."""


@dataclass(frozen=True, slots=True)
class Nobody:
    """Works that nobody can do, in order of job and work; nothing where there are none.

    Attributes
    ----------
    follow
        By uid of each work that follows one of them, and of each of them, the name of that one.
    jobs
        By uid of each job whose finish hangs on some of them, their names.
    """

    works: tuple[models.Activity, ...] = ()
    follow: Mapping[str, str] = field(default_factory=dict)
    jobs: Mapping[str, str] = field(default_factory=dict)

    @property
    def uids(self) -> frozenset[str]:
        """The works themselves."""
        return frozenset(work.uid for work in self.works)


def lacks_in(planning: Planning, plan: Plan) -> dict[str, Any]:
    """Return what a plan keeps of it; nothing where nothing is lacking.

    ``hands`` has, by work that nobody can do, the works and the jobs that hang on it, ``finding`` the working days
    reckoned with to find somebody; ``machines`` work, kind, units needed and units there.
    """
    world, hands = planning.world, {}
    for uid in unmanned(planning, plan):
        hands[uid] = _hangs(world, uid)
    machines = list(_too_few(planning))
    if not hands and not machines:
        return {}
    return {"hands": hands, "machines": machines} | ({"finding": finding_days()} if hands else {})


def _hangs(world: World, uid: str) -> dict[str, list[str]]:
    """What hangs on a work that nobody can do: works, and jobs whose finish does."""
    works = _followers(world, uid)
    counted = {world.works[work].job for work in works if world.works[work].counts}
    return {"works": sorted(works), "jobs": sorted(counted)}


def note_since(plan: models.Plan, planning: Planning, placed: Plan, *, store: bool = True) -> None:
    """Note with a plan what a crew could do when it was made and nobody can do any more."""
    since = {uid: _hangs(planning.world, uid) for uid in _lost(planning, placed)}
    if since != plan.lacks.get("since", {}):
        rest = {key: told for key, told in plan.lacks.items() if key != "since"}
        plan.lacks = rest | ({"since": since} if since else {})
        if store:
            plan.save(update_fields=["lacks", "modified"])


def _lost(planning: Planning, placed: Plan) -> Iterator[str]:
    """Works for which somebody is still to be hired, though a plan gives them to a crew that cannot do them there."""
    world = planning.world
    for uid, activity in planning.activities.items():
        work, at = world.works[uid], placed.placements.get(uid)
        if at is None or not at.crew or world.is_hired(at.crew) or activity.by_others:
            continue
        if work.done is not None or not any(map(world.is_hired, work.crews)):
            continue
        left = world.crews[at.crew].open >> max(at.start, 0) if at.crew in work.crews else 0
        if left.bit_count() < work.crews.get(at.crew, 1):
            yield uid


def finding_days() -> int:
    """Read how many working days finding somebody to hire takes, as the company's settings say."""
    found = models.Company.objects.values_list("finding_days", flat=True).first()
    return models.Company().finding_days if found is None else found


def unmanned(planning: Planning, plan: Plan) -> list[str]:
    """Return the works a plan gives to somebody who is still to be hired, by uid."""
    return [
        uid
        for uid, activity in planning.activities.items()
        if planning.world.is_hired(plan[uid].crew) and not activity.by_others
    ]


def nobody_of(plan: models.Plan | None) -> Nobody:
    """Read the works of a plan that nobody can do; one query if it has any, else none."""
    return _nobody(plan.lacks.get("hands", {}) if plan else {})


def unsure_of(plan: models.Plan | None) -> Mapping[str, str]:
    """Read the jobs of a plan of which no odds are told, with the works that nobody can do, or not any more.

    One query if there are any, else none.
    """
    lacks = plan.lacks if plan else {}
    return _nobody(lacks.get("hands", {}) | lacks.get("since", {})).jobs


def _nobody(hands: Mapping[str, Mapping[str, Sequence[str]]]) -> Nobody:
    if not hands:
        return Nobody()
    rows = _left(hands).filter(hired=False).exclude(started_at__isnull=False, done_crew=None)
    works = tuple(rows)
    follow: dict[str, str] = {}
    jobs: dict[str, list[str]] = defaultdict(list)
    for work in works:
        for uid in hands[work.uid]["works"]:
            follow.setdefault(uid, work.name)
        for job in hands[work.uid]["jobs"]:
            jobs[job].append(work.name)
    follow |= {work.uid: work.name for work in works}
    return Nobody(works, follow, {job: some_of(names) for job, names in jobs.items()})


def too_few_of(plan: models.Plan | None) -> list[tuple[models.Activity, str, int, int]]:
    """Read the works of a plan that need more of a kind of machine than there are: kind, needed, there."""
    machines = plan.lacks.get("machines") if plan else None
    works = {work.uid: work for work in _left(uid for uid, *_ in machines)} if machines else {}
    return [(works[uid], *told) for uid, *told in machines or () if uid in works]


def _left(uids: Iterable[str]) -> QuerySet[models.Activity]:
    """Works of open jobs that are not done, in order of job and work."""
    rows = models.Activity.objects.filter(
        uid__in=list(uids), retired=False, finished_at=None, job__state__in=models.Job.OPEN
    )
    return rows.select_related("job").order_by("job_id", "order", "pk")


def _too_few(planning: Planning) -> Iterator[list[Any]]:
    """Works that are planned with fewer units of a machine than they need; the rest must be hired."""
    for uid, activity in planning.activities.items():
        there = planning.world.works[uid].machines
        for need in machines_of(activity.detail) if activity.finished_at is None else ():
            if there.get(need.machine, need.units) < need.units:
                yield [uid, need.machine, need.units, there[need.machine]]


def _followers(world: World, uid: str) -> set[str]:
    """A work, and all that is tied to come after it, straight or by others."""
    after: dict[str, list[str]] = defaultdict(list)
    for tie in world.ties:
        after[tie.before].append(tie.after)
    found, left = {uid}, [uid]
    while left:
        new = set(after[left.pop()]) - found
        found |= new
        left += new
    return found


def some_of(names: Sequence[str]) -> str:
    """Return one or two by name; of more the first, and how many others."""
    return " and ".join(names) if len(names) <= NAMED else f"{names[0]} and {len(names) - 1} more"
