"""Whole addresses, as the company is reached from outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.conf import settings
from django.urls import reverse

if TYPE_CHECKING:
    from django.http import HttpRequest


def feed_address(request: HttpRequest, token: str) -> str:
    """Return the whole address of a feed."""
    return _whole(request, reverse("crews:feed", args=[token]))


def phone_address(request: HttpRequest, token: str) -> str:
    """Return the whole address of a set-up page."""
    return _whole(request, reverse("crews:phone", args=[token]))


def crew_phone_address(request: HttpRequest, token: str) -> str:
    """Return the whole address that makes a phone a crew's own; the page is another application's."""
    return _whole(request, reverse("crew-set-up", args=[token]))


def _whole(request: HttpRequest, path: str) -> str:
    return f"{settings.BASE_URL}{path}" if settings.BASE_URL else request.build_absolute_uri(path)
