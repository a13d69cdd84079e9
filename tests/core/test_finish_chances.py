"""How long an outdoor job of so many workdays takes: exact chances, and how forecasts are scored."""

from __future__ import annotations

import numpy as np
import pytest

from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.risk.days import DryOut, Start, finish_chances, score_chances
from jobs.weather.chain import Chain, chain_of
from jobs.weather.rain import Rain
from tests.renewal import LostDays

EVERY_DAY = [True] * 120
SPRING = [4.5] * 121
DRY = Rain((Chain(0.0, 0.0),) * 12, (0.0,) * 12, 0.0)


def rain(share: float, memory: float, *, heavy: float = 0.3, spread: float = 0.0) -> Rain:
    """Return the same rain all year."""
    return Rain((chain_of(share, memory),) * 12, (heavy,) * 12, spread)


def day_of(done_by: np.ndarray, share: float) -> int:
    """Return the first calendar day (1 is the start) by which the job is done with such a chance."""
    return int((done_by[0] >= share - 1e-9).argmax()) + 1


def test_no_rain_no_loss() -> None:
    """Ten days of work in dry weather are done on day 10, for certain."""
    done = finish_chances([Start(DRY, SPRING, EVERY_DAY)], [10], DryOut.NONE)[10]
    assert (done[0, 8], done[0, 9]) == pytest.approx((0.0, 1.0), abs=1e-6)


def test_weekends_are_not_worked() -> None:
    """Ten days of work from a Monday on end on the second Friday, day 12."""
    week = [day % 7 < 5 for day in range(120)]
    done = finish_chances([Start(DRY, SPRING, week)], [10], DryOut.NONE)[10]
    assert day_of(done, 0.5) == 12


@pytest.mark.parametrize(("share", "memory"), [(0.3, 0.0), (0.2, 0.0)])
def test_independent_days_are_the_negative_binomial(share: float, memory: float) -> None:
    """The same chances as the closed form, whatever the day before was."""
    done = finish_chances([Start(rain(share, memory), SPRING, EVERY_DAY)], [20], DryOut.NONE)[20]
    lost = LostDays(chain_of(share, memory), 20)
    assert [day_of(done, p) for p in (0.5, 0.8, 0.9)] == [
        20 + lost.quantile(p) for p in (0.5, 0.8, 0.9)
    ]


def test_the_mean_is_that_of_the_renewal() -> None:
    """20 days at 0.3 and 0.25, the day before unknown: 20 + 8.714286 (algebra)."""
    done = finish_chances([Start(rain(0.3, 0.25), SPRING, EVERY_DAY)], [20], DryOut.NONE)[20]
    assert 1 + float((1 - done[0]).sum()) == pytest.approx(28.714286, abs=1e-5)


def test_drying_costs_more_the_less_rain_it_takes() -> None:
    """P80 of 20 days: only the wet day, the day after a heavy one too, the day after any."""
    start = [Start(rain(0.3, 0.25), SPRING, EVERY_DAY)]
    days = [day_of(finish_chances(start, [20], dryout)[20], 0.8) for dryout in DryOut]
    assert days == sorted(set(days))


def test_a_wet_day_after_which_nothing_is_lost_costs_its_day_only() -> None:
    """No heavy days: dry-out after heavy ones changes nothing."""
    start = [Start(rain(0.3, 0.25, heavy=0.0), SPRING, EVERY_DAY)]
    none, heavy = (finish_chances(start, [20], dryout)[20] for dryout in list(DryOut)[:2])
    assert np.allclose(none, heavy)


def test_years_that_differ_bring_the_ninetieth_later() -> None:
    """A spread of the log-odds of 0.4 widens both ends."""
    sure, unsure = (
        finish_chances([Start(rain(0.3, 0.2, spread=s), SPRING, EVERY_DAY)], [40], DryOut.NONE)[40]
        for s in (0.0, 0.4)
    )
    assert day_of(unsure, 0.9) > day_of(sure, 0.9)
    assert day_of(unsure, 0.1) < day_of(sure, 0.1)


def test_a_wetter_month_is_felt_from_its_middle_on() -> None:
    """Rain in June only: 10 days from 1 May lose nothing, 10 from the middle of June lose some."""
    june = Rain((Chain(0, 0),) * 5 + (chain_of(0.5, 0.2),) + (Chain(0, 0),) * 6, (0.3,) * 12, 0.0)
    may, mid = (
        finish_chances([Start(june, [at] * 121, EVERY_DAY)], [10], DryOut.NONE)[10]
        for at in (4.49, 5.5)
    )
    assert (day_of(may, 0.9), day_of(mid, 0.5) > 10) == (10, True)


def test_nothing_to_finish_is_told() -> None:
    """No starts, or no workdays."""
    with pytest.raises(SchedulingError, match="give starts and workdays"):
        finish_chances([], [10], DryOut.NONE)


def test_scores_of_two_jobs_by_hand() -> None:
    """Both done by day 2 with 0.6, by day 3 for certain; they came on day 2 and day 3.

    P50 says day 2: one of two was done, due was 0.6. P80 says day 3: both, due was 1. Ranked
    probability score: (0.6 - 1)^2 and 0.6^2, mean 0.26.
    """
    done = np.array([[0.0, 0.6, 1.0], [0.0, 0.6, 1.0]])
    scored = score_chances(done, [2, 3], (0.5, 0.8))
    assert (scored.jobs, scored.observed, scored.expected) == (
        2,
        (0.5, 1.0),
        (pytest.approx(0.6), 1.0),
    )
    assert scored.crps == pytest.approx((0.16 + 0.36) / 2)
