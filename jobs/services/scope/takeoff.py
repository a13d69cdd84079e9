"""Expands a job: its scope unfolded again, compared by key with what is stored, and kept in step.

What somebody did, planned or published is never deleted: work no longer in the scope is retired, and comes
back as itself when the scope does.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.dispatch import Signal

import crews.models as people
from jobs import models
from jobs.services.numbers.library import adopt_newest, library_for
from jobs.services.turns import take_turn
from jobs.trade.errors import ScopeError
from jobs.trade.expand import expand_scope
from jobs.trade.scope import Item, PassageIn, Yard, ZoneIn

from .detail import to_detail
from .hands import (
    OWN,
    is_by_hand,
    loose_hands,
    own_values,
    parts_by_root,
    put_by,
    through_parts,
    told_to_parts,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

    from jobs.trade.scope import Expansion
    from jobs.trade.work import Activity, Link

FIELDS = (
    "name", "template", "zone", "skill", "quantity", "unit", "days_low", "days", "days_high",
    "people", "least", "material", "detail", "order", "retired",
)  # fmt: skip
"""What an expansion decides of an activity; all else of a row is somebody's own."""
THOUSANDTH = Decimal("0.001")
expanded = Signal()
"""Sent with ``job`` and ``now`` after a job is expanded, within the same transaction: its works may be called otherwise."""


@transaction.atomic
def expand_job(job: models.Job, *, now: datetime) -> Expansion:
    """Expand a job again and keep its activities and rule links in step, in a bounded number of queries.

    Returns
    -------
    Expansion
        With the problems that do not stop it (ways in) and what was assumed.

    Raises
    ------
    ScopeError
        If an answer cannot be taken; nothing is stored then.
    CycleError
        If works would wait for each other in a ring.
    """
    take_turn()
    library = library_for(job) if job.library else adopt_newest(job)
    expansion = expand_scope(yard=yard_of(job), library=library)
    _refuse_bad_answers(job, expansion)
    keeper = _Keeper(job, now)
    rows = keeper.activities(expansion.activities)
    keeper.links(expansion.links, rows)
    expanded.send(expand_job, job=job, now=now)
    return expansion


def yard_of(job: models.Job) -> Yard:
    """Return a job as the trade reads it."""
    zones = list(job.zones.all())
    return Yard(
        state=job.us_state,
        soil=job.soil,
        zones=tuple(ZoneIn(z.uid, z.name, z.area_ft2, z.whole) for z in zones),
        passages=tuple(map(_passage, job.passages.select_related("start", "end"))),
        items=tuple(map(_item, built_items(job))),
        starts_on=job.starts_on,
        options={str(key): answer_word(value) for key, value in job.options.items()},
        owned=frozenset(people.Machine.objects.filter(active=True).values_list("kind", flat=True)),
        lifted=frozenset(
            job.links.filter(lifted=True).values_list("before__key", "after__key", "relation")
        ),
    )


def built_items(job: models.Job) -> list[models.ScopeItem]:
    """Return the items that are to be built: not those of a change order that nobody signed, nor those
    that a signed one leaves out.
    """
    orders, does = models.ChangeOrder.State, models.ChangeLine.Does
    lines = models.ChangeLine.objects.filter(order__job=job, item__isnull=False)
    waiting = lines.filter(does=does.ITEM).exclude(order__state=orders.SIGNED)
    out = lines.filter(does=does.ITEM_OUT, order__state=orders.SIGNED)
    items = job.items.exclude(pk__in=waiting.values("item")).exclude(pk__in=out.values("item"))
    return list(items.select_related("zone"))


