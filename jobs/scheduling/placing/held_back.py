"""Who comes after whom when works are placed: whoever must be followed soon comes after all others."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.ready import Ready


def held_back(ready: Ready) -> list[list[int]]:
    """Return the followers of each work, and more: who is followed soon comes after all others.

    If a work must follow another soon, its other forerunners are placed before that one, so that it
    can follow at once. Left out where that would run in a ring.
    """
    after = [list(followers) for followers in ready.after]
    befores: list[list[int]] = [[] for _ in after]
    for i, followers in enumerate(ready.after):
        for j in followers:
            befores[j].append(i)
    for i, binds in enumerate(ready.back):
        if i in ready.fixed:
            continue
        for bind in binds:
            for j in befores[bind.after]:
                if j not in ready.fixed and j != i and j not in _beyond(after, i):
                    after[j].append(i)
    return after


def _beyond(after: Sequence[Sequence[int]], i: int) -> set[int]:
    """Return all works that come after a work."""
    found: set[int] = set()
    stack = [i]
    while stack:
        for j in after[stack.pop()]:
            if j not in found:
                found.add(j)
                stack.append(j)
    return found
