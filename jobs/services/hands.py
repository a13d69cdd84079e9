"""What was done by hand and outlives every expansion: works of one's own, works split in parts.

A work of one's own has a key ``hand/<uid>``. A part has one too, and takes name, quantity, holds and rules
from the activity it was split from: what must come before that comes before its first part, what must
come after comes after its last.
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
    from collections.abc import Iterable, Mapping, Sequence

HAND = "hand/"
SPLIT = "split"
WHOLE = 100
THOUSANDTH = Decimal("0.001")
SCALED = ("quantity", "days_low", "days", "days_high")


def is_by_hand(row: models.Activity) -> bool:
    """Return True for a work no template gives, and for a part of a split one."""
    return row.key.startswith(HAND)


def parts_by_root(rows: Iterable[models.Activity]) -> dict[int, list[models.Activity]]:
    """Return the parts of each split activity but its first, in order."""
    found: dict[int, list[models.Activity]] = defaultdict(list)
    for row in rows:
        if row.part_of_id is not None:
            found[row.part_of_id].append(row)
    for parts in found.values():
        parts.sort(key=lambda part: (part.detail.get("part", 0), part.pk))
    return found


def share_of(
    values: Mapping[str, Any], share: int, part: int = 1, parts: int = 1
) -> dict[str, Any]:
    """Return what an expansion decides of a work, for one of its parts.

    Parameters
    ----------
    share
        Percent of quantity and days; never less than a thousandth.
    part, parts
        Its number, and how many there are. Parts may tread on the ground the others rest.
    """
    if parts == 1:
        return dict(values)
    told = dict(values)
    for name in SCALED:
        scaled = (values[name] * share / WHOLE).quantize(THOUSANDTH)
        told[name] = max(THOUSANDTH, scaled)
    told["name"] = f"{values['name'][:105]} ({part} of {parts})"
    detail = dict(values["detail"])
    detail["holds"] = [
        hold | {"exempt": sorted({*hold["exempt"], values["template"]})} for hold in detail["holds"]
    ]
    told["detail"] = detail | {"part": part}
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
    return [*links, *(link for pk, found in parts.items() for link in _chain([roots[pk], *found]))]


def _chain(rows: Sequence[models.Activity]) -> Iterable[models.Link]:
    for before, after in pairwise(rows):
        yield models.Link(
            job_id=before.job_id, before=before, after=after, rule=SPLIT, why=[SPLIT, {}]
        )


def loose_hands(rows: Sequence[models.Activity], links: Sequence[models.Link]) -> list[models.Link]:
    """Return links that keep works of one's own between the first walk and the clean-up.

    Where somebody tied one otherwise, what he said stands.
    """
    graph = nx.DiGraph((link.before_id, link.after_id) for link in links if not link.lifted)
    graph.add_nodes_from(row.pk for row in rows)
    found = []
    for row in rows:
        if is_by_hand(row) and row.part_of_id is None and not row.retired:
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
