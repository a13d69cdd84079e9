"""Helpers for calendar tests: a row to start from, and a strict reader of our own.

The reader follows RFC 5545 to the letter and shares nothing with the code it checks: it refuses what
a careless writer gets wrong (line ends, folds, octets, parameters, what is left open).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from crews.ical import EventRow

NEW_YORK = ZoneInfo("America/New_York")
MADE = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
CHANGED = datetime(2026, 6, 5, 22, 30, tzinfo=UTC)
NAME = re.compile(r"[A-Z0-9-]+")
PARAMETER = re.compile(r';([A-Z0-9-]+)=("[^"\x00-\x1f]*"|[^";:,\x00-\x1f]*)')


def new_york(month: int, day: int, hour: int = 0, minute: int = 0) -> datetime:
    """A moment of 2026 in New York; 8 June is a Monday."""
    return datetime(2026, month, day, hour, minute, tzinfo=NEW_YORK)


def event(**other: object) -> EventRow:
    """A morning of work on Monday 8 June 2026, with anything about it changed."""
    usual = EventRow(
        uid="grade-1",
        start=new_york(6, 8, 7),
        end=new_york(6, 8, 11),
        all_day=False,
        zone="America/New_York",
        title="Maple Lane: Grade the yard",
        place="12 Maple Lane",
        notes="",
        status="CONFIRMED",
        sequence=0,
        created=MADE,
        modified=CHANGED,
    )
    return replace(usual, **other)


@dataclass
class Line:
    """One content line: name, parameters, value as written."""

    name: str
    parameters: dict[str, str]
    value: str

    @property
    def text(self) -> str:
        """The value as TEXT (RFC 5545 3.3.11): every escape is one of the four allowed."""
        assert re.fullmatch(r"(?:[^\\;,]|\\[\\;,nN])*", self.value), self.value
        return re.sub(r"\\(.)", lambda m: {"n": "\n", "N": "\n"}.get(m[1], m[1]), self.value)


@dataclass
class Part:
    """One component with its lines and the components inside it."""

    name: str
    lines: list[Line] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)

    def all(self, name: str) -> list[Line]:
        """Every line of a name."""
        return [line for line in self.lines if line.name == name]

    def one(self, name: str) -> Line:
        """The line of a name that stands exactly once."""
        (line,) = self.all(name)
        return line

    def inside(self, name: str) -> list[Part]:
        """The components of a name right inside this one."""
        return [part for part in self.parts if part.name == name]


def unfolded(body: bytes) -> list[str]:
    """The content lines of a body; refuses wrong line ends, long lines and split letters."""
    assert body.endswith(b"\r\n")
    assert not re.search(rb"\r(?!\n)|(?<!\r)\n", body)
    lines: list[str] = []
    for octets in body[:-2].split(b"\r\n"):
        assert 0 < len(octets) <= 75, octets
        line = octets.decode()
        assert not re.search(r"[\x00-\x1f\x7f-\x9f]", line), line
        if line.startswith(" "):
            lines[-1] += line[1:]
        else:
            lines.append(line)
    return lines


def read_strictly(body: bytes) -> Part:
    """The calendar of a body, which must be one VCALENDAR and nothing beside it."""
    root = Part("")
    stack = [root]
    for text in unfolded(body):
        line = _line(text)
        if line.name == "BEGIN":
            part = Part(line.value)
            stack[-1].parts.append(part)
            stack.append(part)
        elif line.name == "END":
            assert stack.pop().name == line.value
        else:
            stack[-1].lines.append(line)
    assert stack == [root]
    assert not root.lines
    (calendar,) = root.parts
    assert calendar.name == "VCALENDAR"
    return calendar


def _line(text: str) -> Line:
    head = NAME.match(text)
    assert head, text
    at, parameters = head.end(), {}
    while found := PARAMETER.match(text, at):
        assert found[1] not in parameters, text
        parameters[found[1]] = found[2].strip('"')
        at = found.end()
    assert text[at] == ":", text
    return Line(head[0], parameters, text[at + 1 :])
