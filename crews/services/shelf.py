"""The shelf of last good bodies: files that all processes share, where there is such a cache."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.conf import settings
from django.core.cache import caches

if TYPE_CHECKING:
    from django.core.cache import BaseCache


def shelf() -> BaseCache:
    """Return the cache named ``feeds``, or the usual one."""
    return caches["feeds" if "feeds" in settings.CACHES else "default"]


def key_of(hashed: str) -> str:
    """Return the key of the link with that hash."""
    return f"feed-{hashed}"
