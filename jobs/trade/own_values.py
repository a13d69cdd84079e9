"""A figure of one's own as it is typed, stored and said: within its span, or refused with what to write."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING

from .amounts import parse_length
from .errors import TradeError
from .own_kinds import Kind
from .units import INCH, say_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .own_kinds import Figure

THREE = 3
NO_LENGTH = frozenset({"0", "0 in"})
"""It goes wherever people go."""
Value = Decimal | tuple[Decimal, ...] | None


def read_own(figure: Figure, told: object) -> Value:
    """Return a figure of one's own as it was typed or stored.

    Raises
    ------
    TradeError
        If it is no such figure, or cannot be true.
    """
    if figure.kind is Kind.THREE:
        return _three(figure, told)
    if figure.kind is Kind.LENGTH:
        words = str(told).strip()
        amount = Decimal(0 if words in NO_LENGTH else parse_length(words))
        _within(figure, amount / INCH, str(told))
        return amount
    amount = read_number(told)
    _within(figure, amount, f"{amount.normalize():f}")
    if figure.kind is Kind.WHOLE and amount != amount.to_integral_value():
        raise TradeError(f"{amount} is not whole", remedy="write a whole number")
    return amount


def stored(figure: Figure, typed: str) -> object:
    """Return a figure as it is kept: words of a length, a number as text, three in a list.

    Raises
    ------
    TradeError
        If it is no such figure, or cannot be true.
    """
    value = read_own(figure, typed)
    if isinstance(value, tuple):
        return [f"{one.normalize():f}" for one in value]
    return " ".join(typed.split()) if figure.kind is Kind.LENGTH else f"{value or 0:f}"


def say_value(figure: Figure, value: Value) -> str:
    """Return a figure with its unit: ``10 mph``, ``40 in``, ``0.5, 1 and 2 days``."""
    if value is None:
        return "no limit"
    if isinstance(value, tuple):
        said = ", ".join(f"{one.normalize():f}" for one in value)
    elif figure.kind is Kind.LENGTH:
        said = say_length(int(value))
    else:
        said = f"{value.normalize():,f}"
    return f"{said} {figure.unit}".strip()


def _three(figure: Figure, told: object) -> tuple[Decimal, ...]:
    parts: Sequence[object] = (
        told if isinstance(told, list | tuple) else str(told).replace(",", " ").split()
    )
    if len(parts) != THREE:
        raise TradeError(f"{told} is not three figures", remedy="write least, usual and most")
    found = tuple(map(read_number, parts))
    for one in found:
        _within(figure, one, f"{one.normalize():f}")
    if list(found) != sorted(found):
        raise TradeError("they do not rise", remedy="write the least first and the most last")
    return found


def read_number(told: object) -> Decimal:
    """Return a number as it was typed or stored.

    Raises
    ------
    TradeError
        If it is none.
    """
    try:
        found = Decimal(str(told).strip().replace(",", ""))
    except InvalidOperation:
        raise TradeError(f"{told!r} is not a number", remedy="write a number like 60") from None
    if not found.is_finite():
        raise TradeError(f"{told!r} is not a number", remedy="write a number like 60")
    return found


def _within(figure: Figure, amount: Decimal, said: str) -> None:
    least, most = figure.span
    if not least <= amount <= most:
        unit = "in" if figure.kind is Kind.LENGTH else figure.unit
        raise TradeError(
            f"{said} cannot be",
            remedy=f"write {least:f} to {most:,f} {unit}".strip(),
        )
