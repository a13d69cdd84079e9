"""Who may see and who may change: decorators for office pages, a check for secret links."""

from __future__ import annotations

import hashlib
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec, cast
from urllib.parse import urlsplit, urlunsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.utils.http import url_has_allowed_host_and_scheme

from crews.models import Role
from crews.services.crew_phone import phone_of
from crews.services.guesses import ALLOWED, count_guess, guessed
from crews.services.links import find_link

if TYPE_CHECKING:
    from collections.abc import Callable

    from django_htmx.middleware import HtmxDetails

    from crews.models import CrewPhone, FeedLink, Person

P = ParamSpec("P")
SENT_IN_VAIN = "Your sign-in had ended, so what you sent was not kept. Sign in: you come back to the page, to say it again."
PHONE_COOKIE = "crew_phone"
PHONE_KNOWN_FOR = 400 * 86_400
"""Seconds: the longest that browsers keep a cookie."""


class OfficeRequest(HttpRequest):
    """A request of somebody who is signed in. For type checkers: Django makes plain requests."""

    user: Person
    htmx: HtmxDetails


def signed_in(
    view: Callable[Concatenate[OfficeRequest, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """Let in who is signed in, whatever the role; send others to sign in, and from there back."""

    @wraps(view)
    def checked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return _ask_to_sign_in(request)
        return view(cast("OfficeRequest", request), *args, **kwargs)

    return checked


def _ask_to_sign_in(request: HttpRequest) -> HttpResponseBase:
    """Send a page to sign in; a form with a word about what it sent, and back to its page.

    A script's look is turned into the same for the whole page. What a script sends while somebody types
    is refused without more: what is typed stays, and the form itself tells.
    """
    script, looks = request.headers.get("HX-Request"), request.method in {"GET", "HEAD"}
    if looks and not script:
        return redirect_to_login(request.get_full_path())
    if script and not looks:
        return HttpResponse(status=401)
    if not looks:
        messages.warning(request, SENT_IN_VAIN)
    asked = redirect_to_login(came_from(request) or "/")
    return HttpResponse(status=204, headers={"HX-Redirect": asked.url}) if script else asked


def came_from(request: HttpRequest) -> str:
    """Return the page of ours that a form or a script was on; empty where none is told."""
    told = request.headers.get("HX-Current-URL") or request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(told, {request.get_host()}):
        return ""
    page = urlsplit(told)
    return urlunsplit(("", "", page.path, page.query, ""))


def may_edit(
    view: Callable[Concatenate[OfficeRequest, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """Let in owners and schedulers; send strangers to sign in, and tell others who may.

    Raises
    ------
    PermissionDenied
        If the role of the person signed in may only look; Django answers with the 403 page.
    """

    @wraps(view)
    def checked(request: OfficeRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if not request.user.may_edit:
            raise PermissionDenied("Only an owner or a scheduler may change this: ask one of them")
        return view(request, *args, **kwargs)

    return signed_in(checked)


def owner_only(
    view: Callable[Concatenate[OfficeRequest, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """Let in owners; send strangers to sign in, and tell others who may.

    Raises
    ------
    PermissionDenied
        If somebody else is signed in; Django answers with the 403 page.
    """

    @wraps(view)
    def checked(request: OfficeRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if request.user.role != Role.OWNER:
            raise PermissionDenied("Only an owner may change the company: ask one of them")
        return view(request, *args, **kwargs)

    return signed_in(checked)


def secret_link(token: str, *kinds: str) -> FeedLink:
    """Return the live link of a token that opens one of these kinds of subject.

    Parameters
    ----------
    kinds
        First words of subjects: ``crew``, ``homeowner`` ... None given means any.

    Raises
    ------
    Http404
        If the token is unknown, turned off, or opens something else; which is not told.
    """
    link = find_link(token)
    if link is None or link.revoked is not None:
        raise Http404("No such page")
    if kinds and link.subject.partition(":")[0] not in kinds:
        raise Http404("No such page")
    return link


def crew_phone(request: HttpRequest) -> CrewPhone | None:
    """Return the crew's phone that asks, by its cookie; None for anything else."""
    token = request.COOKIES.get(PHONE_COOKIE, "")
    return phone_of(token) if token else None


def remember_phone(response: HttpResponseBase, token: str) -> None:
    """Let a phone be known again; out of reach for scripts."""
    response.set_cookie(
        PHONE_COOKIE,
        token,
        max_age=PHONE_KNOWN_FOR,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def asked_from(request: HttpRequest) -> str:
    """Return the address a request comes from; behind a trusted proxy the one the proxy saw."""
    if settings.USE_X_FORWARDED_HOST and (told := request.headers.get("X-Forwarded-For")):
        return told.rpartition(",")[2].strip()
    return str(request.META.get("REMOTE_ADDR", ""))


def too_many_misses(request: HttpRequest, of: str = "address") -> bool:
    """Count a guess, of a secret address or a password; return True if that was one too many."""
    return count_guess(_asker(request, of)) > ALLOWED


def had_too_many_misses(request: HttpRequest, of: str) -> bool:
    """Return True while who asks has no guess left; nothing is counted."""
    return guessed(_asker(request, of)) >= ALLOWED


def _asker(request: HttpRequest, of: str) -> str:
    return hashlib.sha256(f"{of} {asked_from(request)}".encode()).hexdigest()
