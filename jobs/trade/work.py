"""The nouns every pure package shares: activity, link, wait, hold, quantity, sentence.

They are built once by ``expand_scope`` and then only read. Each checks itself in its constructor,
so that nobody after it needs to ask again.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Mapping

INSPECTION = "inspection"
"""Skill of those who look at a work for the authority: never a crew's."""
OFFICE, OWNER = "office", "owner"
"""Skills of the people at the desk, and of the yard's owner."""


class Relation(StrEnum):
    """Which event of the follower is bound to which event of the forerunner."""

    FINISH_START = "finish-to-start"
    START_START = "start-to-start"
    FINISH_FINISH = "finish-to-finish"
    START_FINISH = "start-to-finish"

    @property
    def from_finish(self) -> bool:
        """True if the forerunner's finish (not its start) is the event that binds."""
        return self in (Relation.FINISH_START, Relation.FINISH_FINISH)

    @property
    def to_finish(self) -> bool:
        """True if the follower's finish (not its start) is what is bound."""
        return self in (Relation.FINISH_FINISH, Relation.START_FINISH)


class Clock(StrEnum):
    """In what time a wait runs."""

    ELAPSED = "elapsed"
    """On the clock on the wall, nights and weekends included."""
    WORK = "work"
    """In working slots of the follower's calendar."""
    BUSINESS = "business"
    """In business days of the jurisdiction; day of the request not counted."""


class Shift(StrEnum):
    """When in the day a work may stand."""

    DAY = "day"
    DAWN = "dawn"
    EVENING = "evening"


class Tread(IntEnum):
    """How heavily a work treads on the ground it stands on or crosses, lightest first."""

    FOOT = 1
    BARROW = 2
    MACHINE = 3
    HEAVY = 4


class Sentence(NamedTuple):
    """A thing to be said: a key of the word catalogue and the values it needs.

    Values are plain text or numbers; dates go in as ISO text and are spoken by the renderer.
    """

    key: str
    values: Mapping[str, str | int] = {}


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount with the unit it was entered in (``ft2``, ``yd3``, ``each``, ``days`` ...)."""

    amount: Decimal
    unit: str

    def __post_init__(self) -> None:
        """Refuse what cannot be measured in a yard."""
        if not self.amount.is_finite() or self.amount < 0:
            raise TradeError(
                f"a quantity of {self.amount} {self.unit} cannot be built",
                remedy="give a number of zero or more",
            )


class Spread(NamedTuple):
    """Low, typical and high duration in crew days (8 h), optimistic first."""

    low: Decimal
    typical: Decimal
    high: Decimal


class ActivityKey(NamedTuple):
    """What an activity *is*, whatever its name, quantity or place in the list.

    Expanding again is a diff over these keys; ``item`` and ``zone`` are uids minted once.
    """

    item: str
    template: str
    zone: str
    ordinal: int = 0

    def __str__(self) -> str:
        """One line, parts joined by slashes, as stored."""
        return f"{self.item}/{self.template}/{self.zone}/{self.ordinal}"


@dataclass(frozen=True, slots=True)
class Hold:
    """A place kept out of for a time after a work, to whom, and who is exempt.

    Attributes
    ----------
    place
        Uid of the zone or passage held.
    minutes
        Elapsed minutes from the work's finish.
    keeps_out
        Least tread that may not enter while it lasts (``Tread.FOOT`` keeps everybody out).
    exempt
        Template keys that may enter all the same.
    wait
        Key of the wait in the library that it comes from (``W-foot``).
    """

    place: str
    minutes: int
    keeps_out: Tread
    wait: str
    exempt: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Need:
    """Some units of one machine kind for as long as the work runs."""

    machine: str
    units: int = 1


@dataclass(frozen=True, slots=True)
class Activity:
    """A piece of work with a quantity, somebody to do it, and a place.

    Attributes
    ----------
    skill
        What a crew must be able to do (``grading``, ``stone`` ...).
    least, usual
        People it cannot do without, and people its rate is quoted for.
    spread
        Crew days at ``usual`` people.
    outside
        Done by the office, the owner or the inspector: a calendar, never a bottleneck.
    request
        Worked back from its need (locate call, order), not done as early as possible.
    counts
        False for return visits after the hand-over: they do not make the job's finish.
    treads
        Every zone and passage the work stands on or hauls over, and how heavily.
    hauls
        Passages it hauls through and the percentage of each slot it takes there.
    holds
        What is kept out of after it.
    sign
        Who must say yes before anything that follows may start; empty if nobody.
    """

    key: ActivityKey
    name: str
    skill: str
    quantity: Quantity
    spread: Spread
    least: int
    usual: int
    material: str
    weather: str = "W1"
    machines: tuple[Need, ...] = ()
    one_go: bool = False
    shift: Shift = Shift.DAY
    outside: bool = False
    request: bool = False
    counts: bool = True
    treads: Mapping[str, Tread] = field(default_factory=dict)
    hauls: Mapping[str, int] = field(default_factory=dict)
    holds: tuple[Hold, ...] = ()
    sign: str = ""
    cautions: tuple[str, ...] = ()
    milestone: str = ""

    def __post_init__(self) -> None:
        """Refuse a crew of nobody and durations out of order."""
        if not 1 <= self.least <= self.usual:
            raise TradeError(
                f"{self.name}: {self.least} people at least but {self.usual} usual",
                remedy="the least crew is one or more and not above the usual crew",
            )
        if not Decimal(0) < self.spread.low <= self.spread.typical <= self.spread.high:
            raise TradeError(
                f"{self.name}: durations {self.spread} are not in order",
                remedy="give low, typical and high rates with low <= typical <= high",
            )


@dataclass(frozen=True, slots=True)
class Lag:
    """The time that must pass along a link, and optionally the time that may.

    Attributes
    ----------
    amount
        Elapsed minutes, quarter-day work slots or business days, as ``clock`` says.
        Negative for a lead (allowed by hand only).
    at_most
        Elapsed minutes between the two events that may not be exceeded, or None.
    wait
        Key of the library's wait it comes from, empty for a plain link.
    slower
        Elapsed minutes more, by day of the forerunner's event counted from the first of the axis; the
        last holds on. Cold slows a cure. Never so much less than the day before that a later event would
        be over sooner. Empty where no day is slower.
    """

    amount: int = 0
    clock: Clock = Clock.ELAPSED
    at_most: int | None = None
    wait: str = ""
    slower: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Link:
    """Two activities tied together, by which rule, and why."""

    before: ActivityKey
    after: ActivityKey
    rule: str
    relation: Relation = Relation.FINISH_START
    lag: Lag = Lag()
    why: Sentence = Sentence("")
