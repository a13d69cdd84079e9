"""Figures from outside about concrete and masonry in cold and heat, and what the forecast makes of them."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from jobs.scheduling.sky.limits import CONCRETE, celsius
from jobs.scheduling.sky.wet_trades import MASONRY, day_air, trade_cautions
from jobs.services.telling.words import say
from jobs.trade import wet_trades as air
from jobs.trade.wet_trades import DayAir
from jobs.weather.hours import Hours, Layer, Piece, Span
from jobs.weather.reading import day_span

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 11, 9)


def forecast(*days: tuple[float, float], mph: float = 0.0) -> Hours:
    """Return days of a low until noon and a high after it, Fahrenheit, from 9 November."""
    spans = [day_span(DAY + timedelta(days=n), ZONE) for n in range(len(days))]
    pieces = []
    for span, (low, high) in zip(spans, days, strict=True):
        noon = span.begin + 12 * 60
        pieces += [Piece(Span(span.begin, noon), celsius(low)), Piece(Span(noon, span.end), celsius(high))]  # fmt: skip
    whole = Span(spans[0].begin, spans[-1].end)
    wind = Layer((Piece(whole, mph * 1.609344),))
    return Hours(None, whole, temperature=Layer(tuple(pieces)), wind=wind)


def told(hours: Hours, *classes: str) -> list[str]:
    """Return the keys of what is told of 9 November."""
    return [one.key for one in trade_cautions(hours, DAY, ZONE, set(classes))]


class TestConcrete:
    """Source: ACI 306R-10 and later (any hour below 40 F), ACI terminology of 308.1-11 (days' means)."""

    def test_a_single_hour_below_forty_within_the_protected_days_asks_for_cold_steps(self) -> None:
        """39 F on the third day does, 40 F does not, and 39 F on the fourth is past it."""
        fine, cold = (50.0, 60.0), (39.0, 60.0)
        assert told(forecast(fine, fine, cold), CONCRETE) == ["weather-concrete-cold"]
        assert told(forecast(fine, fine, (40.0, 60.0)), CONCRETE) == []
        assert told(forecast(fine, fine, fine, cold), CONCRETE) == []

    def test_more_than_three_days_that_average_below_forty_are_a_spell(self) -> None:
        """Three are none, four are one: the older sense."""
        cold = DayAir(high=45, low=30)
        assert not air.is_cold_spell([cold] * 3)
        assert air.is_cold_spell([cold] * 4)
        assert not air.is_cold_spell([cold, cold, DayAir(50, 40), cold, cold])

    def test_a_day_above_fifty_for_more_than_half_of_it_breaks_a_spell(self) -> None:
        """13 of 24 hours do, 12 do not."""
        cold = DayAir(high=45, low=30)
        assert air.is_cold_spell([cold, cold, DayAir(52, 20, warm=12 / 24), cold])
        assert not air.is_cold_spell([cold, cold, DayAir(52, 20, warm=13 / 24), cold])

    def test_high_fifty_and_low_twenty_eight_average_thirty_nine(self) -> None:
        """39 F counts as below 40: the mean of high and low."""
        assert DayAir(high=50, low=28).mean == 39
        assert air.is_cold_spell([DayAir(high=50, low=28)] * 4)

    def test_the_forecast_tells_a_spell(self) -> None:
        """Four days from 28 to 50 F; 50 itself is not above 50."""
        hours = forecast(*[(28.0, 50.0)] * 4)
        assert told(hours, CONCRETE) == ["weather-concrete-cold-spell"]
        read = day_air(hours, DAY, ZONE)
        assert read is not None
        assert (round(read.high), round(read.low), read.warm) == (50, 28, 0)

    def test_it_is_told_on_days_with_concrete_only(self) -> None:
        """Nothing of concrete where none is placed, nor where the forecast says nothing."""
        assert told(forecast((28.0, 50.0)), "W1") == []
        assert told(Hours(None, day_span(DAY, ZONE)), CONCRETE, MASONRY) == []


class TestMasonry:
    """Source: TMS 602, cold and hot weather (summary)."""

    @pytest.mark.parametrize(("fahrenheit", "cold"), [(39, True), (40, False)])
    def test_cold_steps_begin_below_forty(self, fahrenheit: float, cold: bool) -> None:  # noqa: FBT001 - a table
        """39 F yes, 40 F no."""
        assert air.is_cold(fahrenheit) is cold

    @pytest.mark.parametrize(
        ("fahrenheit", "mph", "hot", "shaded"),
        [
            (101, 0, True, False),
            (91, 9, True, False),
            (91, 7, False, False),
            (116, 0, True, True),
            (106, 9, True, True),
            (106, 7, True, False),
        ],
    )
    def test_heat_and_wind_ask_for_hot_steps_then_for_shade(
        self,
        fahrenheit: float,
        mph: float,
        hot: bool,  # noqa: FBT001 - a table
        shaded: bool,  # noqa: FBT001 - a table
    ) -> None:
        """Above 100 F, or 90 in wind over 8 mph; above 115, or 105 in wind, the materials are shaded."""
        assert (air.is_hot(fahrenheit, mph), air.is_shaded(fahrenheit, mph)) == (hot, shaded)

    def test_mortar_of_121_degrees_is_refused(self) -> None:
        """120 F is the most."""
        assert (air.mortar_refused(120), air.mortar_refused(121)) == (False, True)

    def test_a_day_that_averages_37_is_protected_by_its_mean(self) -> None:
        """High 44, low 30."""
        day = DayAir(high=44, low=30)
        assert day.mean == 37
        assert air.is_protected(day)
        assert not air.is_protected(DayAir(high=50, low=30))

    def test_the_forecast_tells_them_in_words(self) -> None:
        """30 to 44 F; 116 F calm; 91 F at 9 mph."""
        cold = [say(one) for one in trade_cautions(forecast((30.0, 44.0)), DAY, ZONE, {MASONRY})]
        assert cold == [
            "Down to 30 F while mortar is used: cold steps from 40 °F down, with dry units and warm sand or "
            "water. The specification decides (TMS 602).",
            "The day averages 37 F: cover fresh masonry for 24 hours and keep it from freezing; how depends "
            "on that average. The specification decides (TMS 602).",
        ]
        assert told(forecast((80.0, 116.0)), MASONRY) == ["weather-masonry-shade"]
        assert told(forecast((70.0, 91.0), mph=9), MASONRY) == ["weather-masonry-hot"]
        assert told(forecast((70.0, 91.0), mph=7), MASONRY) == []
