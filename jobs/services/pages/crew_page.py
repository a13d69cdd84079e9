"""Reads a crew's own page: today and the next working day, yard by yard, with what a thumb may say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote
from uuid import uuid4

from django.db.models import Q

from jobs import models
from jobs.services.company.gate import BEFORE
from jobs.services.numbers.library_words import caution_text, machine_name, work_name
from jobs.services.telling.words import clock_in, say, spoken
from jobs.services.telling.yardstick import Yardstick
from jobs.services.world.row_days import stretches
from jobs.trade.work import Sentence

from .frame import published_plan
from .sky import Sky, read_sky

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from crews.models import Crew
    from jobs.services.world.row_days import Stretch

HORIZON = timedelta(days=10)
Kind = models.DayLog.Kind
SAYS = (Kind.STARTED, Kind.PART, Kind.DONE, Kind.NOT_TODAY)
APPLE = ("iPhone", "iPad")
"""Words in what a browser says of itself whose maps open by an address of their own."""


class Work(NamedTuple):
    """One work of the day, with its buttons where something may be said of it.

    ``client`` is the tap's own number: a tap sent twice counts once. ``off`` if it was said not to be for today,
    ``last`` the line of today that a thumb may take back.
    """

    uid: str
    name: str
    hours: str
    amount: str
    machines: str
    state: str
    begun: bool
    today: bool
    may: bool
    off: bool
    last: int | None
    client: str


class Visit(NamedTuple):
    """A yard the crew is in that day."""

    job: str
    slug: str
    address: str
    maps: str
    access: str
    gate: bool
    sky: Sky | None
    cautions: tuple[str, ...]
    works: tuple[Work, ...]
    today: bool
    client: str
    """Number of the next photo."""


class CrewDay(NamedTuple):
    """A day of the crew; ``left`` if rain may stop something today that nobody has said yet."""

    word: str
    day: str
    visits: tuple[Visit, ...]
    left: bool


@dataclass(frozen=True, slots=True)
class CrewPage:
    """Today and the next working day of one crew."""

    crew: str
    person: str
    language: str
    office: str
    """The office's telephone number."""
    days: tuple[CrewDay, ...]
    rained: str

    def shows(self, uid: str) -> bool:
        """Return True if a work or a yard stands among today's, so that what is wrong is told beside it."""
        today = [visit for day in self.days for visit in day.visits if visit.today]
        works = (work.uid for visit in today for work in visit.works)
        return uid in {*works, *(visit.slug for visit in today)}


Entry = tuple[models.PlanRow, "Stretch"]


@dataclass(frozen=True, slots=True)
class _Teller:
    """What all works of a page are told by: who asks, in which language, and the last line of today on each work."""

    by: str
    language: str
    browser: str
    now: datetime
    stick: Yardstick
    last: Mapping[int, models.DayLog]


def read_crew_page(crew: Crew, person: str, now: datetime, browser: str = "") -> CrewPage:
    """Read the page in a bounded number of queries.

    Parameters
    ----------
    browser
        What the phone says of itself: how its maps are opened.
    """
    today = now.date()
    by_day = _by_day(crew, now)
    following = min((day for day in by_day if day > today), default=today + timedelta(days=1))
    company = models.Company.objects.first()
    stick = Yardstick(company is not None and company.units == models.Company.Units.METRIC)
    last = _last_said(by_day.get(today, []), today)
    teller = _Teller(f"{person}, {crew}", crew.language, browser, now, stick, last)
    days = tuple(
        _day(day, tuple(_visits(by_day.get(day, []), day, teller)), today, crew.language)
        for day in (today, following)
    )
    office = company.phone if company else ""
    return CrewPage(crew.name, person, crew.language, office, days, str(uuid4()))


def _last_said(entries: Iterable[Entry], today: date) -> dict[int, models.DayLog]:
    """The last line of today on each work that says how far it is, or that it is not for today."""
    lines = models.DayLog.objects.filter(
        activity__in=[row.activity_id for row, _ in entries],
        day=today,
        kind__in=SAYS,
        corrected_by=None,
    )
    return {line.activity_id: line for line in lines.order_by("pk") if line.activity_id}


def works_today(crew: Crew, now: datetime) -> list[models.Activity]:
    """Return what the crew has before it today and has not done, first things first."""
    entries = _by_day(crew, now).get(now.date(), [])
    return [row.activity for row, _ in entries if row.activity.finished_at is None]


