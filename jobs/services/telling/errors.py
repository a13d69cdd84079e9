"""One sentence of an error made for people: what is wrong, and the way out if there is one."""

from __future__ import annotations

from typing import Protocol


class Sayable(Protocol):
    """Any error of the core, and of the use cases, that is told to people."""

    reason: str
    remedy: str


def say_error(error: Sayable) -> str:
    """Return reason and remedy as one sentence."""
    return f"{error.reason}: {error.remedy}." if error.remedy else f"{error.reason}."
