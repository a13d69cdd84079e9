"""Drawn weather: as wet, as windy and as warm as its climate says, and read by the same limits as a forecast."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from math import exp

import numpy as np
import pytest

from jobs.scheduling.dice import Dice
from jobs.scheduling.risk.luck import triangle
from jobs.scheduling.risk.place import DayForecast, Place
from jobs.scheduling.risk.sky import Sky
from jobs.scheduling.slots import USUAL_DAY
from jobs.trade.facts import DryBand, DryOut
from jobs.weather.chain import Chain, chain_of
from jobs.weather.limits import Limit, Measure, broken
from jobs.weather.rain import Rain
from jobs.weather.temperature import Swing, Warmth
from jobs.weather.wind import wind_curve

FIRST = date(2026, 6, 1)
BAND = DryBand(Decimal("0.1"), Decimal(1), Decimal(1), Decimal(1))
SOIL = DryOut("test", (BAND,), "made up", Decimal(2), Decimal(1), Decimal("0.5"))
"""Dries in a day after any rain of 0.1 in, two in the cool half of the year."""
NEVER = Rain((Chain(0.0, 0.0),) * 12, (0.3,) * 12, 0.0)


def warmth(high: float = 25.0, low: float = 15.0, swing: float = 3.0, wind: float = 4.0) -> Warmth:
    """Return the same temperatures all year."""
    return Warmth((high,) * 12, (low,) * 12, (Swing(swing, swing, 0.7),) * 12, (wind,) * 12)


def rain(chain: Chain, *, heavy: float = 0.3, spread: float = 0.0) -> Rain:
    """Return the same rain all year."""
    return Rain((chain,) * 12, (heavy,) * 12, spread)


def sky(
    wet: Rain = NEVER,
    *,
    days: int = 30,
    futures: int = 400,
    first: date = FIRST,
    air: Warmth | None = None,
    forecast: dict[date, DayForecast] | None = None,
) -> Sky:
    """Return drawn weather from 1 June on, at 40 north."""
    place = Place("here", wet, air or warmth(), SOIL, 40.0, forecast or {})
    dates = [first + timedelta(days=n) for n in range(days)]
    return Sky(place, dates, USUAL_DAY, futures, Dice(7).many("test"))


def test_ten_thousand_months_are_as_wet_as_the_chain_says() -> None:
    """W08: mean 12.755 and sd 4.126 wet days in 30 of the chain 0.250, 0.662, within 0.13 and 0.10."""
    months = sky(rain(Chain(0.250, 0.662)), futures=10_000).daily.wet.sum(axis=0)
    assert float(months.mean()) == pytest.approx(12.755, abs=0.13)
    assert float(months.std()) == pytest.approx(4.126, abs=0.10)


def test_years_that_differ_widen_the_counts_of_a_month() -> None:
    """A spread of 0.5 of the log-odds adds to the chain's own variance."""
    chain = Chain(0.250, 0.662)
    alike, apart = (
        float(sky(rain(chain, spread=s), futures=4000).daily.wet.sum(axis=0).std())
        for s in (0.0, 0.5)
    )
    assert apart > alike + 0.5


def test_three_wet_days_in_ten_are_heavy() -> None:
    """0.5 in or more on the share of wet days that the tables give; every wet day has 0.1 in."""
    drawn = sky(rain(chain_of(0.5, 0.0)), futures=4000)
    fell = drawn.daily.mm[drawn.daily.wet]
    assert float((fell >= 12.7).mean()) == pytest.approx(0.3, abs=0.01)
    assert float(fell.min()) >= 2.54
    assert float(drawn.daily.mm[~drawn.daily.wet].max()) == 0.0


def test_highs_and_lows_lie_about_their_means() -> None:
    """25 and 15 with a swing of 3; a day remembers the day before by 0.7."""
    drawn = sky(days=60, futures=3000)
    assert float(drawn.daily.high.mean()) == pytest.approx(25.0, abs=0.1)
    assert float(drawn.daily.low.std()) == pytest.approx(3.0, abs=0.1)
    pairs = np.corrcoef(drawn.daily.low[10].ravel(), drawn.daily.low[11].ravel())
    assert float(pairs[0, 1]) == pytest.approx(0.7, abs=0.04)


