"""May this work be done in this slot, and if not, why: classes of the library on a made-up forecast."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import numpy as np
import pytest

from jobs.scheduling.sky.limits import (
    celsius,
    limits_of,
    not_known,
    slot_conditions,
    spoken,
    why_stopped,
)
from jobs.services.numbers.library import current_library
from jobs.services.telling.words import say
from jobs.trade.library import WeatherClass
from jobs.trade.work import Sentence
from jobs.weather.errors import WeatherError
from jobs.weather.hours import Alert, Hours, Layer, Piece, Span, minute
from jobs.weather.limits import Limit, Measure, breaks, unknown

DAY = Span(*(minute(datetime(2026, 6, d, tzinfo=UTC)) for d in (3, 4)))
NINE = Span(DAY.begin + 9 * 60, DAY.begin + 11 * 60)
"""The slot from 9 to 11 on 3 June."""


def span(begin: float, end: float) -> Span:
    """Return hours of 3 June, negative before, above 24 after."""
    return Span(DAY.begin + round(begin * 60), DAY.begin + round(end * 60))


def layer(*pieces: tuple[float, float, float]) -> Layer:
    """Return begin hour, end hour, value as a layer."""
    return Layer(tuple(Piece(span(a, b), value) for a, b, value in pieces))


def forecast(**changes: Layer) -> Hours:
    """Return a week that is dry, calm, 70 F and 50 % damp, with some layers changed."""
    week = (-72.0, 120.0)
    given = {
        "rain": layer((*week, 0.0)),
        "temperature": layer((*week, celsius(70))),
        "humidity": layer((*week, 50.0)),
        "wind": layer((*week, 5.0)),
    }
    return Hours(datetime(2026, 6, 3, tzinfo=UTC), span(*week), **(given | changes))


def stop(key: str, hours: Hours, *alerts: Alert, drying: float = 0.0, slot: Span = NINE) -> str:
    """Return what stops work of a class in a slot, spoken; nothing if it may be done."""
    limits = limits_of(current_library().weather[key])
    found = why_stopped(limits, slot_conditions(hours, alerts, slot, DAY, drying=drying))
    return say(found) if found else ""


@pytest.mark.parametrize("key", sorted(current_library().weather))
def test_a_fine_day_stops_nothing(key: str) -> None:
    """Dry, calm, 70 F, dry ground: every class of the library may work, and nothing is left open."""
    soil = {Measure.SOIL: celsius(70)}
    seen = {**slot_conditions(forecast(), (), NINE, DAY, drying=0.0), **soil}
    limits = limits_of(current_library().weather[key])
    assert (why_stopped(limits, seen), not_known(limits, seen)) == (None, None)


CASES = [
    ("W1", {"rain": layer((9, 11, 6.0))}, "Rain of 0.12 in/h while it is done; this work stands 0.10 in/h at most."),
    ("W2", {"rain": layer((0, 12, 12.0))}, "0.43 in of rain that day; this work stands 0.10 in at most."),
    ("W3", {"rain": layer((-72, 15, 0.0), (15, 17, 2.0))}, "Rain is due 4 h after; this work needs 6 h of dry weather then."),
    ("W3", {"wind": layer((-72, 120, 20.0))}, "Wind to 12 mph; this work stands 10 mph at most."),
    ("W3", {"temperature": layer((-72, 120, celsius(55)))}, "Down to 55 F; this work needs 60 F or warmer."),
    ("W4", {"rain": layer((-72, 19, 0.0), (19, 21, 2.0))}, "Rain is due 8 h after; this work needs 12 h of dry weather then."),
    ("W4", {"temperature": layer((0, 20, 10.0), (20, 40, -2.0))}, "Down to 28 F within a day after; fresh concrete may not freeze below 32 F."),
    ("W4", {"wind": layer((-72, 120, 38.0)), "humidity": layer((-72, 120, 10.0)), "temperature": layer((-72, 120, celsius(90)))}, "Fresh concrete would lose 0.69 lb/ft2/h; above 0.20 lb/ft2/h it is guarded or put off."),
    ("W5", {"wind": layer((-72, 120, 15.0)), "temperature": layer((-72, 120, celsius(91)))}, "Wind to 9 mph; this work stands 8 mph at most."),
    ("W5", {"wind": layer((-72, 120, 15.0))}, ""),
    ("W7", {"rain": layer((-12, -10, 2.0), (-10, 120, 0.0))}, "It rained 19 h before; this work needs 24 h of dry weather first."),
    ("W12", {"rain": layer((-72, 40, 0.0), (40, 60, 30.0), (60, 120, 0.0))}, "A storm of 1.18 in is due within three days; from 1.00 in on it would undo the work."),
    ("W1", {"temperature": layer((-72, 120, celsius(96))), "humidity": layer((-72, 120, 65.0))}, "It will feel like 121 F; heavy work stops above 115 F. Water, rest, shade; law and local rule come first."),
]  # fmt: skip
"""Class, what changes, what is said. Limits of the library, each with its source there; 121 F at 96 F and 65 %
is the National Weather Service's own figure; 90 F, 10 % and 38 km/h: 5 (50.2^2.5 x 0.9)(42) 10^-6 = 3.38 kg/m2/h."""


@pytest.mark.parametrize(("key", "changes", "told"), CASES)
def test_each_limit_stops_its_work_and_says_why(
    key: str, changes: dict[str, Layer], told: str
) -> None:
    """One figure changed, one sentence."""
    assert stop(key, forecast(**changes)) == told


