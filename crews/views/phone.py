"""The page that a phone opens once: buttons that put the calendar into it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from crews.access import too_many_misses
from crews.models.crew import LANGUAGES
from crews.services.calendar_page import phone_page
from crews.services.feed_words import ENGLISH, languages
from crews.services.phone import (
    SetupSpentError,
    UnknownSetupError,
    can_open,
    find_setup,
    open_setup,
)
from crews.services.today import wall_now

from .addresses import feed_address

if TYPE_CHECKING:
    from django.http import HttpRequest

LOOKS_AHEAD = ("Sec-Purpose", "Purpose", "X-Moz", "X-Purpose")
"""Headers of a browser that fetches what nobody asked for yet."""


@require_safe
@never_cache
def phone(request: HttpRequest, token: str) -> HttpResponse:
    """Show the calendar's address to one phone, once; say so to all that come later."""
    now = wall_now()
    try:
        if request.method == "HEAD" or looks_ahead(request):
            return _private(_unopened(opens=can_open(find_setup(token), now)))
        link, secret = open_setup(token, now)
    except UnknownSetupError:
        return _private(_spent(request, 429 if too_many_misses(request) else 404))
    except SetupSpentError:
        return _private(_spent(request, 410))
    language = languages().get(link.subject, ENGLISH)
    page = {"phone": phone_page(link, feed_address(request, secret)), "language": language}
    return _private(render(request, "crews/link_phone.html", page))


def looks_ahead(request: HttpRequest) -> bool:
    """Return True for a fetch that nobody will see: it must not spend the page."""
    told = " ".join(request.headers.get(name, "") for name in LOOKS_AHEAD).lower()
    return any(word in told for word in ("prefetch", "prerender", "preview"))


def _unopened(*, opens: bool) -> HttpResponse:
    """Answer without opening: no page, and no harm done."""
    return HttpResponse(status=204 if opens else 410)


def _spent(request: HttpRequest, status: int) -> HttpResponse:
    unknown = status != 410  # noqa: PLR2004 (gone)
    told = {"unknown": unknown, "languages": [key for key, _ in LANGUAGES]}
    return render(request, "crews/link_phone_spent.html", told, status=status)


def _private(response: HttpResponse) -> HttpResponse:
    """Keep the page out of search engines, and its address out of where its buttons lead."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    return response
