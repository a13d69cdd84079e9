"""How tidy a plan is, in words: crews to and fro, rented machines standing idle, customs passed over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

WORDS = (
    ("hops", "half-day move between yards", "half-day moves between yards"),
    (
        "returns",
        "return of a crew to a yard after a day or more elsewhere",
        "returns of a crew to a yard after a day or more elsewhere",
    ),
    ("lone", "visit for two hours only", "visits for two hours only"),
    (
        "pours",
        "pour on a Friday afternoon or before a holiday",
        "pours on a Friday afternoon or before a holiday",
    ),
    (
        "planting",
        "planting or sod begun late in the week or the day",
        "plantings or sod begun late in the week or the day",
    ),
)
"""What is counted, as one and as several are called; machines come after the visits."""


def tidy_words(found: Mapping[str, Any], before: Mapping[str, Any]) -> str:
    """Say what is untidy in a plan, each with how it is in the published one where that differs.

    Parameters
    ----------
    found, before
        As plans keep them; ``before`` is empty where nothing was published.
    """
    return ", ".join(_lines(found, before)) if found else ""


def _lines(found: Mapping[str, Any], before: Mapping[str, Any]) -> Iterator[str]:
    for key, one, several in WORDS:
        now, was = found[key], before.get(key)
        if now or was:
            yield f"{now or 'no'} {one if now == 1 else several}{_was(now, was)}"
    idle = {**dict.fromkeys(before.get("idle", {}), 0), **found["idle"]}
    for name, now in idle.items():
        was = before["idle"].get(name, 0) if before else None
        days = "day" if now == 1 else "days"
        yield f"{now or 'no'} idle {days} of the {name.lower()}{_was(now, was)}"


def _was(now: int, was: int | None) -> str:
    if was is None or was == now:
        return ""
    return f" ({was or 'none'} in the published plan)"