def answer_word(value: object) -> str:
    """Return an answer as the takeoff reads it: a file may say ``hoa = true``."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _passage(row: models.Passage) -> PassageIn:
    return PassageIn(
        uid=row.uid,
        name=row.name,
        start=row.start.uid if row.start else "",
        end=row.end.uid,
        width=row.width,
        headroom=row.headroom,
        load_lb=row.load_lb,
        floor=row.floor,
        slope_percent=row.slope_percent,
        length_ft=row.length_ft,
    )


def _item(row: models.ScopeItem) -> Item:
    answers = {str(key): answer_word(value) for key, value in row.answers.items()}
    return Item(row.uid, row.assembly, row.zone.uid, answers, row.name)


def _refuse_bad_answers(job: models.Job, expansion: Expansion) -> None:
    """An item whose answers cannot be taken stops everything: half a scope is no scope."""
    for problem in expansion.problems:
        if problem.key:
            item = job.items.filter(uid=problem.where).select_related("zone").first()
            where = f"{item.assembly} in {item.zone.name}" if item else problem.where
            raise ScopeError(problem.reason, remedy=problem.remedy, where=f"{where}, {problem.key}")


@dataclass(slots=True)
class _Keeper:
    """Compares an expansion with the rows of a job and writes the difference."""

    job: models.Job
    now: datetime

    def activities(self, wanted: Sequence[Activity]) -> dict[str, models.Activity]:
        """Keep, change, add, revive and retire activities; return the rows by key."""
        rows = {row.key: row for row in models.Activity.objects.filter(job=self.job)}
        parts = parts_by_root(rows.values())
        zones = dict(self.job.zones.values_list("uid", "pk"))
        changed: list[models.Activity] = []
        added: list[models.Activity] = []
        keys = {str(activity.key) for activity in wanted}
        for order, activity in enumerate(wanted, 1):
            values = _values(activity, order, zones)
            row = rows.get(str(activity.key))
            if row is None:
                added.append(self._fresh(str(activity.key), values))
                continue
            split = [row, *(part for part in parts.get(row.pk, ()) if not put_by(part))]
            keys |= {part.key for part in split}
            for part, told in told_to_parts(values, split):
                if any(getattr(part, name) != value for name, value in told.items()):
                    changed.append(self._changed(part, told))
        own = [row for row in rows.values() if is_by_hand(row) and row.part_of_id is None]
        mine = [one for row in own for one in (row, *parts.get(row.pk, ()))]
        keys |= {one.key for one in mine if not put_by(one)}
        changed += [one for row in own if not row.retired for one in self._own(row, parts)]
        gone = [row for key, row in rows.items() if key not in keys and not row.retired]
        changed += self._drop(gone)
        models.Activity.objects.bulk_update(changed, [*FIELDS, "revision", "modified"])
        models.Activity.objects.bulk_create(added)
        return {row.key: row for row in [*rows.values(), *added] if row.key in keys}

    def _own(
        self, row: models.Activity, parts: Mapping[int, Sequence[models.Activity]]
    ) -> Iterable[models.Activity]:
        """A work of one's own and its parts, where they are not what was told of the whole."""
        split = [row, *(part for part in parts.get(row.pk, ()) if not put_by(part))]
        if OWN in row.detail:
            for part, told in told_to_parts(own_values(row), split):
                if any(getattr(part, name) != value for name, value in told.items()):
                    yield self._changed(part, told)

    def _fresh(self, key: str, values: Mapping[str, Any]) -> models.Activity:
        """A new row; its uid follows from job and key, so that a job read in again keeps it."""
        uid = uuid.uuid5(uuid.NAMESPACE_OID, f"{self.job.uid}/{key}").hex
        return models.Activity(job=self.job, uid=uid, key=key, **values)

    def _changed(self, row: models.Activity, values: Mapping[str, Any]) -> models.Activity:
        for name, value in values.items():
            setattr(row, name, value)
        row.revision += 1
        row.modified = self.now
        return row

    def _drop(self, gone: Sequence[models.Activity]) -> list[models.Activity]:
        """Delete what nobody ever saw in a plan or began; return the rest, retired."""
        ids = [row.pk for row in gone]
        seen = {row.pk for row in gone if row.started_at is not None}
        for kind in (models.PlanRow, models.Delivery, models.Decision):
            found = kind.objects.filter(activity__in=ids)
            seen |= set(found.values_list("activity", flat=True))
        seen |= {row.part_of_id for row in gone if row.pk in seen and row.part_of_id}
        models.Activity.objects.filter(pk__in=set(ids) - seen).delete()
        return [self._changed(row, {"retired": True}) for row in gone if row.pk in seen]

    def links(self, wanted: Sequence[Link], rows: Mapping[str, models.Activity]) -> None:
        """Keep links by hand and rules lifted by hand; write the rules' links anew where they differ."""
        stored = list(models.Link.objects.filter(job=self.job))
        said = [link for link in stored if link.lifted or not link.rule]
        by_hand = {_ends(link) for link in said}
        made = [self._link(link, rows) for link in wanted]
        made = through_parts(made, rows.values())
        made += loose_hands(list(rows.values()), [*made, *said])
        fresh = {_ends(row): row for row in made}
        kept: set[tuple[int, int, str]] = set()
        stale: list[int] = []
        for link in stored:
            same = fresh.get(_ends(link))
            if _ends(link) in by_hand:
                continue
            if same is not None and _told(same) == _told(link):
                kept.add(_ends(link))
            else:
                stale.append(link.pk)
        models.Link.objects.filter(pk__in=stale).delete()
        models.Link.objects.bulk_create(
            [row for ends, row in fresh.items() if ends not in kept and ends not in by_hand]
        )

    def _link(self, link: Link, rows: Mapping[str, models.Activity]) -> models.Link:
        return models.Link(
            job=self.job,
            before=rows[str(link.before)],
            after=rows[str(link.after)],
            relation=link.relation.value,
            lag=link.lag.amount,
            clock=link.lag.clock.value,
            at_most=link.lag.at_most,
            wait=link.lag.wait,
            rule=link.rule,
            why=[link.why.key, dict(link.why.values)],
        )


def _ends(link: models.Link) -> tuple[int, int, str]:
    return link.before_id, link.after_id, link.relation


def _told(link: models.Link) -> tuple[object, ...]:
    return link.lag, link.clock, link.at_most, link.wait, link.rule, link.why


def _values(activity: Activity, order: int, zones: Mapping[str, int]) -> dict[str, Any]:
    """What an expansion decides, as columns."""
    return {
        "name": activity.name,
        "template": activity.key.template,
        "zone_id": zones[activity.key.zone],
        "skill": activity.skill,
        "quantity": activity.quantity.amount.quantize(THOUSANDTH),
        "unit": activity.quantity.unit,
        "days_low": activity.spread.low,
        "days": activity.spread.typical,
        "days_high": activity.spread.high,
        "people": activity.usual,
        "least": activity.least,
        "material": activity.material,
        "detail": to_detail(activity),
        "order": order,
        "retired": False,
    }
