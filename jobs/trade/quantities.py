"""Arithmetic of a takeoff, with plain numbers in and out; each with one worked figure.

Lengths are feet unless the name says inches, areas square feet, volumes cubic yards. Factors are common
practice of the trade; where a supplier gives his own, his hold.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

PI = Decimal("3.14159265358979")
FT3_A_YARD = 27
INCHES = 12
LB_A_TON = 2000
LOOSE = Decimal("1.25")
"""Loose yards of stone or crushed stone that make one compacted."""
BASE_LB_FT3 = 135
"""Weight of compacted stone base."""
CONCRETE_LB_FT3 = 150
"""Weight of fresh concrete; 4,050 lb a cubic yard."""
TRIANGLE = Decimal("0.866")
"""Area of ground per plant on a triangle grid, in squared spacings."""
BLOCKS_A_FT2 = Decimal("1.125")
"""Blocks of 8 by 16 in per square foot of face."""
BLOCKS_BROKEN = Decimal("0.05")
"""Share of blocks ordered for breakage and cuts (common practice)."""
DEAD_SOD_IN = 2
"""Inches of lifted dead turf."""
DEAD_SOD_SWELL = Decimal("1.3")
"""Loose yards of one yard lifted (common practice)."""
CHIP_TONS_A_YARD = Decimal("1.4")
"""Tons in a loose cubic yard of crushed stone for a path."""


def up(amount: Decimal, step: Decimal = Decimal(1)) -> Decimal:
    """Return an amount rounded up to a whole number of steps: 5.70 in quarters is 5.75."""
    return (amount / step).to_integral_value(ROUND_CEILING) * step


def layer(area: Decimal, inches: Decimal) -> Decimal:
    """Return cubic yards of a layer: 420 ft2 by 4 in is 5.185 yd3; mulch 1,000 by 3 is 9.26."""
    return area * inches / INCHES / FT3_A_YARD


def concrete_order(volume: Decimal, waste: Decimal = Decimal("0.10")) -> Decimal:
    """Return yards to order, waste on top, up to a quarter yard: 5.19 yd3 and 10 % is 5.75.

    Waste is 5 % for formed footings and 10 % for a slab on ground (common practice).
    """
    return up(volume * (1 + waste), Decimal("0.25"))


def pier(diameter_in: Decimal, depth_in: Decimal) -> Decimal:
    """Return cubic yards of a round pier: 12 in wide and 36 in deep is 0.0873 yd3."""
    radius = diameter_in / INCHES / 2
    return PI * radius**2 * depth_in / INCHES / FT3_A_YARD


def base_tons(area: Decimal, inches: Decimal) -> Decimal:
    """Return tons of compacted stone base at 135 lb/ft3: 420 ft2 by 4 in is 9.45 tons."""
    return area * inches / INCHES * BASE_LB_FT3 / LB_A_TON


def loose(compacted: Decimal) -> Decimal:
    """Return loose yards that compact to so many: 5.185 yd3 is 6.48 loose."""
    return compacted * LOOSE


def path_tons(area: Decimal, inches: Decimal) -> Decimal:
    """Return tons of crushed stone for a path: 500 ft2 by 3 in is 8.1 tons."""
    return loose(layer(area, inches)) * CHIP_TONS_A_YARD


def flagstone_coverage(lb_ft3: Decimal, inches: Decimal) -> Decimal:
    """Return square feet a ton of flagstone covers: 160 lb/ft3 by 1.5 in covers 100."""
    return LB_A_TON / (lb_ft3 * inches / INCHES)


def loads(volume_yd3: Decimal, ft3_a_load: Decimal) -> int:
    """Return barrow or bucket loads, up: 8 yd3 at 4 ft3 is 54 loads, at 3 ft3 72."""
    return int(up(volume_yd3 * FT3_A_YARD / ft3_a_load))


def mound(half_length: Decimal, half_width: Decimal, height: Decimal) -> Decimal:
    """Return cubic yards of a rounded mound (paraboloid): half-axes 10 and 5 ft, 2 ft high: 5.82."""
    return PI * half_length * half_width * height / 2 / FT3_A_YARD


def ridge(length: Decimal, width: Decimal, height: Decimal) -> Decimal:
    """Return cubic yards of a long mound, three-cornered: 40 by 8 by 2 ft is 11.85 yd3."""
    return length * width * height / 2 / FT3_A_YARD


def plants_on_grid(area: Decimal, spacing_in: Decimal) -> int:
    """Return plants on a triangle grid, up: 200 ft2 at 12 in takes 231."""
    return int(up(area / (TRIANGLE * (spacing_in / INCHES) ** 2)))


def blocks(face: Decimal) -> int:
    """Return blocks of 8 by 16 in for a wall, waste on top, up: 100 face ft2 takes 119."""
    return int(up(face * BLOCKS_A_FT2 * (1 + BLOCKS_BROKEN)))


def grout(face: Decimal) -> Decimal:
    """Return yards of grout for all cells of 8-in block: 1 yd3 a hundred blocks; 100 ft2 is 1.125."""
    return face * BLOCKS_A_FT2 / 100


def dead_sod(area: Decimal) -> Decimal:
    """Return loose yards of lifted dead turf, 2 in thick: 2,000 ft2 is 16.05 yd3."""
    return layer(area, Decimal(DEAD_SOD_IN)) * DEAD_SOD_SWELL


def trench_spoil(length: Decimal, width_in: Decimal, depth_in: Decimal) -> Decimal:
    """Return bank yards out of a trench: 100 ft by 6 by 18 in is 2.78 yd3."""
    return length * width_in * depth_in / (INCHES * INCHES) / FT3_A_YARD


def joints(area: Decimal, spacing: Decimal) -> Decimal:
    """Return feet of sawn joint in a slab taken as square, one way and the other.

    A square of side s has s / spacing - 1 joints each way, each s long, so 2 (area / spacing - s),
    and never less than one joint across: 400 ft2 at 10 ft is 2 (40 - 20) = 40 ft.
    """
    side = area.sqrt()
    return max(side, 2 * (area / spacing - side))