def test_wind_is_as_often_strong_as_its_curve_says() -> None:
    """Over 10 mph (4.47 m/s) at a mean of 4 m/s (Justus 1978)."""
    drawn, (shape, scale) = sky(futures=4000), wind_curve(4.0)
    stronger = exp(-((4.47 / scale) ** shape))
    assert float((drawn.daily.wind > 4.47).mean()) == pytest.approx(stronger, abs=0.01)


def test_within_its_reach_the_forecast_speaks() -> None:
    """Rain for certain on 2 June and none on 3 June, 35 C and 30; from 4 June the climate is back."""
    known = {
        date(2026, 6, 2): DayForecast(1.0, 35.0, 30.0, 2.0),
        date(2026, 6, 3): DayForecast(0.0, 35.0, 30.0, 2.0),
    }
    drawn = sky(rain(chain_of(0.5, 0.0)), futures=4000, forecast=known)
    assert [float(drawn.daily.wet[n].mean()) for n in (1, 2)] == [1.0, 0.0]
    assert float(drawn.daily.high[1].mean()) == pytest.approx(35.0, abs=0.2)
    assert float(drawn.daily.wet[5].mean()) == pytest.approx(0.5, abs=0.03)
    assert float(drawn.daily.high[20].mean()) == pytest.approx(25.0, abs=0.3)


def test_mornings_are_cooler_than_afternoons() -> None:
    """No swing from day to day: low 15, high 25; the coldest slot is dawn, the warmest after lunch."""
    drawn = sky(air=warmth(swing=0.0), futures=1)
    cold, hot = drawn.measure(Measure.COLD), drawn.measure(Measure.HOT)
    assert cold is not None
    assert hot is not None
    assert int(cold[0, :, 0].argmin()) == 0
    assert int(hot[0, :5, 0].argmax()) == 4
    assert 15.0 <= float(cold.min()) < float(hot.max()) <= 25.0


def test_dry_hours_are_counted_from_spell_to_spell() -> None:
    """A day without rain that follows a spell and is followed by one is dry on both sides until them."""
    drawn = sky(rain(chain_of(0.4, 0.0)), futures=50)
    before, after = drawn.measure(Measure.DRY_BEFORE), drawn.measure(Measure.DRY_AFTER)
    assert before is not None
    assert after is not None
    for future in range(50):
        for day in range(1, 29):
            if (
                drawn.daily.wet[day - 1, future]
                and not drawn.daily.wet[day, future]
                and drawn.daily.wet[day + 1, future]
            ):
                begin, end = day * 24 + 7.0, day * 24 + 9.0
                assert before[day, 1, future] == pytest.approx(
                    begin - drawn.daily.stops[day - 1, future], abs=0.01
                )
                assert after[day, 1, future] == pytest.approx(
                    drawn.daily.rains[day + 1, future] - end, abs=0.01
                )


def test_rain_after_work_is_no_rain_at_work() -> None:
    """The day's rain counts up to the end of the slot, all of it by the evening after the spell."""
    drawn = sky(rain(chain_of(0.9, 0.0)), futures=50, days=5)
    fallen = drawn.measure(Measure.RAIN_DAY)
    assert fallen is not None
    late = drawn.daily.wet & (drawn.daily.rains > np.arange(5)[:, None] * 24 + 9)
    early = drawn.daily.wet & (drawn.daily.stops < np.arange(5)[:, None] * 24 + 13.5)
    assert late.any()
    assert early.any()
    assert float(fallen[:, 1][late].max()) == 0.0
    assert np.allclose(fallen[:, 3][early], drawn.daily.mm[early], rtol=1e-4)


