"""Core errors as a page: what is wrong, and the way out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.http import Http404
from django.shortcuts import redirect, render

from crews.access import came_from
from jobs.scheduling.errors import SchedulingError
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.forms.forms import BaseForm
    from django.http import HttpRequest, HttpResponse

TYPED_BELOW = "Somebody changed this while you had it open; nothing was overwritten. What you typed stands below: keep it again to put it in place of theirs, or load the page anew to see theirs."
"""What a form says that was filled in on top of an older state: it stays as it was typed."""
MEANWHILE = "meanwhile"
"""Code of that error."""
SAYABLE = (SchedulingError, PlanRefusedError, TradeError)


def typed_below(form: BaseForm, words: str = TYPED_BELOW) -> None:
    """Say in a form that somebody else was quicker; what was typed stays in it."""
    form.add_error(None, ValidationError(words, code=MEANWHILE))


def seen_again(request: HttpRequest, name: str, now: object, form: BaseForm) -> str:
    """Return on top of what a form is filled in that is shown again.

    That is what it was sent with under ``name``: whoever mistyped something has not seen what
    others changed since. Only who was told of it goes on from how it stands ``now``.
    """
    told = form.has_error(NON_FIELD_ERRORS, MEANWHILE)
    return str(now) if told else request.POST.get(name, str(now))


NOT_ALLOWED = 405
FORMS_ONLY = {
    "reason": "This address only takes what a form sends, so there is nothing to look at",
    "remedy": "go back to the page with the form, or start from one of the pages above",
}
GONE = "That is not there any more, so nothing was changed: this is how it stands."
STALE = {
    "reason": "Nothing was kept: this page was opened before you last signed in or out, so it could not be told that you sent it",
    "remedy": "go back, copy what you typed, load the page anew and send it again; if it happens each time, let the browser keep this address's cookies",
}


def sent_by_nobody(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001 (Django gives it; it is for developers)
    """What a form is told whose page is of an older sign-in, or whose sender cannot be made out."""
    return render(request, "refused.html", STALE, status=403)


def _of_the_office(request: HttpRequest) -> bool:
    """Return True for what somebody signed in sent by a form of a whole page."""
    script = request.headers.get("HX-Request")
    return request.method == "POST" and not script and request.user.is_authenticated


class SayErrors:
    """Middleware: errors made for people are told to them, nothing else is caught."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass the request on; an address that only takes forms says so to who looks at it."""
        response = self.get_response(request)
        if response.status_code != NOT_ALLOWED or request.method != "GET":
            return response
        page = render(request, "refused.html", FORMS_ONLY, status=NOT_ALLOWED)
        page["Allow"] = response["Allow"]
        return page

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Show reason and remedy with status 409; others go their way.

        A form about what is gone meanwhile, on a page somebody went back to, leads to that page as it is now.
        """
        if isinstance(error, Http404) and _of_the_office(request) and (page := came_from(request)):
            messages.info(request, GONE)
            return redirect(page)
        if not isinstance(error, SAYABLE):
            return None
        told = {"reason": error.reason, "remedy": error.remedy}
        return render(request, "refused.html", told, status=409)
