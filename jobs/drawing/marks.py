"""What the sheet is told and what it is made of: facts in, boxes and text out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from datetime import date, datetime

MATERIALS = {
    "moss": "living",
    "clay": "earth",
    "slate": "stone",
    "lime": "concrete",
    "rain": "water",
    "brass": "light",
    "ink": "people",
}
"""Materials and the plain word each is told by."""


@dataclass(frozen=True, slots=True)
class Line:
    """One activity as the sheet is told about it. Moments are local to the yard.

    Attributes
    ----------
    group
        Heading it stands under.
    done
        Share done, 0 to 100; ``begun`` and ``ended`` say whether it has started or is over.
    wait_until, wait_text
        End of the wait it starts, and what that is for, in words.
    slip_text
        How far it can slip, in words; empty if it has no room.
    critical
        It stands on the chain that makes the finish.
    outside
        Done by people who are not ours: drawn open.
    """

    id: str
    title: str
    note: str
    group: str
    material: str
    start: datetime
    finish: datetime
    address: str
    wait_until: datetime | None = None
    wait_text: str = ""
    slip_text: str = ""
    critical: bool = False
    done: int = 0
    ended: bool = False
    outside: bool = False
    milestone: str = ""


class StageLine(NamedTuple):
    """The weather buffer after a stage as the sheet is told about it; moments are local to the yard."""

    name: str
    planned: datetime
    likely: datetime
    safe: datetime
    words: str


class OddsLine(NamedTuple):
    """The finish as likely as not, the one kept 8 times in 10, and the buffers after the stages."""

    likely: datetime
    safe: datetime
    stages: tuple[StageLine, ...] = ()

    @property
    def last(self) -> datetime:
        """The latest moment told."""
        return max(self.likely, self.safe, *(stage.safe for stage in self.stages))


class Box(NamedTuple):
    """A rectangle."""

    x: int
    y: int
    width: int
    height: int


class Tail(NamedTuple):
    """A wait: a stippled strip with a tick at its end."""

    x: int
    y: int
    width: int
    end: int


class Label(NamedTuple):
    """A piece of text; ``anchor`` is start or end."""

    x: int
    y: int
    text: str
    anchor: str = "start"


@dataclass(frozen=True, slots=True)
class Row:
    """One activity drawn: block, what of it is done, its wait, its words."""

    id: str
    address: str
    title: Label
    note: Label
    block: Box
    material: str
    critical: bool
    outside: bool
    ended: bool
    told: str
    band: Box
    done: Box | None = None
    tail: Tail | None = None
    beside: Label | None = None


class Heading(NamedTuple):
    """A group's name over its rows, and the hairline under it."""

    text: str
    x: int
    y: int
    line: int


class Keel(NamedTuple):
    """A stretch of the keel: heavy under a block and its wait, thin between rows."""

    x1: int
    y1: int
    x2: int
    y2: int
    heavy: bool


class Flag(NamedTuple):
    """A milestone on the homeowner's line: its pole, and its words at one of several depths."""

    x: int
    y: int
    label: Label
    ended: bool


class DayMark(NamedTuple):
    """A day in the head: letter of the weekday, number."""

    x: int
    letter: str
    number: str
    day: date


@dataclass(frozen=True, slots=True)
class Part:
    """A strip of the sheet: what stands between two heights; under the one that is opened lies a story."""

    y: int
    height: int
    headings: tuple[Heading, ...]
    rows: tuple[Row, ...]
    head: bool
    foot: bool
    opened: bool


class Buffer(NamedTuple):
    """What the weather may take after the planned finish: a frame, and two ticks in it.

    ``likely`` is the even-odds finish, ``safe`` the one kept 8 times in 10.
    """

    x: int
    y: int
    width: int
    likely: int
    safe: int


@dataclass(frozen=True, slots=True)
class StageRow:
    """The weather buffer after a stage drawn: its name, its dates, the frame, its words."""

    name: Label
    note: Label
    told: str
    frame: Buffer
    beside: Label | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawn sheet: whole numbers and text only."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    parts: tuple[Part, ...]
    months: tuple[Label, ...]
    days: tuple[DayMark, ...]
    weeks: tuple[int, ...]
    folds: tuple[Box, ...]
    keel: tuple[Keel, ...]
    flags: tuple[Flag, ...]
    base: int
    today: int | None
    buffer: Buffer | None = None
    stages: tuple[StageRow, ...] = ()
    stages_heading: Heading | None = None
