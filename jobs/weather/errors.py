"""What can be wrong with weather somebody hands in; each error says what to do about it."""

from __future__ import annotations


class WeatherError(Exception):
    """Something about weather that cannot be used.

    Attributes
    ----------
    reason
        What is wrong and why.
    remedy
        What to do about it.
    """

    def __init__(self, reason: str, *, remedy: str) -> None:
        super().__init__(f"{reason}: {remedy}")
        self.reason, self.remedy = reason, remedy


class BadRecord(WeatherError):
    """A daily weather record that cannot be read or is too short to count from."""


class BadPlace(WeatherError):
    """A position that is nowhere, or a place nobody knows."""
