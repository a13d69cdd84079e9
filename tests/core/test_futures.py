"""Futures of a plan: its order through weather, pace and waits."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given

from jobs.scheduling.dice import Dice
from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.scheduling.risk.days_drawn import DrawnDays
from jobs.scheduling.risk.futures import run_futures
from jobs.scheduling.risk.hazards import Hazards
from jobs.scheduling.risk.place import DayForecast, Place
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Tie, World
from jobs.trade.facts import DryOut
from jobs.trade.work import Clock, Lag
from jobs.weather.chain import Chain, chain_of
from jobs.weather.limits import Limit, Measure
from jobs.weather.rain import Rain
from jobs.weather.temperature import Swing, Warmth
from tests.worlds import (
    ALWAYS,
    DAY,
    EVENING,
    FIRST,
    JUNE,
    LAST,
    MONDAY,
    SECOND,
    THIRD,
    at,
    job,
    june,
    patio,
    plan,
    tie,
    work,
    world,
    worlds,
)

SOIL = DryOut("test", (), "made up", *[Decimal(1)] * 3)
MILD = Warmth((25.0,) * 12, (15.0,) * 12, (Swing(1.0, 1.0, 0.5),) * 12, (3.0,) * 12)
COLD = Limit(Measure.COLD, 0.0, over=False)
DRY = Rain((Chain(0.0, 0.0),) * 12, (0.3,) * 12, 0.0)


def place(*freezing: date, rain: Rain = DRY, warmth: Warmth = MILD) -> Place:
    """Return a dry mild place where some days are at 20 below for certain."""
    days = {day: DayForecast(0.0, -20.0, -25.0, 1.0) for day in freezing}
    return Place("here", rain, warmth, SOIL, 40.0, days)


def local(slot: int, *, finish: bool = True) -> datetime:
    """Return when a slot ends (or begins)."""
    return JUNE.ends(slot) if finish else JUNE.begins(slot)


# -- W12: nothing goes wrong ---------------------------------------------------------------


def test_without_weather_and_with_the_usual_pace_every_future_is_the_plan() -> None:
    """No rain, no loss: P50 = P80 = P90 = planned, the promise is kept, nothing is eaten."""
    made, placed = patio()
    futures = run_futures(made, placed, weather=Hazards(), runs=20, dice=Dice(1))
    oak = futures.jobs["oak"]
    tuesday = local(june(23, SECOND))
    assert oak[:4] == (tuesday, tuesday, tuesday, tuesday)
    assert (oak.kept, oak.beyond, oak.buffer) == (0.0, 0.0, timedelta())
    assert futures.eaters == {"oak": ()}


@given(worlds())
def test_any_plan_without_hazards_is_every_future(made: World) -> None:
    """Whatever links, shifts, keep-outs, passages and records a world has (W12)."""
    try:
        placed = build_plan(made).plan
    except NoPlan:
        return
    futures = run_futures(made, placed, weather=Hazards(), runs=2, dice=Dice(0))
    assert {name: (odds.p50, odds.p90) for name, odds in futures.works.items()} == {
        name: (odds.planned, odds.planned) for name, odds in futures.works.items()
    }


# -- weather ---------------------------------------------------------------------------------


def test_a_day_too_cold_for_the_base_moves_what_follows() -> None:
    """Base Wed to Thu, pour Fri, its week until Fri 19, 13:30: stone Fri 19 to Wed 24, 9:00."""
    made, placed = patio()
    weather = Hazards(places={"oak": place(date(2026, 6, 10))}, limits={"base": (COLD,)})
    futures = run_futures(made, placed, weather=weather, runs=10, dice=Dice(1))
    assert futures.works["base"].p50 == local(june(11, LAST))
    assert futures.works["pour slab"].p50 == local(june(12, THIRD))
    assert futures.jobs["oak"].p50 == local(june(24, FIRST))
    assert futures.jobs["oak"].buffer == local(june(24, FIRST)) - local(june(23, SECOND))


def test_a_day_the_plan_stays_away_from_by_forecast_is_drawn_by_its_odds() -> None:
    """Monday shut in the plan, 3 in 10 to be wet: dug on Monday at even odds, later in the wet futures."""
    made = world(work("dig", 4, window=ALWAYS & ~sum(1 << june(8, n) for n in range(6))))
    placed = plan(dig=at(june(9), june(9, LAST)))
    monday = {MONDAY: DayForecast(0.3, 25.0, 15.0, 1.0)}
    weather = Hazards(
        places={"oak": Place("here", DRY, MILD, SOIL, 40.0, monday)},
        limits={"dig": (Limit(Measure.RAIN_DAY, 2.54, over=True),)},
    )
    kept_away = run_futures(made, placed, weather=weather, runs=500, dice=Dice(1)).jobs["oak"]
    assert (kept_away.p50, kept_away.p90) == (local(june(9, LAST)),) * 2
    afresh = replace(weather, windows={"dig": None})
    drawn = run_futures(made, placed, weather=afresh, runs=500, dice=Dice(1)).jobs["oak"]
    assert drawn.p50 == local(june(8, LAST))
    assert local(june(8, LAST)) < drawn.p90 <= local(june(9, LAST))


def test_the_work_that_was_late_eats_the_days_and_they_add_up() -> None:
    """The base eats one day; the stone gives back what its own weekend had left over."""
    made, placed = patio()
    weather = Hazards(places={"oak": place(date(2026, 6, 10))}, limits={"base": (COLD,)})
    futures = run_futures(made, placed, weather=weather, runs=10, dice=Dice(1))
    assert futures.eaters["oak"][0] == ("base", 1.0)
    assert futures.causes["base"] == {Measure.COLD: pytest.approx(4 / 64)}


def test_a_drawn_pace_is_rounded_up_once() -> None:
    """5 minutes of work, up to twice as slow, are one slot in every future; 0.9 slots are one or two."""
    made = world(
        work("tamp", 1, exact={"north": 0.05}), work("cut", 1, "south", exact={"south": 0.9})
    )
    placed = plan(tamp=at(june(8), june(8)), cut=at(june(8), june(8), "south"))
    weather = Hazards(paces={"tamp": (0.5, 2.0), "cut": (0.5, 1.9)})
    works = run_futures(made, placed, weather=weather, runs=500, dice=Dice(1)).works
    assert works["tamp"].p90 == local(june(8))
    assert (works["cut"].p50, works["cut"].p90) == (local(june(8)), local(june(8, SECOND)))


def test_pace_is_drawn_between_its_ends() -> None:
    """Eight slots at half to double the time end between Monday 15:30 and Thursday 15:30."""
    made = world(work("dig", 8))
    placed = plan(dig=at(june(8), june(9, LAST)))
    weather = Hazards(paces={"dig": (0.5, 2.0)})
    odds = run_futures(made, placed, weather=weather, runs=2000, dice=Dice(3)).jobs["oak"]
    assert local(june(9, LAST)) < odds.p80 < odds.p90 < local(june(11, LAST))
    assert odds.p50 > local(june(8, LAST))


def test_waits_are_drawn_between_least_and_high() -> None:
    """A week's wait of 5 to 10 days: stone a day or two later in most futures, never before day 5."""
    week = Tie("pour", "stone", lag=Lag(7 * DAY, wait="W"))
    made = world(work("pour", 1), work("stone", 1, "south"), ties=(week,))
    placed = plan(pour=at(june(8), june(8)), stone=at(june(15, SECOND), june(15, SECOND), "south"))
    weather = Hazards(waits={"W": (5 / 7, 10 / 7)})
    odds = run_futures(made, placed, weather=weather, runs=2000, dice=Dice(3)).works["stone"]
    assert local(june(15, SECOND)) <= odds.p50
    assert local(june(16)) <= odds.p90 <= local(june(18, SECOND))


