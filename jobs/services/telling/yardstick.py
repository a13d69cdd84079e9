"""Lengths and amounts in the units the company works with; both are stored as they were entered."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from jobs import models
from jobs.trade.amounts import parse_quantity
from jobs.trade.errors import TradeError
from jobs.trade.units import convert, say_feet, say_length

from .speech import UNITS, spoken_quantity

if TYPE_CHECKING:
    from collections.abc import Mapping

METRIC: Mapping[str, str] = {
    "ft2": "m2", "yd2": "m2", "ft": "m", "yd3": "m3", "ft3": "m3", "tons": "tonnes", "lb": "kg",
    "in": "cm",
}  # fmt: skip
"""What each US unit is told in where the company works with metric ones."""
TENTHS = 10


@dataclass(frozen=True, slots=True)
class Yardstick:
    """How lengths and amounts are told."""

    metric: bool = False

    def length(self, tenths: int) -> str:
        """Return ``54 in`` or ``1.37 m``, of tenths of a millimetre."""
        return say_length(tenths, metric=self.metric)

    def typed(self, tenths: int) -> str:
        """Return a length to put into a field: what is read back is what was stored."""
        if not self.metric:
            return say_feet(tenths)
        return f"{(Decimal(tenths) / TENTHS).normalize():f} mm"

    def quantity(self, amount: Decimal, unit: str, language: str = "en") -> str:
        """Return ``420 ft²`` or ``39.0 m²``; nothing for work that is measured in days."""
        if not self.metric or unit not in METRIC:
            return spoken_quantity(amount, unit, language)
        return spoken_quantity(convert(amount, unit, METRIC[unit]), METRIC[unit], language)

    def answer(self, told: str, unit: str) -> str:
        """Return what was answered to a question that asks for a unit; as it was written where that is no amount."""
        try:
            amount = parse_quantity(told, unit).amount if unit else None
        except TradeError:
            amount = None
        if amount is None:
            return told
        if self.metric and unit in METRIC:
            return self.quantity(amount, unit)
        return f"{amount.normalize():,f} {UNITS.get(unit, unit)}".strip()


def yardstick() -> Yardstick:
    """Return the company's, one query."""
    return Yardstick(models.Company.objects.filter(units=models.Company.Units.METRIC).exists())
