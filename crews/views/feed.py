"""The feed itself: what a phone's calendar fetches, many times a day, without signing in."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from django.http import HttpResponse, HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.http import http_date
from django.views.decorators.http import require_safe

from crews.access import too_many_misses
from crews.services.feeds import LinkGoneError, UnknownLinkError, open_feed
from crews.services.links import note_reading
from crews.services.today import wall_now

if TYPE_CHECKING:
    from django.http import HttpRequest

    from crews.services.feeds import Feed

TYPE = "text/calendar; charset=utf-8"
PLAIN = "text/plain; charset=utf-8"
SQUEEZED = re.compile(
    r"(?:^|,)\s*(?:gzip|\*)\s*(?:;\s*q=(?P<q>[01](?:\.\d{0,3})?))?\s*(?:,|$)", re.IGNORECASE
)
TRY_AGAIN_SECONDS = "600"


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponseBase:
    """Answer a phone: the calendar, "nothing new", or why there is none."""
    now = wall_now()
    try:
        found, link = open_feed(token, now)
    except UnknownLinkError:
        status = 429 if too_many_misses(request) else 404
        return _private(HttpResponse("No such calendar\n", PLAIN, status=status))
    except LinkGoneError:
        return _private(HttpResponse("This calendar link was turned off\n", PLAIN, status=410))
    except Exception:
        again = {"Retry-After": TRY_AGAIN_SECONDS}
        return _private(HttpResponse("Try again later\n", PLAIN, status=503, headers=again))
    if link is not None:
        note_reading(link, now)
    return _private(_answer(request, found))


def _answer(request: HttpRequest, found: Feed) -> HttpResponseBase:
    """Return the whole body, squeezed if asked for, or only that nothing changed."""
    modified, tag = int(found.modified.timestamp()), f'W/"{found.tag}"'
    response = get_conditional_response(request, tag, modified) or _whole(request, found)
    response["ETag"] = tag
    response["Last-Modified"] = http_date(modified)
    response["Vary"] = "Accept-Encoding"
    response["Cache-Control"] = "private, max-age=300"
    return response


def _whole(request: HttpRequest, found: Feed) -> HttpResponse:
    squeezed = takes_gzip(request.headers.get("Accept-Encoding", ""))
    body = found.squeezed if squeezed else found.body
    response = HttpResponse(b"" if request.method == "HEAD" else body, TYPE)
    if squeezed:
        response["Content-Encoding"] = "gzip"
    response["Content-Length"] = str(len(body))
    return response


def takes_gzip(accepted: str) -> bool:
    """Return True if an Accept-Encoding header wants gzip; ``q=0`` says it does not."""
    found = SQUEEZED.search(accepted)
    return found is not None and (found["q"] is None or float(found["q"]) > 0)


def _private(response: HttpResponseBase) -> HttpResponseBase:
    """Keep a secret address out of search engines, of other sites and of shared caches."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    response["X-Content-Type-Options"] = "nosniff"
    response.setdefault("Cache-Control", "private, no-store")
    return response