def _day(day: date, visits: tuple[Visit, ...], today: date, language: str) -> CrewDay:
    left = any(work.may and not work.off for visit in visits for work in visit.works)
    keys = {today: "crew-today", today + timedelta(days=1): "crew-tomorrow"}
    word = say(Sentence(keys.get(day, "crew-then")), language)
    return CrewDay(word, spoken(day.isoformat(), language), visits, left)


def _by_day(crew: Crew, now: datetime) -> dict[date, list[Entry]]:
    """The crew's published work from today on, in the order of the day."""
    plan = published_plan()
    found: dict[date, list[Entry]] = {}
    if plan is None:
        return found
    near = plan.rows.filter(
        Q(crew=crew) | Q(lent=crew),
        finish__gt=now - timedelta(days=1),
        start__lt=now + HORIZON,
        activity__job__state__in=models.Job.OPEN,
    ).select_related("activity__job__gate_code")
    for row in near:
        for stretch in stretches(row):
            if stretch.day >= now.date():
                found.setdefault(stretch.day, []).append((row, stretch))
    return {day: sorted(them, key=lambda it: it[1].begins) for day, them in found.items()}


def _visits(entries: Sequence[Entry], day: date, teller: _Teller) -> Iterator[Visit]:
    language, now = teller.language, teller.now
    works = [row.activity for row, _ in entries]
    told = read_sky(_yards(entries), day, now, language, works=works)
    skies = {sky.slug: sky for sky in told}
    for job, group in groupby(entries, key=lambda entry: entry[0].activity.job):
        there = list(group)
        yield Visit(
            job=job.name,
            slug=job.slug,
            address=job.address,
            maps=_maps(job, teller.browser),
            access=job.access_notes,
            gate=hasattr(job, "gate_code") and there[0][1].begins <= now + BEFORE,
            sky=skies.get(job.slug),
            cautions=tuple(_cautions((row.activity for row, _ in there), language)),
            works=tuple(
                _work(row, stretch, teller, today=day == now.date()) for row, stretch in there
            ),
            today=day == now.date(),
            client=str(uuid4()),
        )


def _yards(entries: Iterable[Entry]) -> list[models.Job]:
    return list({row.activity.job.pk: row.activity.job for row, _ in entries}.values())


def _maps(job: models.Job, browser: str) -> str:
    """Return what opens the phone's own map at the yard (RFC 5870 but on phones that know it not)."""
    if any(word in browser for word in APPLE):
        return f"maps:?q={quote(job.address)}"
    return f"geo:0,0?q={quote(job.address)}"


def _cautions(works: Iterable[models.Activity], language: str) -> Iterator[str]:
    """The cautions that belong to the day's works, each once."""
    keys = dict.fromkeys(key for work in works for key in work.detail.get("cautions", []))
    return (text for key in keys if (text := caution_text(key, language)))


def _work(row: models.PlanRow, stretch: Stretch, teller: _Teller, *, today: bool) -> Work:
    work, language = row.activity, teller.language
    last = teller.last.get(work.pk) if today else None
    mine = last is not None and last.by == teller.by
    kinds = dict.fromkeys(machine_name(kind, language) for kind, _, _ in row.machines)
    hours = {"begins": clock_in(stretch.begins, language), "ends": clock_in(stretch.ends, language)}
    state = say(_state(work, last, language), language)
    return Work(
        uid=work.uid,
        name=work_name(work, language),
        hours=say(Sentence("crew-hours", hours), language),
        amount=teller.stick.quantity(work.quantity, work.unit, language),
        machines=", ".join(kinds),
        state=state,
        begun=work.started_at is not None,
        today=today,
        may=today and work.finished_at is None,
        off=last is not None and last.kind == Kind.NOT_TODAY,
        last=last.pk if last and mine else None,
        client=str(uuid4()),
    )


def _state(work: models.Activity, last: models.DayLog | None, language: str) -> Sentence:
    """How far a work is, or why it is not for today; nothing for one that nobody said anything of."""
    if work.finished_at is not None:
        return Sentence("crew-state-done")
    if last is not None and last.kind == Kind.NOT_TODAY:
        if not last.cause:
            return Sentence("crew-state-not-today")
        cause = say(Sentence(f"cause-{last.cause}"), language)
        return Sentence("crew-state-not-today-why", {"cause": cause})
    if work.started_at is None:
        return Sentence("")
    if work.done_share:
        return Sentence("crew-state-part", {"share": work.done_share})
    return Sentence("crew-state-started")
