"""Checks of a schedule's dates: hard dates, room to slip, length, days that cannot be, works without a crew.

Thresholds are those of the fourteen-point assessment of DCMA-EA PAM 200.1 (read in summaries).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .case import Check, Unit, Verdict, none_allowed, share_at_most

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.world import Work

    from .case import Case, Finding

MOST_DAYS = 44
"""Working days of float, and of length, above which a work is high: two months."""
HIGH_SHARE = 0.5
"""A job shorter than twice that calls a float high from this share of its own length (ours)."""
MOST_HARD, MOST_HIGH, MOST_LONG = 5, 5, 5
"""Percent of works; each check names its source."""
LISTED_DAYS = 1
"""Working days from which work that nobody of ours does is listed."""
SLOT_HOURS = 2


def hard_dates(case: Case) -> Check:
    """Few works have a last day fixed by hand: it stops a plan from telling when it will be."""
    left = case.left()
    found = [
        case.about(work, "hard-date", day=case.day(work, work.pin.not_after))
        for work in left
        if work.pin.not_after is not None
    ]
    return share_at_most("hard-dates", found, len(left), MOST_HARD, "DCMA-EA PAM 200.1, check 5")


def high_float(case: Case) -> Check:
    """Few works can slip for very long: more often than not, what should wait for them is not tied."""
    limit = {job: _high(case, job) for job in case.jobs()}
    left = case.left()
    found = [
        case.about(work, "high-float", days=int(case.float_days(work)), limit=int(limit[work.job]))
        for work in left
        if case.float_days(work) > limit[work.job]
    ]
    source = "DCMA-EA PAM 200.1, check 6; scaled to the length of short jobs by us"
    return share_at_most("high-float", found, len(left), MOST_HIGH, source)


def _high(case: Case, job: str) -> float:
    """Working days of float above which it is high in a job: 44, or half the length of a short one."""
    if not case.counted(job):
        return MOST_DAYS
    start = min(case.plan[work.id].start for work in case.all_of(job))
    length = case.usual(job).count(max(start, 0), case.finish(job)) / case.day_slots(job)
    return min(MOST_DAYS, HIGH_SHARE * length)


def negative_float(case: Case) -> Check:
    """Nothing stands later than its job's promise allows."""
    found: list[Finding] = []
    promised = 0
    for job in case.jobs():
        hours = case.network.promise_float(job)
        if hours is None:
            continue
        promised += 1
        found += [
            case.about(work, "negative-float")
            for work in case.left()
            if work.job == job and case.network.rows[work.id].total_float + hours / SLOT_HOURS < 0
        ]
    return none_allowed("negative-float", found, promised, "DCMA-EA PAM 200.1, check 7")


def long_works(case: Case) -> Check:
    """Few works are so long that nobody sees for two months whether they are on time."""
    left = case.left()
    found = [
        case.about(work, "long-work", days=int(case.days(work)))
        for work in left
        if case.days(work) > MOST_DAYS
    ]
    return share_at_most("long-works", found, len(left), MOST_LONG, "DCMA-EA PAM 200.1, check 8")


def invalid_dates(case: Case) -> Check:
    """Nothing is logged for a day to come, and nothing is still planned for a day gone by."""
    works = list(case.works())
    found = [finding for work in works for finding in _invalid(case, work)]
    return none_allowed("invalid-dates", found, len(works), "DCMA-EA PAM 200.1, check 9")


def _invalid(case: Case, work: Work) -> Iterator[Finding]:
    now, at = case.world.now, case.shown.get(work.id)
    if work.done is not None and max(work.done.start, work.done.end or 0) >= now:
        yield case.about(
            work, "done-tomorrow", day=case.day(work, max(work.done.start, work.done.end or 0))
        )
    elif at is None or (work.done is not None and work.done.end is not None):
        return
    elif work.done is not None and at.end < now:
        yield case.about(work, "due-yesterday", day=case.day(work, at.end))
    elif work.done is None and at.start < now:
        yield case.about(work, "begun-yesterday", day=case.day(work, at.start))


def no_crew(case: Case) -> Check:
    """Works of a day or more that none of our crews does: told, so that nobody forgets to ask for them.

    It fails where there is a work that nobody can do, however short: a plan rests on somebody still to be hired.
    """
    left = case.left()
    nobody = [work for work in left if work.id in case.nobody]
    others = [work for work in left if case.by_others(work) and work not in nobody]
    others = [work for work in others if case.days(work) >= LISTED_DAYS]
    found = [case.about(work, "nobody") for work in nobody]
    found += [case.about(work, "no-crew", days=int(case.days(work))) for work in others]
    listed = Verdict.LISTED if found else Verdict.PASSES if left else Verdict.NOTHING
    return Check(
        "no-crew",
        Verdict.FAILS if nobody else listed,
        Unit.COUNT,
        len(found),
        None,
        len(left),
        "DCMA-EA PAM 200.1, check 10 (from memory)",
        tuple(found),
    )
