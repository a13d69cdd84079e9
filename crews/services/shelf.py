"""Where bodies of feeds are kept: by tag in memory, and the last good one of each link in files."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING, Generic, TypeVar

from django.conf import settings
from django.core.cache import caches

if TYPE_CHECKING:
    from django.core.cache import BaseCache

T = TypeVar("T")


class Recent(Generic[T]):
    """The latest few things by name; what was not asked for longest goes first."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.things: OrderedDict[str, T] = OrderedDict()

    def get(self, name: str) -> T | None:
        """Return what is kept under a name, and remember that it was asked for."""
        if name not in self.things:
            return None
        self.things.move_to_end(name)
        return self.things[name]

    def put(self, name: str, thing: T) -> None:
        """Keep something; forget what nobody asked for if there is no room."""
        self.things[name] = thing
        self.things.move_to_end(name)
        if len(self.things) > self.most:
            self.things.popitem(last=False)


def shelf() -> BaseCache:
    """Return the cache named ``feeds``, or the usual one: files that all processes share."""
    return caches["feeds" if "feeds" in settings.CACHES else "default"]


def key_of(hashed: str) -> str:
    """Return the key of the link with that hash."""
    return f"feed-{hashed}"
