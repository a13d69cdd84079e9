"""What was done by hand and outlives every expansion: works of one's own, works split in parts.

A work of one's own has a key ``hand/<uid>``. A part has one too, and takes name, quantity, holds and rules
from the activity it was split from: what must come before that comes before its first part, what must
come after comes after its last. An *extra* part came on top of the whole: it is done again, or there is
more of it; whatever waited for the work waits for that too.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import networkx as nx

from jobs import models
from jobs.trade.loose_ends import BEGIN, BEGINS, END, ENDS
from jobs.trade.work import Relation

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

HAND = "hand/"
OWN = "own"
"""Where a work of one's own keeps what was told of the whole of it."""
SPLIT = "split"
AGAIN, MORE = models.Activity.Extra.AGAIN, models.Activity.Extra.MORE
CHAINED = {"": SPLIT, AGAIN: "again", MORE: "more"}
"""Rule that ties a part to the one before it, by what kind of part it is."""
COPIED = ("job", "before", "after", "relation", "lag", "clock", "at_most", "wait", "rule", "why", "reason", "by")  # fmt: skip
WHOLE = 100
THOUSANDTH = Decimal("0.001")
SCALED = ("quantity", "days_low", "days", "days_high")


def is_by_hand(row: models.Activity) -> bool:
    """Return True for a work no template gives, and for a part of a split one."""
    return row.key.startswith(HAND)


def put_by(row: models.Activity) -> bool:
    """Return True for an extra part that no longer stands; it is kept, so that it can stand again."""
    return row.retired and row.extra != ""


def parts_by_root(rows: Iterable[models.Activity]) -> dict[int, list[models.Activity]]:
    """Return the parts of each split activity but its first, in order."""
    found: dict[int, list[models.Activity]] = defaultdict(list)
    for row in rows:
        if row.part_of_id is not None:
            found[row.part_of_id].append(row)
    for parts in found.values():
        parts.sort(key=lambda part: (part.detail.get("part", 0), part.pk))
    return found


def whole_of(row: models.Activity) -> dict[str, str]:
    """Return name and days of a whole work of one's own, as somebody told them, split or not."""
    told: dict[str, str] = row.detail.get(OWN, {})
    return {"name": row.name, "days": f"{row.days.normalize():f}"} | told


def own_values(row: models.Activity) -> dict[str, Any]:
    """Return a whole work of one's own as an expansion would tell it."""
    whole = whole_of(row)
    days = Decimal(whole["days"]).quantize(THOUSANDTH)
    return {
        "name": whole["name"],
        "quantity": days,
        "days_low": days,
        "days": days,
        "days_high": days,
        "template": row.template,
        "detail": {key: told for key, told in row.detail.items() if key != "part"},
        "retired": False,
    }


def told_to_parts(
    values: Mapping[str, Any], rows: Sequence[models.Activity]
) -> Iterator[tuple[models.Activity, dict[str, Any]]]:
    """Yield a work and its parts in order, each with what an expansion decides of it."""
    cut = [row for row in rows if not row.extra]
    failed = any(row.extra == AGAIN and row.share == WHOLE for row in rows)
    for place, row in enumerate(rows, 1):
        if row.extra:
            told = _on_top(values, row, rows)
        else:
            told = _cut(values, row.share, cut.index(row) + 1, len(cut))
        if len(rows) > 1:
            told["detail"] = told["detail"] | {"part": place}
            told["detail"]["holds"] = _for_parts(values, rest=not failed or row.extra != "")
        yield row, told


def _on_top(
    values: Mapping[str, Any], row: models.Activity, rows: Sequence[models.Activity]
) -> dict[str, Any]:
    """Scale by the days somebody said, else by the share; told apart from others by a number."""
    told = dict(values)
    if row.extra == MORE:
        told["detail"] = values["detail"] | {"one_go": False}
    scale = row.own_days / values["days"] if row.own_days else Decimal(row.share) / WHOLE
    for name in SCALED:
        told[name] = max(THOUSANDTH, (values[name] * scale).quantize(THOUSANDTH))
    alike = [other.pk for other in rows if other.extra == row.extra]
    word = "again" if row.extra == AGAIN else "more of it"
    number = alike.index(row.pk) + 1
    told["name"] = f"{values['name'][:95]}, {word}" + (f" ({number})" if len(alike) > 1 else "")
    return told


