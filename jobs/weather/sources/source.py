"""What a source of forecasts is: addresses as text, and parsers from bytes to the common record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.weather.errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Callable

    from jobs.weather.climate import Spot
    from jobs.weather.hours import Alert, Hours, Where


class BadAnswer(WeatherError):
    """An answer of a service that is no forecast; ``kind`` says what it is instead.

    ``not_json``, ``error`` (the service says so itself) or ``unknown``.
    """

    def __init__(
        self, kind: str, reason: str, *, remedy: str = "the last good one is kept"
    ) -> None:
        super().__init__(reason, remedy=remedy)
        self.kind = kind


@dataclass(frozen=True, slots=True)
class Source:
    """One service.

    Attributes
    ----------
    base
        Address its paths are added to.
    where, read_where
        Path that leads from a position to the place's forecast, and its parser.
    read_hours
        Parser of a forecast.
    alerts, read_alerts
        Path of the alerts of a position, and their parser.
    credit
        What is said below every forecast of it.
    """

    key: str
    name: str
    base: str
    accept: str
    where: Callable[[Spot], str]
    read_where: Callable[[bytes], Where]
    read_hours: Callable[[bytes], Hours]
    alerts: Callable[[Spot], str]
    read_alerts: Callable[[bytes], tuple[Alert, ...]]
    credit: str
