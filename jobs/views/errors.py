"""Core errors as a page: what is wrong, and the way out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from jobs.scheduling.errors import SchedulingError
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest, HttpResponse

TYPED_BELOW = "Somebody changed this while you had it open; nothing was overwritten. What you typed stands below: keep it again to put it in place of theirs, or load the page anew to see theirs."
"""What a form says that was filled in on top of an older state: it stays as it was typed."""
SAYABLE = (SchedulingError, PlanRefusedError, TradeError)


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
