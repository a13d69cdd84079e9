"""Checks of a schedule's logic: what is tied to nothing, leads, lags, and kinds of links.

Thresholds are those of the fourteen-point assessment of DCMA-EA PAM 200.1 (read in summaries; some print
"under 5 %", exactly 5 % passes here).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.trade.work import Relation

from .case import HUNDRED, Check, Unit, Verdict, none_allowed, share_at_most

if TYPE_CHECKING:
    from .case import Case, Finding

MOST_LOOSE, MOST_LAGS, LEAST_PLAIN = 5, 5, 90
"""Percent of works, of links, and of links again; each check names its source."""


def missing_logic(case: Case) -> Check:
    """Every work comes after something and before something, but for a job's first and its last.

    What a job begins with waits for nobody, and nobody waits for what it ends with: one of each is let
    off in every job.
    """
    after = {tie.before for tie in case.world.ties}
    before = {tie.after for tie in case.world.ties}
    found: dict[str, Finding] = {}
    for job in case.jobs():
        works = sorted(case.all_of(job), key=lambda work: case.plan[work.id].start)
        begins = [work for work in works if work.id not in before]
        ends = sorted(
            (work for work in works if work.id not in after), key=lambda w: -case.plan[w.id].end
        )
        found |= {work.id: case.about(work, "no-follower") for work in ends[1:]}
        found |= {work.id: case.about(work, "no-forerunner") for work in begins[1:]}
    left = [work.id for work in case.left()]
    return share_at_most(
        "missing-logic",
        [found[work] for work in left if work in found],
        len(left),
        MOST_LOOSE,
        "DCMA-EA PAM 200.1, check 1",
    )


def leads(case: Case) -> Check:
    """Nothing begins so and so long before something else is done: a lead says no reason."""
    names = {work.id: work.name for work in case.world.works.values()}
    found = [
        case.about(case.world.works[tie.after], "lead", before=names[tie.before])
        for tie in case.ties()
        if tie.lag.amount < 0
    ]
    return none_allowed("leads", found, len(case.ties()), "DCMA-EA PAM 200.1, check 2")


def lags(case: Case) -> Check:
    """Time between two works has a reason.

    A wait of the library or of a rule (a cure, a kill period, a notice) carries its own reason and source and
    is no lag; what is left is time somebody put between two works by hand.
    """
    names = {work.id: work.name for work in case.world.works.values()}
    found = [
        case.about(case.world.works[tie.after], "lag", before=names[tie.before])
        for tie in case.ties()
        if tie.lag.amount > 0 and not tie.lag.wait and not tie.rule
    ]
    return share_at_most("lags", found, len(case.ties()), MOST_LAGS, "DCMA-EA PAM 200.1, check 3")


def kinds_of_links(case: Case) -> Check:
    """Most works simply come after others are done: other kinds of links are easily misread."""
    names = {work.id: work.name for work in case.world.works.values()}
    ties = case.ties()
    other = [tie for tie in ties if tie.relation is not Relation.FINISH_START]
    plain = len(ties) - len(other)
    passes = HUNDRED * plain >= LEAST_PLAIN * len(ties)
    return Check(
        "kinds-of-links",
        Verdict.NOTHING if not ties else Verdict.PASSES if passes else Verdict.FAILS,
        Unit.PERCENT,
        HUNDRED * plain / len(ties) if ties else 0.0,
        LEAST_PLAIN,
        len(ties),
        "DCMA-EA PAM 200.1, check 4",
        tuple(
            case.about(case.world.works[tie.after], "other-kind", before=names[tie.before])
            for tie in other
        ),
    )
