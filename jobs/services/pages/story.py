"""Reads the whole story of one activity: when, who, with what, why not sooner, how far it can slip."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from django.http import Http404

from jobs import models
from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import caution_text, machine_name
from jobs.services.scope.releases import (
    may_be_released,
    release_for,
    released_by,
    releases_by_pour,
    say_hours,
)
from jobs.services.telling.speech import (
    say_day,
    say_people,
    say_room,
    say_span,
    say_time,
    spoken_days,
)
from jobs.services.telling.words import say
from jobs.services.telling.yardstick import yardstick
from jobs.services.world.lacking import nobody_of
from jobs.trade.durations import estimate
from jobs.trade.work import Sentence, Spread

from .concrete import read_cure
from .frame import local, outsider
from .may import read_may
from .nobody import why_nobody
from .ties_told import Lifted, Tied, tell_lifted, tell_ties

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from .concrete import Cure
    from .may import MayDay


LEAST_TOLD = Decimal("0.125")
"""Days that round to a quarter of one, the least that is told."""


@dataclass(frozen=True, slots=True)
class Story:
    """One activity in words."""

    uid: str
    name: str
    revision: int
    when: str
    hours: str
    who: str
    machines: tuple[str, ...]
    quantity: str
    duration: str
    why: tuple[str, ...]
    room: str
    critical: bool
    wait: str
    after: tuple[Tied, ...]
    before: tuple[Tied, ...]
    cautions: tuple[str, ...]
    sign: str
    source: str
    template: str
    done: str
    pins: str
    lifted: tuple[Lifted, ...]
    part: str
    nobody: str
    cure: Cure | None
    releases: tuple[str, ...]
    may_release: bool
    may: tuple[MayDay, ...]


def read_story(job: models.Job, uid: str, plan: models.Plan | None, now: datetime) -> Story | None:
    """Read the story of one activity of a job; None if there is no such activity.

    A bounded number of queries, however many links.
    """
    activity = job.activities.filter(uid=uid).select_related("zone", "only_crew").first()
    if activity is None:
        return None
    placed = models.PlanRow.objects.filter(plan=plan, activity=activity)
    row = placed.select_related("crew", "lent").first() if plan else None
    template = current_library().templates.get(activity.template)
    planned = _Planned(job, row)
    links_in = list(activity.links_in.select_related("before", "after"))
    links_out = list(activity.links_out.select_related("before", "after"))
    releases = releases_by_pour({activity.pk, *(link.before_id for link in links_in)})
    own = releases.get(activity.pk, [])
    return Story(
        uid=activity.uid,
        name=activity.name,
        revision=activity.revision,
        when=planned.when(),
        hours=planned.hours(),
        who=planned.who(activity),
        machines=planned.machines(),
        quantity=yardstick().quantity(activity.quantity, activity.unit),
        duration=_spread(activity),
        why=planned.why(),
        room=planned.room(),
        critical=bool(row and row.critical),
        wait=planned.wait(own),
        after=tell_ties(links_in, "before", releases),
        before=tell_ties(links_out, "after", releases),
        cautions=tuple(caution_text(key) for key in activity.detail.get("cautions", [])),
        sign=str(activity.detail.get("sign", "")),
        source=_source(template.source) if template else "",
        template=template.key if template else "",
        done=_done(activity, job),
        pins=_pins(activity),
        lifted=tuple(tell_lifted(link) for link in (*links_in, *links_out) if link.lifted),
        part=_part(activity),
        nobody=why_nobody(activity) if activity.uid in nobody_of(plan).uids else "",
        cure=read_cure(activity, row.finish, job, now, own) if row else None,
        releases=tuple(map(_release, own)),
        may_release=may_be_released(activity),
        may=read_may(activity, job, now),
    )


def find_story(job: models.Job, uid: str, plan: models.Plan | None, now: datetime) -> Story:
    """Read a story that must be there, or answer 404."""
    story = read_story(job, uid, plan, now)
    if story is None:
        raise Http404(f"No work {uid} in {job}")
    return story


@dataclass(frozen=True, slots=True)
class _Planned:
    """What the plan says of the activity; empty words where it says nothing."""

    job: models.Job
    row: models.PlanRow | None

    def when(self) -> str:
        if self.row is None:
            return "not planned yet"
        start, finish = local(self.row.start, self.job), local(self.row.finish, self.job)
        days = len(self.row.segments)
        span = say_span(start.date(), finish.date())
        return f"{span} ({days} working days)" if days > 1 else span

    def hours(self) -> str:
        if self.row is None:
            return ""
        start, finish = local(self.row.start, self.job), local(self.row.finish, self.job)
        return f"{say_time(start)} to {say_time(finish)}"

    def who(self, activity: models.Activity) -> str:
        if self.row is None or self.row.crew is None:
            known = self.row is not None or activity.detail.get("outside")
            return outsider(activity) if known else "no crew yet"
        people = f", {say_people(self.row.people)}" if self.row.people else ""
        return f"{self.row.crew_names}{people}"

    def machines(self) -> tuple[str, ...]:
        rows = self.row.machines if self.row else []
        return tuple(machine_name(kind) for kind, _, _ in rows)

    def why(self) -> tuple[str, ...]:
        pairs = self.row.why if self.row else []
        return tuple(filter(None, (say(Sentence(key, values)) for key, values in pairs)))

    def room(self) -> str:
        if self.row is None:
            return ""
        finish, latest = local(self.row.finish, self.job), local(self.row.late_finish, self.job)
        told = "" if self.row.critical else say_room(self.row.float_hours, finish, latest)
        return f"{told}{self._moved_by()}" if told else "no room to slip"

    def _moved_by(self) -> str:
        """Say how far it can slip before other work moves with it; nothing where that is not known."""
        if self.row is None or self.row.free_finish is None:
            return ""
        if self.row.free_finish >= self.row.late_finish:
            return ", and nothing else moves"
        finish, free = (
            local(at, self.job).date() for at in (self.row.finish, self.row.free_finish)
        )
        return (
            f"; to {say_day(free)} nothing else moves"
            if free > finish
            else "; other work moves with it"
        )

    def wait(self, releases: Iterable[models.Release]) -> str:
        if self.row is None or self.row.wait_until is None:
            return ""
        until = local(self.row.wait_until, self.job)
        kind = current_library().waits.get(self.row.wait)
        why = f": {kind.why}" if kind else ""
        release = release_for(releases, self.row.wait)
        if release is not None:
            why = f", {released_by(release)}"
        return f"until {say_day(until)}, {say_time(until)}{why}"


def _source(codes: str) -> str:
    """Return where a pace comes from, in words."""
    sources = current_library().sources
    titles = [sources[code].title if code in sources else code for code in codes.split("; ")]
    return "; ".join(titles)


def _spread(activity: models.Activity) -> str:
    low, high = spoken_days(activity.days_low), spoken_days(activity.days_high)
    usual = f"{spoken_days(activity.days)} with the usual {say_people(activity.people)}"
    if low == high:
        return usual
    spread = Spread(activity.days_low, activity.days, activity.days_high)
    guess = estimate(spread)
    give = guess.variance.sqrt()
    about = f", give or take {spoken_days(give)}" if give >= LEAST_TOLD else ""
    return f"{usual}; {low} if all goes well, {high} if it does not, {spoken_days(guess.mean)} on average{about}"


def _release(row: models.Release) -> str:
    """One release in words, with the engineer's note."""
    told = f"{row.get_allows_display()} {say_hours(row.hours)} after the pour, {released_by(row)}"
    return f"{told[0].upper()}{told[1:]}" + (f": {row.note}" if row.note else "")


def _part(activity: models.Activity) -> str:
    """How much of the work this part is, empty where it is whole."""
    if activity.extra:
        return activity.get_extra_display()
    if activity.key.startswith("hand/") and activity.part_of_id is None:
        return "a work of your own"
    return f"{activity.share} % of the work" if activity.detail.get("part") else ""


def _pins(activity: models.Activity) -> str:
    """What is fixed by hand, empty where nothing is."""
    told = []
    if activity.not_before:
        told.append(f"not before {say_day(activity.not_before)}")
    if activity.not_after:
        told.append(f"not after {say_day(activity.not_after)}")
    if activity.only_crew:
        told.append(f"only by {activity.only_crew}")
    if activity.hired:
        told.append("by somebody hired")
    return ", ".join(told)


def _done(activity: models.Activity, job: models.Job) -> str:
    if activity.finished_at:
        return f"done {say_day(local(activity.finished_at, job))}"
    if activity.started_at:
        return f"running since {say_day(local(activity.started_at, job))}, {activity.done_share} % done"
    return ""