def test_a_permit_takes_its_business_days() -> None:
    """3 to 9 business days, 5 usual, asked for on Mon 8 June: dug between Fri 12 and Mon 22 June."""
    permit = Tie("ask", "dig", lag=Lag(5, Clock.BUSINESS, wait="W"))
    made = world(work("ask", 1, ""), work("dig", 1), ties=(permit,))
    placed = plan(ask=at(june(8), june(8), ""), dig=at(june(16), june(16)))
    weather = Hazards(waits={"W": (3 / 5, 9 / 5)})
    odds = run_futures(made, placed, weather=weather, runs=2000, dice=Dice(3)).works["dig"]
    assert local(june(12)) <= odds.p50 <= local(june(17))
    assert local(june(18)) <= odds.p90 <= local(june(22))


def test_a_stage_tells_its_own_end_and_who_eats_its_buffer() -> None:
    """Digging alone, quick or slow by luck: what it eats near the safe day is the buffer, to half a day."""
    made = world(work("dig", 8), work("stone", 1, "south"), ties=(Tie("dig", "stone"),))
    placed = plan(dig=at(june(8), june(9, LAST)), stone=at(june(10), june(10), "south"))
    weather = Hazards(paces={"dig": (0.5, 2.0)})
    stages = {("oak", "groundwork"): ["dig"], ("oak", "finish"): list(made.works)}
    futures = run_futures(made, placed, weather=weather, runs=2000, dice=Dice(3), stages=stages)
    ground, finish = (futures.stages["oak", name] for name in ("groundwork", "finish"))
    assert ground.odds[:4] == futures.works["dig"][:4]
    assert finish.odds[:4] == futures.jobs["oak"][:4]
    [eater] = ground.eaters
    assert eater.work == "dig"
    assert abs(eater.days - ground.odds.buffer / timedelta(days=1)) < 0.5
    assert (
        futures.works == run_futures(made, placed, weather=weather, runs=2000, dice=Dice(3)).works
    )


