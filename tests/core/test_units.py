"""Lengths and quantities as people write them: exact figures in, plain refusals out."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.trade.amounts import parse_length, parse_quantity
from jobs.trade.errors import TradeError
from jobs.trade.units import (
    FOOT,
    INCH,
    METRE,
    UNITS,
    convert,
    inches,
    say_feet,
    say_length,
    unit_of,
)
from jobs.trade.work import Quantity


@pytest.mark.parametrize(
    ("text", "tenths"),
    [
        ("54 in", 54 * INCH),
        ("40in", 40 * INCH),
        ('54"', 54 * INCH),
        ("54 inches", 54 * INCH),
        ("35.5 in", 9017),
        ("35 1/2 in", 9017),
        ("4 ft 6 in", 54 * INCH),
        ("4'6\"", 54 * INCH),
        ("4′ 6″", 54 * INCH),
        ("4 FT, 6 IN", 54 * INCH),
        ("12 feet", 12 * FOOT),
        ("2 yd", 6 * FOOT),
        ("1.2 m", 12_000),
        ("120 cm", 12_000),
        ("1,200 mm", 12_000),
    ],
)
def test_a_length_is_read_as_people_write_it(text: str, tenths: int) -> None:
    """An inch is 254 tenths of a millimetre and a foot twelve of them, exactly (25.4 mm to the inch)."""
    assert parse_length(text) == tenths


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "the length is empty"),
        ("   ", "the length is empty"),
        ("54", "54 has no unit, so it could be feet or inches"),
        ("-3 in", "'-3 in' is not a length"),
        ("nan", "'nan' is not a length"),
        ("3 parsecs", "'parsecs' is not a unit of length"),
        ("4 lb", "'lb' is not a unit of length"),
        ("four feet", "'four feet' is not a length"),
        ("4 ft wide", "'4 ft wide' is not a length"),
        ("3 1/0 in", "'3 1/0 in' is not a length"),
        ("0 in", "0 in is no length in a yard"),
        ("99999999 ft", "99999999 ft is no length in a yard"),
    ],
)
def test_what_is_no_length_is_refused_with_reason_and_remedy(text: str, reason: str) -> None:
    """A bare number, a wrong unit, nothing, or a slip of the hand never becomes a length."""
    with pytest.raises(TradeError) as caught:
        parse_length(text)
    assert caught.value.reason == reason
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "unit", "amount"),
    [
        ("420 ft2", "ft2", "420"),
        ("420", "ft2", "420"),
        ("420 sq ft", "ft2", "420"),
        ("420 sq. ft.", "ft2", "420"),
        ("420 square feet", "ft2", "420"),
        ("1,420.5 ft²", "ft2", "1420.5"),
        ("5.2 yd3", "yd3", "5.2"),
        ("5.2 cubic yards", "yd3", "5.2"),
        ("54 ft3", "yd3", "2"),
        ("39 m2", "ft2", "419.793"),  # 39 / 0.09290304
        ("4 m3", "yd3", "5.232"),  # 4 / 0.764554857984
        ("12 each", "each", "12"),
        ("12", "each", "12"),
        ("3 days", "days", "3"),
        ("0.5", "days", "0.5"),
        ("16 risers", "risers", "16"),
        ("40 ft", "ft", "40"),
        ("4 ft 6 in", "ft", "4.5"),
        ("12 m", "ft", "39.37"),  # 12 / 0.3048
        ("48 in", "ft", "4"),
        ("2 tons", "tons", "2"),
        ("9000 lb", "tons", "4.5"),
        ("8 percent", "percent", "8"),
        ("8%", "percent", "8"),
        ("66000 lb", "lb", "66000"),
        ("66,000 lb", "lb", "66000"),
        ("1000 kg", "lb", "2204.623"),  # 1000 / 0.45359237
        ("0 ft2", "ft2", "0"),
    ],
)
def test_a_quantity_is_read_in_the_unit_asked_for(text: str, unit: str, amount: str) -> None:
    """A bare number means the asked unit; others are turned into it by the exact factors."""
    assert parse_quantity(text, unit) == Quantity(Decimal(amount), unit)


@pytest.mark.parametrize(
    ("text", "unit", "reason"),
    [
        ("", "ft2", "the amount is empty"),
        ("nan", "ft2", "'nan' is not an amount"),
        ("inf", "ft2", "'inf' is not an amount"),
        ("-3", "ft2", "-3 cannot be built"),
        ("-3 ft2", "ft2", "-3 ft2 cannot be built"),
        ("3 apples", "ft2", "'apples' is not a unit known here"),
        ("1e5 ft2", "ft2", "'e5 ft2' is not a unit known here"),
        ("1,2 ft2", "ft2", "',2 ft2' is not a unit known here"),
        ("3 ft", "ft2", "ft measures length, not area"),
        ("3 yd3", "ft2", "yd3 measures volume, not area"),
        ("2.5 each", "each", "2.5 each is not a whole count"),
        ("99999999999 ft2", "ft2", "99999999999 ft2 is more than a yard holds"),
        ("3 ft2", "furlongs", "'furlongs' is not a unit known here"),
    ],
)
def test_what_is_no_quantity_is_refused_with_reason_and_remedy(
    text: str, unit: str, reason: str
) -> None:
    """Nothing, less than nothing, another kind of measure, half a tree: each is told apart."""
    with pytest.raises(TradeError) as caught:
        parse_quantity(text, unit)
    assert caught.value.reason == reason
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("tenths", "told", "metric"),
    [
        (54 * INCH, "54 in", "1.37 m"),
        (36 * INCH, "36 in", "914 mm"),
        (9017, "35.5 in", "902 mm"),
        (96 * INCH, "96 in", "2.44 m"),
        (114 * INCH, "9 ft 6 in", "2.9 m"),
        (12 * FOOT, "12 ft", "3.66 m"),
        (METRE, "39.4 in", "1 m"),
        (0, "0 in", "0 mm"),
    ],
)
def test_lengths_are_spoken_as_on_a_site(tenths: int, told: str, metric: str) -> None:
    """Gates in inches up to eight feet, longer things in feet; millimetres below a metre."""
    assert say_length(tenths) == told
    assert say_length(tenths, metric=True) == metric


def test_feet_and_inches_where_they_are_wanted() -> None:
    """54 in are 4 ft 6 in; eleven inches and a bit more never read as 12 in."""
    assert [say_feet(n) for n in (54 * INCH, 48 * INCH, 6 * INCH, 12 * INCH - 1)] == [
        "4 ft 6 in",
        "4 ft",
        "6 in",
        "1 ft",
    ]


def test_factors_are_those_of_the_international_yard_and_pound() -> None:
    """1 m2 is 10.7639 ft2, 1 m3 is 35.3147 ft3 and 1.30795 yd3, 1 kg is 2.20462 lb (published)."""
    found = [
        convert(Decimal(1), "m2", "ft2"),
        convert(Decimal(1), "m3", "ft3"),
        convert(Decimal(1), "m3", "yd3"),
        convert(Decimal(1), "kg", "lb"),
        convert(Decimal(1), "yd3", "ft3"),
        convert(Decimal(1), "tons", "lb"),
    ]
    assert [round(one, 4) for one in found] == [
        Decimal("10.7639"),
        Decimal("35.3147"),
        Decimal("1.3080"),
        Decimal("2.2046"),
        Decimal(27),
        Decimal(2000),
    ]


def test_units_of_two_kinds_are_not_converted() -> None:
    """Square feet are no yards of soil without a thickness."""
    with pytest.raises(TradeError) as caught:
        convert(Decimal(1), "ft2", "yd3")
    assert caught.value.reason == "ft2 measures area, yd3 measures volume"
    assert caught.value.remedy == "give it in yd3 or ft3 or m3"


def test_an_unknown_unit_is_answered_with_those_there_are() -> None:
    """Who asks for a unit nobody keeps is told all we have."""
    with pytest.raises(TradeError) as caught:
        unit_of("acre")
    assert caught.value.remedy == f"use one of {', '.join(UNITS)}"


@given(st.integers(min_value=1, max_value=96 * 10))
def test_a_length_said_is_read_as_itself(tenth_inches: int) -> None:
    """Whatever we say in inches, we read back, to the tenth of an inch we say it in."""
    tenths = inches(Decimal(tenth_inches) / 10)
    assert say_length(parse_length(say_length(tenths))) == say_length(tenths)


@given(
    st.decimals(min_value=0, max_value=100_000, places=2),
    st.sampled_from(["ft2", "yd3", "ft", "tons", "lb", "days", "percent"]),
)
def test_a_quantity_written_out_is_read_as_itself(amount: Decimal, unit: str) -> None:
    """Any amount in its own unit comes back untouched."""
    assert parse_quantity(f"{amount} {unit}", unit).amount == amount
