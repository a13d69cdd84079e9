"""Core errors as a page: what is wrong, and the way out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.shortcuts import render

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


class SayErrors:
    """Middleware: errors made for people are told to them, nothing else is caught."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass the request on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Show reason and remedy with status 409; others go their way."""
        if not isinstance(error, SAYABLE):
            return None
        told = {"reason": error.reason, "remedy": error.remedy}
        return render(request, "refused.html", told, status=409)