def test_wet_ground_stops_soil_work_and_the_hand_overrules_it() -> None:
    """Half a day of drying left."""
    assert stop("W2", forecast(), drying=12.0) == (
        "The ground is still wet for about 12 h; a ball of soil squeezed in the hand that crumbles "
        "overrules this."
    )


def test_rain_after_the_slot_does_not_stop_soil_work() -> None:
    """The day's rain counts to the end of the slot: noon's storm comes after the work of nine."""
    assert stop("W2", forecast(rain=layer((-72, 12, 0.0), (12, 14, 20.0)))) == ""


def test_rain_less_likely_than_not_stops_nothing() -> None:
    """10 mm with 40 % do not stop a pour, with 50 % they do."""
    rain = layer((-72, 9, 0.0), (9, 11, 10.0), (11, 120, 0.0))
    for chance, stops in ((40.0, False), (50.0, True)):
        hours = forecast(rain=rain, chance=layer((-72, 120, chance)))
        assert bool(stop("W4", hours)) is stops


@pytest.mark.parametrize(
    ("begin", "end", "stops"), [(9.5, 10, True), (8, 8.75, True), (8, 8.5, False), (11, 12, False)]
)
def test_thunder_stops_all_outdoor_work_and_half_an_hour_after(
    begin: float,
    end: float,
    stops: bool,  # noqa: FBT001
) -> None:
    """In the slot or within 30 minutes before it (National Weather Service)."""
    storm = Alert("Severe Thunderstorm Warning", "Severe", span(begin, end), counts=True)
    told = "Thunder near: stop, take shelter, and wait 30 minutes after the last of it."
    assert stop("W1", forecast(), storm) == (told if stops else "")
    assert stop("W0", forecast(), storm) == ""


def test_unknown_rain_is_told_and_never_taken_for_none() -> None:
    """The rain layer is empty: spraying is not stopped by it, and the gap is said."""
    limits = limits_of(current_library().weather["W3"])
    seen = slot_conditions(forecast(rain=Layer()), (), NINE, DAY)
    assert why_stopped(limits, seen) is None
    assert not_known(limits, seen) == Sentence("weather-unknown-rain")
    assert {Measure.RAIN_RATE, Measure.DRY_AFTER} <= set(unknown(limits, seen))


def test_unknown_wind_and_air_are_told() -> None:
    """Each by its own sentence."""
    limits = limits_of(current_library().weather["W3"])
    for name in ("wind", "temperature"):
        seen = slot_conditions(forecast(**{name: Layer()}), (), NINE, DAY)
        key = "weather-unknown-wind" if name == "wind" else "weather-unknown-air"
        assert not_known(limits, seen) == Sentence(key)


def test_the_forecast_ends_and_what_comes_after_is_open() -> None:
    """Six dry hours are asked for, two are known."""
    seen = slot_conditions(forecast(rain=layer((-72, 13, 0.0))), (), NINE, DAY)
    assert seen[Measure.DRY_AFTER] == 2.0


def test_work_of_two_classes_obeys_both_and_its_own_wind() -> None:
    """Planting boxed trees by crane: 20 mph of W8 and 15 of the work itself; the lower is told."""
    library = current_library()
    limits = limits_of(library.weather["W6"], library.weather["W8"], wind_mph=15)
    winds = [round(it.figure / 0.44704) for it in limits if it.measure is Measure.WIND]
    assert winds == [15, 20, 25, 35]


def test_classes_that_leave_no_air_to_work_in_are_refused() -> None:
    """From 80 F up and from 60 F down."""
    warm = WeatherClass("A", "warm", "made up", air_min_f=Decimal(80))
    cool = WeatherClass("B", "cool", "made up", air_max_f=Decimal(60))
    with pytest.raises(WeatherError, match="can never be done"):
        limits_of(warm, cool)


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_sentence_can_be_said(language: str) -> None:
    """All measures in both languages, with both figures."""
    for measure in Measure:
        values = {"seen": spoken(measure, 1.0), "limit": spoken(measure, 2.0)}
        assert say(Sentence(f"weather-{measure}", values), language)
    assert say(Sentence("weather-rain-none", {"seen": "0.10 in/h"}), language)
    for what in ("rain", "wind", "air"):
        assert say(Sentence(f"weather-unknown-{what}"), language)


def test_a_limit_that_holds_only_in_heat_needs_the_heat_known() -> None:
    """Wind over 8 mph stops mortar above 90 F; without a temperature it is not judged."""
    limit = Limit(Measure.WIND, 3.6, True, (Measure.HOT, 32.0))
    assert why_stopped([limit], {Measure.WIND: 5.0, Measure.HOT: None}) is None


@pytest.mark.parametrize("over", [True, False])
@pytest.mark.parametrize("given", [None, (Measure.HOT, 30.0)])
def test_one_figure_and_many_futures_are_judged_alike(over: bool, given: object) -> None:  # noqa: FBT001
    """The same limit on the wind, bare or only in heat: arrays answer what each figure answers."""
    limit = Limit(Measure.WIND, 4.0, over, given)
    winds, heats = [3.0, 4.0, 5.0, 5.0], [35.0, 35.0, 35.0, 20.0]
    many = breaks(limit, np.array(winds), np.array(heats))
    assert many.tolist() == [breaks(limit, w, h) for w, h in zip(winds, heats, strict=True)]
    assert breaks(limit, 5.0 if over else 3.0, None) is (given is None)