def _for_parts(values: Mapping[str, Any], *, rest: bool) -> list[dict[str, Any]]:
    """Return what is kept clear after a part: not from the other parts; nothing after what failed."""
    exempt = values["template"]
    return [
        hold | {"exempt": sorted({*hold["exempt"], exempt})}
        for hold in values["detail"]["holds"]
        if rest
    ]


def _cut(values: Mapping[str, Any], share: int, number: int, parts: int) -> dict[str, Any]:
    """Scale by the share, never below a thousandth; the name tells which of how many it is."""
    told = dict(values)
    if parts > 1:
        for name in SCALED:
            told[name] = max(THOUSANDTH, (values[name] * share / WHOLE).quantize(THOUSANDTH))
        told["name"] = f"{values['name'][:105]} ({number} of {parts})"
    return told


def through_parts(
    links: Sequence[models.Link], rows: Iterable[models.Activity]
) -> list[models.Link]:
    """Return rule links with finishes moved to last parts, and parts tied one after the other."""
    roots = {row.pk: row for row in rows}
    parts = {pk: found for pk, found in parts_by_root(roots.values()).items() if pk in roots}
    for link in links:
        relation = Relation(link.relation)
        if relation.from_finish and link.before_id in parts:
            link.before = parts[link.before_id][-1]
        if relation.to_finish and link.after_id in parts:
            link.after = parts[link.after_id][-1]
    again = [copy for link in links for copy in _again(link, parts)]
    chains = [link for pk, found in parts.items() for link in _chain([roots[pk], *found])]
    return [*links, *again, *chains]


def _again(
    link: models.Link, parts: Mapping[int, Sequence[models.Activity]]
) -> Iterator[models.Link]:
    """Where both ends are done again, the later one is again after the earlier one."""
    root = link.before.part_of_id or link.before_id
    redone = [part for part in parts.get(link.after_id, ()) if part.extra == AGAIN]
    if any(part.extra == AGAIN for part in parts.get(root, ())):
        for part in redone:
            yield copy_of(link, before=link.before, after=part)


def copy_of(link: models.Link, **ends: models.Activity) -> models.Link:
    """Return a link like another one, unsaved, with an end of its own."""
    return models.Link(**{name: getattr(link, name) for name in COPIED} | ends)


def _chain(rows: Sequence[models.Activity]) -> Iterable[models.Link]:
    for before, after in pairwise(rows):
        yield models.Link(
            job_id=before.job_id,
            before=before,
            after=after,
            rule=CHAINED[after.extra],
            why=[CHAINED[after.extra], {}],
        )


def loose_hands(rows: Sequence[models.Activity], links: Sequence[models.Link]) -> list[models.Link]:
    """Return links that keep works of one's own between the first walk and the clean-up.

    Where somebody tied one otherwise, what he said stands.
    """
    graph = nx.DiGraph((link.before_id, link.after_id) for link in links if not link.lifted)
    graph.add_nodes_from(row.pk for row in rows)
    found = []
    own = {row.pk for row in rows if is_by_hand(row) and row.part_of_id is None}
    for row in rows:
        if (row.pk in own or row.part_of_id in own) and not row.retired:
            found += _tie(row, rows, graph, BEGIN, BEGINS)
            found += _tie(row, rows, graph, END, ENDS)
    return found


def _tie(
    row: models.Activity,
    rows: Sequence[models.Activity],
    graph: nx.DiGraph[int],
    templates: Sequence[str],
    rule: str,
) -> list[models.Link]:
    """Tie to the first of some templates that is there and closes no ring."""
    for template in templates:
        for other in rows:
            before, after = (other, row) if rule == BEGINS else (row, other)
            if other.template == template and not nx.has_path(graph, after.pk, before.pk):
                graph.add_edge(before.pk, after.pk)
                return [
                    models.Link(
                        job_id=row.job_id, before=before, after=after, rule=rule, why=[rule, {}]
                    )
                ]
    return []
