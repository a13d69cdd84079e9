"""The common record of a forecast: layers of values over intervals, whatever service it came from.

Instants are whole minutes since the epoch, UTC. Unknown is never zero: a value that is not there covers
nothing, and each answer says how much of its window was covered.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

from .errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Iterator


class Span(NamedTuple):
    """From an instant up to another, minutes."""

    begin: int
    end: int

    @property
    def minutes(self) -> int:
        """Length."""
        return self.end - self.begin

    def shared(self, other: Span) -> int:
        """Minutes both have."""
        return max(0, min(self.end, other.end) - max(self.begin, other.begin))


class Piece(NamedTuple):
    """A value that holds over a span, or for rain the total that falls in it."""

    span: Span
    value: float


@dataclass(frozen=True, slots=True)
class Layer:
    """Pieces of one quantity, in order of time.

    A forecast's windows are looked up by the hundred, so the pieces near one are found by halving:
    none that begins earlier than the longest piece before the window can reach into it.
    """

    pieces: tuple[Piece, ...] = ()
    _begins: tuple[int, ...] = field(init=False, repr=False, compare=False)
    _longest: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Note where pieces begin; they must stand in order of time."""
        begins = tuple(piece.span.begin for piece in self.pieces)
        if list(begins) != sorted(begins):
            raise WeatherError(
                "a layer's pieces are out of order", remedy="sort them by their begin"
            )
        object.__setattr__(self, "_begins", begins)
        longest = max((piece.span.minutes for piece in self.pieces), default=0)
        object.__setattr__(self, "_longest", longest)

    def within(self, window: Span) -> Iterator[tuple[Piece, int]]:
        """Yield the pieces that touch a window, with the minutes they share with it."""
        first = bisect_right(self._begins, window.begin - self._longest)
        for piece in self.pieces[first : bisect_left(self._begins, window.end)]:
            shared = piece.span.shared(window)
            if shared:
                yield piece, shared

    def cover(self, window: Span) -> float:
        """Return the share of a window with a known value, 0 to 1."""
        marks = sorted(
            (max(piece.span.begin, window.begin), min(piece.span.end, window.end))
            for piece, _ in self.within(window)
        )
        known, reached = 0, window.begin
        for begin, end in marks:
            known += max(0, end - max(begin, reached))
            reached = max(reached, end)
        return known / window.minutes

    def total(self, window: Span) -> float | None:
        """Return the amount that falls in a window: totals prorated evenly; None if nothing is known."""
        parts = [piece.value * shared / piece.span.minutes for piece, shared in self.within(window)]
        return sum(parts) if parts else None

    def most(self, window: Span) -> float | None:
        """Return the largest value in a window, None if nothing is known."""
        return max((piece.value for piece, _ in self.within(window)), default=None)

    def least(self, window: Span) -> float | None:
        """Return the smallest value in a window, None if nothing is known."""
        return min((piece.value for piece, _ in self.within(window)), default=None)

    def ending_in(self, window: Span) -> float | None:
        """Return the value of the piece that ends inside a window: a night's low, a day's high."""
        ended = [p.value for p in self.pieces if window.begin < p.span.end <= window.end]
        return ended[-1] if ended else None


LIKELY = 50
"""Percent from which rain counts as coming: likelier than not."""


@dataclass(frozen=True, slots=True)
class Hours:
    """A forecast.

    Attributes
    ----------
    updated
        When the service made it, None if it does not say.
    reach
        What it claims to cover.
    rain, chance, temperature, humidity, wind, gust, low, high
        Millimetres in total, percent, Celsius, percent, km/h, km/h, Celsius, Celsius.
    missing
        Layers the answer should hold and does not, as the service calls them.
    remarks
        What was left out as impossible, for the person who looks into it.
    likely
        The rain, with what is less likely than not taken for none; where nobody says how likely it is, it
        counts.
    """

    updated: datetime | None
    reach: Span
    rain: Layer = Layer()
    chance: Layer = Layer()
    temperature: Layer = Layer()
    humidity: Layer = Layer()
    wind: Layer = Layer()
    gust: Layer = Layer()
    low: Layer = Layer()
    high: Layer = Layer()
    missing: tuple[str, ...] = ()
    remarks: tuple[str, ...] = field(default=())
    likely: Layer = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse a forecast of no time; pick the rain that is likely, once for all who ask."""
        if self.reach.minutes <= 0:
            raise WeatherError("the forecast covers no time", remedy="ask the service again")
        object.__setattr__(self, "likely", Layer(tuple(map(self._likely, self.rain.pieces))))

    def _likely(self, piece: Piece) -> Piece:
        chance = self.chance.most(piece.span)
        return piece if chance is None or chance >= LIKELY else Piece(piece.span, 0.0)

    @property
    def usable(self) -> bool:
        """True if any of rain, chance of rain, temperature or wind is known."""
        return any(layer.pieces for layer in (self.rain, self.chance, self.temperature, self.wind))

    def age_hours(self, now: datetime) -> float | None:
        """Return hours since it was made; negative if a clock is wrong."""
        if self.updated is None:
            return None
        return (now - self.updated).total_seconds() / 3600


class Alert(NamedTuple):
    """A warning of the service that holds over a span.

    ``severity`` is Unknown, Minor, Moderate, Severe or Extreme; ``counts`` is False for tests
    and cancelled ones.
    """

    event: str
    severity: str
    span: Span
    counts: bool


class Where(NamedTuple):
    """Where a service keeps a place's forecast: address of the answer, time zone, grid, town."""

    path: str
    zone: str
    grid: tuple[str, int, int]
    city: str = ""
    state: str = ""


def minute(moment: datetime) -> int:
    """Return whole minutes since the epoch of an aware instant."""
    return int(moment.timestamp()) // 60


def moment(minutes: int) -> datetime:
    """Return the aware instant of minutes since the epoch."""
    return datetime.fromtimestamp(minutes * 60, tz=UTC)
