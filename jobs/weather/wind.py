"""How windy an hour of a month may be."""

from __future__ import annotations

from math import gamma, sqrt


def wind_curve(mean: float) -> tuple[float, float]:
    """Return shape and scale of the hours' wind, m/s, by the mean of their month.

    Weibull with shape 0.94 sqrt(mean) (Justus, Hargraves, Mikhail and Graber 1978, Journal of Applied
    Meteorology 17, 350-353, from memory).
    """
    shape = max(1.0, 0.94 * sqrt(mean))
    return shape, mean / gamma(1 + 1 / shape)
