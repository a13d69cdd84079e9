"""Links by hand: tied, told what stands against them, overridden with a reason, taken back."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx
from django.db import transaction

from jobs import models
from jobs.services.history import record
from jobs.services.planning.conflicts import refuse_impossible
from jobs.services.scope.hands import CHAINED
from jobs.services.scope.takeoff import expand_job
from jobs.services.telling.words import say
from jobs.trade.errors import TradeError
from jobs.trade.overrides import BY_LAW
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Collection

    from jobs.services.history import Who

MINUTES = {"hours": 60, "days": 24 * 60}
SLOTS_A_DAY = 4
IN_ORDER = "put in this order by hand"


class HandLink(NamedTuple):
    """A link as somebody tells it; ``lag`` in the unit of ``clock``, ``at_most`` in minutes."""

    before: models.Activity
    after: models.Activity
    relation: str
    lag: int = 0
    clock: str = "elapsed"
    at_most: int | None = None
    why: str = ""


class Standing(NamedTuple):
    """A link that stands against one by hand."""

    ends: str
    """Names it among the links of its job, whether stored or not."""
    before: str
    after: str
    why: str
    by_rule: bool


class Against(Exception):
    """What stands against a link by hand: a rule with a longer wait, or works that come round in a ring."""

    def __init__(self, rows: tuple[Standing, ...], *, ring: bool) -> None:
        super().__init__(rows, ring)
        self.rows, self.ring = rows, ring


def clock_of(amount: int, unit: str) -> tuple[int, str]:
    """Return amount and clock of a wait told in hours, days, working days or business days."""
    if unit == "work_days":
        return amount * SLOTS_A_DAY, "work"
    if unit == "business_days":
        return amount, "business"
    return amount * MINUTES[unit], "elapsed"


@transaction.atomic
def tie(link: HandLink, who: Who, *, lifts: Collection[str] = (), reason: str = "") -> models.Link:
    """Tie two works by hand; said twice it is tied once.

    Parameters
    ----------
    lifts
        Ends of the rules in the way that do not hold here, for the reason given.

    Raises
    ------
    Against
        If a rule asks for more, or the works would wait for each other in a ring, and nobody said
        with a reason what gives way.
    CannotAllBeKept
        If it is proven that not everything wished by hand can be kept with it.
    TradeError
        If the two are one, or not of one job.
    """
    _check(link)
    job = link.before.job
    if lifts and reason:
        _lift_all(job, set(lifts), reason, who)
    same = job.links.filter(before=link.before, after=link.after, relation=link.relation).first()
    if same is not None and same.rule and _weaker(link, same):
        _refuse_firm(same)
        if not reason:
            raise Against((_standing(same),), ring=False)
    row = _write(link, same, who, reason)
    expand_job(job, now=who.now)
    _refuse_ring(row)
    refuse_impossible(who.now, link.after.uid, before=link.before.uid)
    record("tied by hand", by=who.by, at=who.now, job=job, after=told(row))
    return row


@transaction.atomic
def put_before(
    first: models.Activity,
    then: models.Activity,
    who: Who,
    *,
    lifts: Collection[str] = (),
    reason: str = "",
) -> models.Link:
    """Do one work before another; the other order, if somebody put them so, is undone.

    Raises
    ------
    Against
        If a rule asks for the other order, or the works would wait for each other in a ring, and nobody
        said with a reason what gives way.
    TradeError
        If the two are one, or not of one job.
    """
    link = HandLink(first, then, models.Link.Relation.FINISH_START, why=IN_ORDER)
    _check(link)
    other = first.job.links.filter(before=then, after=first, rule="").first()
    if other is not None:
        untie(other, who)
    return tie(link, who, lifts=lifts, reason=reason)


@transaction.atomic
def untie(row: models.Link, who: Who) -> None:
    """Take a link by hand away; a rule it stood in for holds again.

    Raises
    ------
    TradeError
        If it is a rule's.
    """
    if row.rule:
        raise TradeError("this link is a rule's", remedy="say that it does not hold here instead")
    before, job = told(row), row.job
    row.delete()
    expand_job(job, now=who.now)
    record("untied by hand", by=who.by, at=who.now, job=job, before=before)


@transaction.atomic
def lift(row: models.Link, reason: str, who: Who) -> None:
    """Say that a rule does not hold here; it stays visible with the reason.

    Raises
    ------
    TradeError
        If it is a link by hand, or no reason was given.
    """
    if not row.rule:
        raise TradeError("this link is by hand", remedy="untie it instead")
    _refuse_firm(row)
    if not reason:
        raise TradeError("nobody said why", remedy="give the reason: it stays beside the rule")
    row.lifted, row.reason, row.by = True, reason, who.by
    row.save()
    expand_job(row.job, now=who.now)
    record("rule lifted", by=who.by, at=who.now, job=row.job, after=told(row))


@transaction.atomic
def hold_again(row: models.Link, who: Who) -> None:
    """Let a lifted rule hold again.

    Raises
    ------
    Against
        If works would wait for each other in a ring.
    """
    before, job = told(row), row.job
    row.lifted, row.reason, row.by = False, "", ""
    row.save()
    expand_job(job, now=who.now)
    _refuse_ring(row)
    record("rule holds again", by=who.by, at=who.now, job=job, before=before)


def named(job: models.Job, ends: Collection[str]) -> tuple[Standing, ...]:
    """Return the rules somebody chose to lift, to be chosen again where a tie was refused; nonsense is left out.

    Those that stand up only behind another lifted one are not stored: they are told by the works they tie.
    """
    if not ends:
        return ()
    names = {str(pk): name for pk, name in job.activities.values_list("pk", "name")}
    stored = {_ends(row): row for row in job.links.select_related("before", "after")}
    found = []
    for told_ends in dict.fromkeys(ends):
        before, _, rest = told_ends.partition("-")
        after = rest.partition("-")[0]
        if (row := stored.get(told_ends)) is not None:
            found.append(_standing(row))
        elif before in names and after in names:
            found.append(Standing(told_ends, names[before], names[after], "", by_rule=True))
    return tuple(found)


def told(row: models.Link) -> dict[str, str]:
    """Return a link as the record keeps it."""
    facts = {"first": row.before.name, "then": row.after.name, "how": row.relation}
    return facts | ({"reason": row.reason} if row.reason else {})


def _check(link: HandLink) -> None:
    if link.before == link.after:
        raise TradeError("a work cannot wait for itself", remedy="choose another one")
    if link.before.job_id != link.after.job_id:
        raise TradeError("these works are of two jobs", remedy="tie works of one job only")


def _weaker(link: HandLink, rule: models.Link) -> bool:
    """Return True if a link asks for less than the rule between the same two."""
    if rule.lag and (link.clock != rule.clock or link.lag < rule.lag):
        return True
    return rule.at_most is not None and (link.at_most is None or link.at_most > rule.at_most)


def _lift_all(job: models.Job, lifts: set[str], reason: str, who: Who) -> None:
    """Lift rules one layer after the other: what one of them implied stands up once it is lifted."""
    while lifts:
        rows = [
            row for row in job.links.filter(lifted=False).exclude(rule="") if _ends(row) in lifts
        ]
        if not rows:
            return
        for row in rows:
            _refuse_firm(row)
            row.lifted, row.reason, row.by = True, reason, who.by
            row.save()
        lifts -= {_ends(row) for row in rows}
        expand_job(job, now=who.now)


def _refuse_firm(row: models.Link) -> None:
    """What the law asks for, and the order of parts, is not for us to lift."""
    if row.wait in BY_LAW:
        raise TradeError(
            "the law asks for this notice before digging",
            remedy="call the state's notice center; its answer comes first",
        )
    if row.rule in CHAINED.values():
        raise TradeError("parts of one work follow each other", remedy="put them together again")


def _ends(row: models.Link) -> str:
    return f"{row.before_id}-{row.after_id}-{row.relation}"


def _refuse_ring(link: models.Link) -> None:
    rows = link.job.links.filter(
        lifted=False, before__retired=False, after__retired=False
    ).select_related("before", "after")
    by_ends = {(row.before_id, row.after_id): row for row in rows}
    graph = nx.DiGraph(by_ends.keys())
    graph.add_nodes_from((link.before.pk, link.after.pk))
    if not nx.has_path(graph, link.after.pk, link.before.pk):
        return
    path = nx.shortest_path(graph, link.after.pk, link.before.pk)
    ring = [by_ends[ends] for ends in pairwise(path)]
    raise Against(tuple(map(_standing, ring)), ring=True)


def _standing(row: models.Link) -> Standing:
    return Standing(_ends(row), row.before.name, row.after.name, sentence(row), bool(row.rule))


def sentence(row: models.Link) -> str:
    """Return why two works are tied, in words."""
    return say(Sentence(row.why[0], row.why[1])) if row.why else ""


def _write(link: HandLink, same: models.Link | None, who: Who, reason: str) -> models.Link:
    rule = sentence(same) if same is not None and same.rule else ""
    row = same or models.Link(before=link.before, after=link.after, relation=link.relation)
    row.job, row.rule, row.wait, row.lifted = link.before.job, "", "", False
    row.lag, row.clock, row.at_most = link.lag, link.clock, link.at_most
    row.why, row.reason, row.by = hand_why(link.why, reason if rule else "", rule), reason, who.by
    row.save()
    return row


def hand_why(why: str, reason: str = "", rule: str = "") -> list[object]:
    """Return the sentence of a link by hand, as stored."""
    if rule and reason:
        return ["by-hand-against", {"why": reason.rstrip("."), "rule": rule.rstrip(".")}]
    return ["by-hand", {"why": why.rstrip(".")}] if why else ["by-hand-plain", {}]
