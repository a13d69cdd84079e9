"""How much of each activity an assembly asks for: named formulas over the answers of its questions.

A formula takes the measures of an item and gives an amount in the unit of the template it feeds. An
amount of zero says that the activity is not needed. The arithmetic itself stands in ``quantities``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from . import quantities as q

if TYPE_CHECKING:
    from collections.abc import Mapping

    from .facts import Soil

USUAL_SWELL = Decimal("0.25")
"""Swell of common earth from bank to loose, where the soil is not known."""
USUAL_SHRINK = Decimal("0.125")
"""Shrink of common earth from bank to compacted, the middle of 10 to 15 %."""
FOOTING_WIDTH_IN = Decimal(16)
FOOTING_DEPTH_IN = Decimal(12)
"""A strip footing under a garden wall; deeper where frost reaches deeper (local code)."""
BASE_STRIP_FT = Decimal(2)
BASE_STRIP_IN = Decimal(6)
BURIED_IN = Decimal(6)
"""A dry-stacked wall stands on a strip of base 2 ft wide and 6 in deep, its first course buried."""
GALLON_SHARE = Decimal("2.5")
"""One-gallon plants go in 2.5 times as fast as five-gallon ones."""
SOD_WASTE = Decimal("1.05")
"""Sod ordered for each square foot laid: a twentieth goes in cuts (common practice)."""
SLAB_IN = 4
"""Thickness of the old slab the breaking rates are quoted for."""
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Measures:
    """What an item's formulas may read.

    Attributes
    ----------
    amounts, words
        Answers by ask: numbers in the unit of the ask, choices as chosen.
    soil
        What the yard is made of, None if the library does not know it.
    """

    amounts: Mapping[str, Decimal]
    words: Mapping[str, str] = field(default_factory=dict)
    soil: Soil | None = None

    def __getitem__(self, key: str) -> Decimal:
        """Return an answered amount, zero if it was not asked."""
        return self.amounts.get(key, ZERO)

    @property
    def swell(self) -> Decimal:
        """Share by which a bank yard grows when loose."""
        return self.soil.swell_use if self.soil else USUAL_SWELL

    @property
    def shrink(self) -> Decimal:
        """Share by which a bank yard shrinks when compacted, the middle of its range."""
        if self.soil is None:
            return USUAL_SHRINK
        least, most = self.soil.shrink
        return (least + most) / 2


Formula = Callable[[Measures], Decimal]


def once(_: Measures) -> Decimal:
    """Return 1: the work has a duration of its own."""
    return Decimal(1)


def answer(key: str) -> Formula:
    """Return the formula that gives an answer as it is: 420 ft2 asked, 420 ft2 built."""

    def of(m: Measures) -> Decimal:
        return m[key]

    of.__doc__ = f"Return the answer to {key} as it is."
    return of


def dug(m: Measures) -> Decimal:
    """Return bank yards dug for a layer: 420 ft2 by 8 in is 10.37."""
    return q.layer(m["area"], m["dig"])


def dug_loose(m: Measures) -> Decimal:
    """Return loose yards out of the hole: 10.37 bank yards of loam at 25 % are 12.96."""
    return dug(m) * (1 + m.swell)


def cut_loose(m: Measures) -> Decimal:
    """Return loose yards of a cut: 20 bank yards of clay at 30 % are 26."""
    return m["cut"] * (1 + m.swell)


def bed_dug(m: Measures) -> Decimal:
    """Return bank yards for the strip of base under a dry wall: 30 ft by 2 ft by 12 in is 2.22."""
    return q.layer(m["length"] * BASE_STRIP_FT, BASE_STRIP_IN + BURIED_IN)


def base(m: Measures) -> Decimal:
    """Return tons of stone base: 420 ft2 by 4 in is 9.45."""
    return q.base_tons(m["area"], m["base"])


def strip_base(m: Measures) -> Decimal:
    """Return tons of base under a dry wall: 32 ft by 2 ft by 6 in is 2.16."""
    return q.base_tons(strip_area(m), BASE_STRIP_IN)


def strip_area(m: Measures) -> Decimal:
    """Return square feet of base strip under a dry wall: 30 ft by 2 ft is 60."""
    return m["length"] * BASE_STRIP_FT


def step_base(m: Measures) -> Decimal:
    """Return tons of base under dry-set steps, 6 in under treads 14 in deep: 5 by 4 ft is 0.79."""
    return q.base_tons(m["risers"] * m["width"] * Decimal(14) / 12, BASE_STRIP_IN)


def joint_feet(m: Measures) -> Decimal:
    """Return feet of sawn joint: 400 ft2 with joints at 10 ft is 40."""
    return q.joints(m["area"], m["joints"])


def footing_feet(m: Measures) -> Decimal:
    """Return feet of wall footing dug: as long as the wall, 24 ft is 24."""
    return m["length"]


def footing_area(m: Measures) -> Decimal:
    """Return square feet of footing to form: 24 ft by 16 in is 32."""
    return m["length"] * FOOTING_WIDTH_IN / 12


def footing_yards(m: Measures) -> Decimal:
    """Return yards of concrete in a wall footing: 24 ft by 16 in by 12 in is 1.19."""
    return q.layer(footing_area(m), FOOTING_DEPTH_IN)


def step_footing_feet(m: Measures) -> Decimal:
    """Return feet of footing under steps, front and back: 4 ft wide is 8."""
    return 2 * m["width"]


def step_footing_area(m: Measures) -> Decimal:
    """Return square feet of step footing to form: 8 ft by 16 in is 10.67."""
    return step_footing_feet(m) * FOOTING_WIDTH_IN / 12


def step_footing_yards(m: Measures) -> Decimal:
    """Return yards of concrete under steps: 10.67 ft2 by 12 in is 0.40."""
    return q.layer(step_footing_area(m), FOOTING_DEPTH_IN)


def face(m: Measures) -> Decimal:
    """Return square feet of wall face: 24 ft by 18 in is 36."""
    return m["length"] * m["height"] / 12


def stacked_face(m: Measures) -> Decimal:
    """Return face of a dry wall with its buried course: 30 ft by (24 + 6) in is 75."""
    return m["length"] * (m["height"] + BURIED_IN) / 12


def block_face(m: Measures) -> Decimal:
    """Return face of the block core, one course of 8 in below grade: 24 ft by 26 in is 52."""
    return m["length"] * (m["height"] + 8) / 12


def faced(m: Measures) -> Decimal:
    """Return square feet faced with stone, on one side or both: 36 on both sides is 72."""
    return face(m) * (2 if m.words.get("faces") == "both" else 1)


def cell_grout(m: Measures) -> Decimal:
    """Return yards of grout for all block cells: 52 face ft2 is 0.585."""
    return q.grout(block_face(m))


def berm(m: Measures) -> Decimal:
    """Return compacted yards of a mound: rounded 20 by 10 by 2 ft is 5.82, a ridge 40 by 8 by 2 11.85."""
    if m.words.get("shape") == "ridge":
        return q.ridge(m["length"], m["width"], m["height"])
    return q.mound(m["length"] / 2, m["width"] / 2, m["height"])


def loose_for_fill(compacted: Decimal, m: Measures) -> Decimal:
    """Return loose yards that make so many compacted: 5.8 at 10 % shrink, 25 % swell is 8.06."""
    return compacted / (1 - m.shrink) * (1 + m.swell)


def old_slab(m: Measures) -> Decimal:
    """Return old slab in square feet of 4 in: 200 ft2 of 6 in is 300."""
    return m["area"] * m["thickness"] / SLAB_IN


def saw_cut(m: Measures) -> Decimal:
    """Return feet of saw cut: as answered, else once round a square: 400 ft2 is 80."""
    return m["saw"] or 4 * m["area"].sqrt()


def pipes(m: Measures) -> Decimal:
    """Return feet of trench for main and laterals: 120 and 200 ft is 320."""
    return m["main"] + m["laterals"]


def shrubs(m: Measures) -> Decimal:
    """Return shrubs as five-gallon ones: 20 of five and 25 of one gallon is 30."""
    return m["five-gallon"] + m["one-gallon"] / GALLON_SHARE


def plugs(m: Measures) -> Decimal:
    """Return plants on a triangle grid: 200 ft2 at 12 in is 231."""
    return Decimal(q.plants_on_grid(m["area"], m["spacing"]))


def sod(m: Measures) -> Decimal:
    """Return square feet of sod, 5 % for cuts: 800 ft2 is 840."""
    return m["area"] * SOD_WASTE


def mulch(m: Measures) -> Decimal:
    """Return yards of mulch: 1,000 ft2 by 3 in is 9.26."""
    return q.layer(m["area"], m["depth"])


FORMULAS: Mapping[str, Formula] = {
    "once": once,
    "area": answer("area"),
    "length": answer("length"),
    "count": answer("count"),
    "risers": answer("risers"),
    "main": answer("main"),
    "laterals": answer("laterals"),
    "pipe": answer("pipe"),
    "cable": answer("cable"),
    "wire": answer("wire"),
    "gas": answer("gas"),
    "posts": answer("posts"),
    "box-24": answer("box-24"),
    "box-36": answer("box-36"),
    "box-48": answer("box-48"),
    "fence": answer("fence"),
    "pipes": pipes,
    "dug": dug,
    "dug-loose": dug_loose,
    "cut-loose": cut_loose,
    "bed-dug": bed_dug,
    "base": base,
    "strip-base": strip_base,
    "strip-area": strip_area,
    "step-base": step_base,
    "joint-feet": joint_feet,
    "footing-feet": footing_feet,
    "footing-area": footing_area,
    "footing-yards": footing_yards,
    "step-footing-feet": step_footing_feet,
    "step-footing-area": step_footing_area,
    "step-footing-yards": step_footing_yards,
    "stacked-face": stacked_face,
    "block-face": block_face,
    "faced": faced,
    "cell-grout": cell_grout,
    "berm": berm,
    "old-slab": old_slab,
    "saw-cut": saw_cut,
    "shrubs": shrubs,
    "plugs": plugs,
    "sod": sod,
    "mulch": mulch,
}
"""Every formula a part of an assembly may name."""