def test_a_wait_that_an_engineer_set_is_the_same_in_every_future() -> None:
    """Neither drawn between least and high nor stretched by cold."""
    cool = Warmth((5.5,) * 12, (4.5,) * 12, (Swing(0.0, 0.0, 0.0),) * 12, (3.0,) * 12)
    week = Tie("pour", "stone", lag=Lag(7 * DAY, wait="W-cure"))
    made = world(work("pour", 1), work("stone", 1, "south"), ties=(week,))
    placed = plan(pour=at(june(8), june(8)), stone=at(june(15, SECOND), june(15, SECOND), "south"))
    weather = Hazards(
        places={"oak": place(warmth=cool)},
        waits={"W-cure": (0.5, 2.0)},
        cures={"W-cure": 7.0},
        fixed=frozenset({("pour", "W-cure")}),
    )
    odds = run_futures(made, placed, weather=weather, runs=50, dice=Dice(1)).works["stone"]
    assert odds.p50 == odds.p90 == local(june(15, SECOND))


def test_a_job_that_goes_by_other_figures_draws_its_own_wait() -> None:
    """Ours between 3 and 9 days, the job's always five."""
    known = Hazards(waits={"W": (3 / 5, 9 / 5)}, own_waits={("oak", "W"): (1.0, 1.0)})
    assert known.spread("oak", "W") == (1.0, 1.0)
    assert known.spread("elm", "W") == (3 / 5, 9 / 5)
    assert known.spread("elm", "V") is None


def test_concrete_cures_later_in_the_cold() -> None:
    """At 5 C an hour counts half: a cure of 7 warm days takes 14, from Mon 8 to Mon 22 June."""
    cool = Warmth((5.5,) * 12, (4.5,) * 12, (Swing(0.0, 0.0, 0.0),) * 12, (3.0,) * 12)
    week = Tie("pour", "stone", lag=Lag(7 * DAY, wait="W-cure"))
    made = world(work("pour", 1), work("stone", 1, "south"), ties=(week,))
    placed = plan(pour=at(june(8), june(8)), stone=at(june(15, SECOND), june(15, SECOND), "south"))
    found = {}
    for name, warmth in (("cool", cool), ("mild", MILD)):
        weather = Hazards(
            places={"oak": place(warmth=warmth)},
            waits={"W-cure": (1.0, 1.0)},
            cures={"W-cure": 7.0},
        )
        found[name] = (
            run_futures(made, placed, weather=weather, runs=5, dice=Dice(1)).works["stone"].p50
        )
    assert found == {"mild": local(june(15, SECOND)), "cool": local(june(22, SECOND))}


def test_more_rain_makes_later_dates() -> None:
    """P80 of three weeks of digging rises with the share of wet days, and years that differ widen it."""
    made = world(work("dig", 40), jobs={"oak": job(promise=june(22, LAST))})
    placed = plan(dig=at(june(8), june(19, LAST)))
    limit = Limit(Measure.RAIN_DAY, 2.54, over=True)
    said = []
    for share in (0.05, 0.2, 0.4):
        wet = Rain((chain_of(share, 0.2),) * 12, (0.3,) * 12, 0.15)
        weather = Hazards(places={"oak": place(rain=wet)}, limits={"dig": (limit,)})
        said.append(run_futures(made, placed, weather=weather, runs=500, dice=Dice(5)).jobs["oak"])
    assert said[0].p80 < said[1].p80 < said[2].p80
    assert said[0].kept > said[1].kept > said[2].kept