def test_ground_dries_for_its_days_and_twice_as_long_in_the_cool_half() -> None:
    """One day after the spell in June, two in January north of 35 degrees."""
    for first, days in ((date(2026, 6, 1), 1), (date(2026, 1, 5), 2)):
        known = {
            first + timedelta(days=n): DayForecast(float(n == 1), 20.0, 10.0, 1.0) for n in range(6)
        }
        drawn = sky(days=6, futures=20, first=first, forecast=known)
        drying = drawn.measure(Measure.DRYING)
        assert drying is not None
        morning = 2 * 24 + 7.0
        assert np.allclose(
            drying[2, 1], np.maximum(0, drawn.daily.stops[1] + 24 * days - morning), atol=0.01
        )
        assert float(drying[1 + days + 1, 4].max()) == 0.0


def test_the_array_of_slots_and_the_single_slot_go_by_the_same_limits() -> None:
    """Every slot of five drawn weeks, read one by one, breaks a limit exactly where the array says so."""
    drawn = sky(rain(chain_of(0.5, 0.3)), days=7, futures=5)
    limits = (
        Limit(Measure.RAIN_RATE, 0.1, over=True),
        Limit(Measure.DRY_AFTER, 12.0, over=False),
        Limit(Measure.STORM_AFTER, 25.4, over=True),
        Limit(Measure.WIND, 3.0, True, (Measure.HOT, 24.0)),
        Limit(Measure.COLD, 14.0, over=False),
        Limit(Measure.NIGHT, 12.0, over=False),
        Limit(Measure.SOIL, 19.0, over=False),
        Limit(Measure.DRYING, 0.0, over=True),
    )
    marks, _ = drawn.lost(limits, 7)
    figures = {limit.measure: drawn.measure(limit.measure) for limit in limits}
    figures[Measure.HOT] = drawn.measure(Measure.HOT)
    whole = {m: np.broadcast_to(f, (7, 6, 5)) for m, f in figures.items() if f is not None}
    for day, slot, future in np.ndindex(7, 6, 5):
        seen = {measure: float(f[day, slot, future]) for measure, f in whole.items()}
        assert (broken(limits, seen) is not None) == marks[day * 6 + slot, future]


def test_what_is_not_drawn_stops_nothing() -> None:
    """Thunder, heat index and evaporation need figures that no climate table has."""
    drawn = sky()
    limits = (Limit(Measure.THUNDER, 0.0, over=True), Limit(Measure.HEAT_INDEX, 115.0, over=True))
    marks, causes = drawn.lost(limits, 30)
    assert (bool(marks.any()), causes) == (False, {})
    given = Limit(Measure.COLD, 99.0, False, (Measure.HEAT_INDEX, 0.0))
    assert not drawn.lost((given,), 30)[0].any()


def test_shares_lost_add_up_and_are_told_by_the_first_limit_broken() -> None:
    """All day slots are too cold; the wind that blows as well loses none of them twice."""
    drawn = sky(futures=50)
    limits = (Limit(Measure.COLD, 99.0, over=False), Limit(Measure.WIND, 0.0, over=True))
    assert drawn.lost(limits, 30)[1] == {Measure.COLD: 1.0, Measure.WIND: 0.0}


def test_warm_days_count_whole_and_cold_ones_in_part() -> None:
    """At 10 C (50 F) and above a day is a day, at 5 C half a day, at 0 C none."""
    for degrees, credit in ((12.0, 1.0), (5.0, 0.5), (-0.5, 0.0)):
        air = warmth(high=degrees + 0.5, low=degrees - 0.5, swing=0.0)
        drawn = sky(days=10, futures=1, air=air)
        assert float(drawn.warm_days[-1, 0]) == pytest.approx(10 * credit, abs=0.1)


def test_a_triangle_has_its_ends_and_its_middle() -> None:
    """Luck 0 is the least, 1 the high, the peak's own share the usual; no width is the usual."""
    luck = np.array([0.0, 0.25, 1.0], np.float32)
    assert triangle(luck, 1.0, 2.0, 5.0) == pytest.approx([1.0, 2.0, 5.0])
    assert triangle(luck, 3.0, 3.0, 3.0) == pytest.approx([3.0, 3.0, 3.0])
