"""Yards that hypothesis makes: any things to build, answered in any way, in zones one behind another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

from jobs.trade.scope import Item, PassageIn, Yard, ZoneIn
from tests.yards import INCH, JUNE_8, OWNED, WHOLE, library

if TYPE_CHECKING:
    from jobs.trade.assemblies import Ask, Assembly

AMOUNTS = {
    "ft2": ("40", "180", "520", "1200"),
    "yd3": ("0", "4", "20"),
    "in": ("4", "8", "14"),
    "ft": ("8", "24", "90"),
    "each": ("1", "3", "9"),
    "risers": ("2", "6"),
}
"""Amounts of a back yard, by the unit they are asked in."""
NOTICE_DAYS = {"NC": 3, "TX": 2, "CA": 2}
"""Business days of notice before digging, as the states' laws have them (see test_checks_notices)."""
BUILT = sorted(key for key, one in library().assemblies.items() if one.group != "always")
NAMES = ("Front court", "Side yard", "Terrace", "Meadow")
WIDTHS = (30, 36, 42, 48, 60, 96, 144)


@st.composite
def yards(draw: st.DrawFn, most: int = 9, widths: tuple[int, ...] = WIDTHS) -> Yard:
    """Draw a yard of one to four zones behind one another, or side by side, with things to build."""
    zones = [ZoneIn(f"zone{n}", name) for n, name in enumerate(NAMES[: draw(st.integers(1, 4))])]
    inward = draw(st.booleans())
    passages = [
        PassageIn(
            f"way{n}", f"Way {n}", zones[n - 1].uid if inward and n else "", zone.uid,
            draw(st.sampled_from(widths)) * INCH, length_ft=20,
        )
        for n, zone in enumerate(zones)
    ]  # fmt: skip
    return Yard(
        state=draw(st.sampled_from(sorted(NOTICE_DAYS))),
        soil=draw(st.sampled_from(sorted(library().soils))),
        zones=(WHOLE, *zones),
        passages=tuple(passages),
        items=draw(items([WHOLE, *zones], most)),
        starts_on=JUNE_8,
        options=draw(options()),
        owned=draw(st.sampled_from((frozenset(), OWNED))),
    )


@st.composite
def items(draw: st.DrawFn, zones: list[ZoneIn], most: int) -> tuple[Item, ...]:
    """Draw things to build, each anywhere in the yard."""
    chosen = draw(st.lists(st.sampled_from(BUILT), min_size=1, max_size=most))
    return tuple(
        Item(f"item{n}", key, draw(st.sampled_from(zones)).uid, draw(answers(library().assemblies[key])))
        for n, key in enumerate(chosen)
    )  # fmt: skip


@st.composite
def answers(draw: st.DrawFn, assembly: Assembly) -> dict[str, str]:
    """Draw an answer to every question of an assembly that must have one, and to some others."""
    asked = [ask for ask in assembly.asks if ask.required or draw(st.booleans())]
    return {ask.key: draw(st.sampled_from(_choices(ask))) for ask in asked}


@st.composite
def options(draw: st.DrawFn) -> dict[str, str]:
    """Draw what is asked about the yard as a whole."""
    words = {key: draw(st.sampled_from(("no", "yes"))) for key in ("hoa", "permit")}
    return words | ({"crane": "yes"} if draw(st.integers(0, 5)) == 0 else {})


def _choices(ask: Ask) -> tuple[str, ...]:
    fit = [told for told in AMOUNTS.get(ask.unit, ()) if ask.most is None or int(told) <= ask.most]
    return ask.choices or tuple(fit) or (str(ask.most),)