def test_two_yards_of_one_station_have_the_same_rain_whatever_their_soil() -> None:
    """Both are stopped in the same futures: same odds, work for work."""
    made = world(work("dig", 8), work("cut", 8, "south", job="elm"))
    placed = plan(dig=at(june(8), june(9, LAST)), cut=at(june(8), june(9, LAST), "south"))
    wet = Rain((chain_of(0.4, 0.2),) * 12, (0.3,) * 12, 0.15)
    other = DryOut("other", (), "made up", *[SOIL.cool_factor * 2] * 3)
    places = {"oak": place(rain=wet), "elm": Place("here", wet, MILD, other, 40.0, {})}
    limit = (Limit(Measure.RAIN_DAY, 2.54, over=True),)
    weather = Hazards(places=places, limits={"dig": limit, "cut": limit})
    futures = run_futures(made, placed, weather=weather, runs=300, dice=Dice(2))
    assert futures.works["dig"] == futures.works["cut"]


def test_the_same_seed_says_the_same_and_another_something_else() -> None:
    """Reproducible by seed, down to the minute."""
    made, placed = patio()
    weather = Hazards(paces=dict.fromkeys(made.works, (0.5, 2.0)))
    first, again, other = (
        run_futures(made, placed, weather=weather, runs=50, dice=Dice(seed)) for seed in (1, 1, 2)
    )
    assert first == again
    assert first.eaters != other.eaters


def test_a_plan_that_ends_beyond_the_axis_says_so() -> None:
    """Frost on every day: nothing is done within the days looked at, in any future."""
    made, placed = patio()
    always = place(*(MONDAY + timedelta(days=n) for n in range(28)))
    weather = Hazards(places={"oak": always}, limits={"base": (COLD,)})
    odds = run_futures(made, placed, weather=weather, runs=3, dice=Dice(1)).jobs["oak"]
    assert (odds.beyond, odds.p50) == (1.0, local(JUNE.size - 1))
    assert odds.p50.astimezone(UTC).date() >= date(2026, 7, 5)


def test_requests_are_not_made_earlier_than_planned() -> None:
    """A call that is timed to its need stays where it is, though nothing would hold it back."""
    made = world(work("call", 1, "", request=True), work("dig", 1), ties=(tie("call", "dig"),))
    placed = plan(call=at(june(10), june(10), ""), dig=at(june(11), june(11)))
    futures = run_futures(made, placed, weather=Hazards(), runs=1, dice=Dice(1))
    assert futures.works["call"].p50 == local(june(10))


def test_no_futures_are_told() -> None:
    """None asked for, or nothing to walk."""
    made, placed = patio()
    with pytest.raises(SchedulingError, match="ask for one or more"):
        run_futures(made, placed, weather=Hazards(), runs=0, dice=Dice(1))


def test_evening_work_keeps_to_its_evening() -> None:
    """Sawing stays in the evening of the pour in every future, late pours or not."""
    made, placed = patio()
    weather = Hazards(places={"oak": place(date(2026, 6, 10))}, limits={"base": (COLD,)})
    futures = run_futures(made, placed, weather=weather, runs=3, dice=Dice(1))
    assert futures.works["saw joints"].p50 == local(june(12, EVENING))


def test_ten_thousand_drawn_months_spread_as_the_chain_says() -> None:
    """30 days from the long run: 12.755 wet within 0.13, deviation 4.126 within 0.10.

    Source: the chain of Gabriel and Neumann (1962), P01 0.250 and P11 0.662, in closed form.
    """
    town = Rain((Chain(0.250, 0.662),) * 12, (0.3,) * 12, 0.0)
    days = [date(2026, 12, 1) + timedelta(days=n) for n in range(30)]
    wet = DrawnDays(place(rain=town), days, 10_000, Dice(1).many("months")).wet.sum(axis=0)
    assert wet.mean() == pytest.approx(12.755, abs=0.13)
    assert wet.std() == pytest.approx(4.126, abs=0.10)


def test_where_two_paths_meet_the_even_chance_is_no_sooner_than_either_s() -> None:
    """Two paths of two days, alike and each by its own luck: both are done later than either by even odds.

    Merge bias (statistics): P(max <= t) = P(a <= t) P(b <= t) where they are apart.
    """
    made = world(
        work("a", 8), work("b", 8, "south"), work("c", 1), ties=(Tie("a", "c"), Tie("b", "c"))
    )
    there = june(9, LAST)
    placed = plan(a=at(june(8), there), b=at(june(8), there, "south"), c=at(june(10), june(10)))
    weather = Hazards(paces={"a": (0.5, 2.0), "b": (0.5, 2.0)})
    stages = {("oak", "meet"): ["a", "b"]}
    futures = run_futures(made, placed, weather=weather, runs=4000, dice=Dice(5), stages=stages)
    meet = futures.stages["oak", "meet"].odds
    paths = (futures.works["a"].p50, futures.works["b"].p50)
    assert meet.p50 > max(paths)
    assert futures.works["c"].p50 > meet.p50
