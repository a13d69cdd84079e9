"""Tiny yards for the trade: the real library, and scopes a reader holds in his head."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from jobs.services.files.job_file import read_job_file
from jobs.trade.amounts import parse_length, parse_quantity
from jobs.trade.expand import expand_scope
from jobs.trade.loading import build_library
from jobs.trade.scope import Expansion, Item, PassageIn, Yard, ZoneIn

if TYPE_CHECKING:
    from jobs.trade.library import Library
    from jobs.trade.work import Activity, ActivityKey, Link

FIXTURES = Path(__file__).resolve().parents[1] / "fixtures"
INCH = 254
JUNE_8 = date(2026, 6, 8)
WHOLE = ZoneIn("whole", "Whole yard", whole=True)
PATIO = ZoneIn("patio", "Upper patio", Decimal(420))
MEADOW = ZoneIn("meadow", "Meadow", Decimal(600))
GATE = PassageIn("gate", "Side gate", "", "patio", 60 * INCH, length_ft=30)
STEPS_DOWN = PassageIn("down", "Way down", "patio", "meadow", 60 * INCH, length_ft=20)
"""Street, 60-in gate, patio, 60-in way down, meadow."""


@cache
def library() -> Library:
    """Return the library of the fixtures, read once."""
    files = sorted((FIXTURES / "trade").glob("*.toml"))
    return build_library({p.name: tomllib.loads(p.read_text("utf-8")) for p in files}, "test")


def yard_of(
    *items: Item,
    zones: tuple[ZoneIn, ...] = (WHOLE, PATIO, MEADOW),
    passages: tuple[PassageIn, ...] = (GATE, STEPS_DOWN),
    options: dict[str, str] | None = None,
    owned: frozenset[str] = frozenset(),
    soil: str = "loam",
    state: str = "NC",
) -> Yard:
    """Return a yard with two zones in a row behind one gate, unless said otherwise."""
    return Yard(state, soil, zones, passages, items, JUNE_8, options or {}, owned)


def expanded(*items: Item, **told: object) -> Expansion:
    """Return the expansion of a tiny yard."""
    return expand_scope(yard=yard_of(*items, **told), library=library())  # type: ignore[arg-type]


def of(expansion: Expansion, template: str, zone: str = "", ordinal: int = 0) -> Activity:
    """Return the one activity of a template (in a zone)."""
    [found] = [
        a
        for a in expansion.activities
        if a.key.template == template and zone in ("", a.key.zone) and a.key.ordinal == ordinal
    ]
    return found


def between(expansion: Expansion, before: str, after: str) -> list[Link]:
    """Return the links from one template to another."""
    return [
        link
        for link in expansion.links
        if (link.before.template, link.after.template) == (before, after)
    ]


def keys(expansion: Expansion) -> set[ActivityKey]:
    """Return what the activities are."""
    return {activity.key for activity in expansion.activities}


OWNED = frozenset({"loader-stand-on", "mini-excavator", "plate-compactor", "trencher", "mixer"})
"""What the demo company has."""
DEMO = ("12-alder-bend", "31-millrace-lane", "7-sparrow-hill-road")


@cache
def demo(name: str) -> Expansion:
    """Return the expansion of a demo job file, zones and items named by their place in the file."""
    return expand_scope(yard=demo_yard(name), library=library())


def demo_yard(name: str) -> Yard:
    """Return a demo job file as the trade reads it, uids made of names."""
    file = read_job_file((FIXTURES / "demo" / f"{name}.toml").read_text("utf-8"))
    zones = [ZoneIn("whole yard", "Whole yard", whole=True)]
    for _, row in file.rows("zone"):
        area = parse_quantity(row["area"], "ft2").amount
        zones.append(ZoneIn(row["name"].casefold(), row["name"], area))
    return Yard(
        state=file.job["state"],
        soil=file.job["soil"],
        zones=tuple(zones),
        passages=tuple(_passage(row) for _, row in file.rows("passage")),
        items=tuple(_item(number, row) for number, (_, row) in enumerate(file.rows("build"))),
        starts_on=file.job["start"],
        options=file.job.get("yard", {}),
        owned=OWNED,
    )


def _passage(row: dict[str, str]) -> PassageIn:
    start = row["from"].casefold()
    return PassageIn(
        uid=row["name"],
        name=row["name"],
        start="" if start == "street" else start,
        end=row["to"].casefold(),
        width=parse_length(row["width"]),
        length_ft=int(parse_quantity(row["length"], "ft").amount),
    )


def _item(number: int, row: dict[str, object]) -> Item:
    answers = {k: str(v) for k, v in row.items() if k not in ("what", "where", "name")}
    return Item(f"item-{number}", str(row["what"]), str(row["where"]).casefold(), answers)
