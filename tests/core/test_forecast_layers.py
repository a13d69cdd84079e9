"""Layers of a forecast: looking near a window finds what looking everywhere finds."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.weather.errors import WeatherError
from jobs.weather.hours import Hours, Layer, Piece, Span


@st.composite
def layers(draw: st.DrawFn) -> Layer:
    """Up to eight pieces within two days, which may overlap as those of a careless service do."""
    told = st.tuples(st.integers(0, 48), st.integers(1, 24), st.integers(0, 9))
    rows = draw(st.lists(told, max_size=8))
    pieces = [Piece(Span(60 * a, 60 * (a + n)), float(value)) for a, n, value in rows]
    return Layer(tuple(sorted(pieces)))


@given(layer=layers(), begin=st.integers(-3, 75), length=st.integers(1, 30))
def test_every_piece_that_touches_a_window_is_found(layer: Layer, begin: int, length: int) -> None:
    """Against a scan of all pieces, with the minutes shared."""
    window = Span(60 * begin, 60 * (begin + length))
    scanned = [(p, p.span.shared(window)) for p in layer.pieces if p.span.shared(window)]
    assert list(layer.within(window)) == scanned


def test_pieces_out_of_order_are_refused() -> None:
    """Halving them would miss some."""
    late, early = Piece(Span(60, 120), 1.0), Piece(Span(0, 60), 2.0)
    with pytest.raises(WeatherError, match="out of order"):
        Layer((late, early))


def test_rain_less_likely_than_not_is_none_and_unknown_chance_counts() -> None:
    """2 mm each with 49 %, 50 % and without a chance: 0, 2 and 2 are likely."""
    spans = [Span(60 * n, 60 * (n + 1)) for n in range(3)]
    hours = Hours(
        None,
        Span(0, 180),
        rain=Layer(tuple(Piece(span, 2.0) for span in spans)),
        chance=Layer((Piece(spans[0], 49.0), Piece(spans[1], 50.0))),
    )
    assert [piece.value for piece in hours.likely.pieces] == [0.0, 2.0, 2.0]
