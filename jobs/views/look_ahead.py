"""Where every crew and machine is in the weeks ahead."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.http import Http404
from django.views.decorators.http import require_safe

from crews.access import signed_in
from jobs import clock
from jobs.services.pages.look_ahead import read_look_ahead

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

YEARS = range(2000, 2200)


@require_safe
@signed_in
def look_ahead(request: OfficeRequest) -> HttpResponse:
    """Three weeks, from this one's Monday or the week of ``?from=2026-06-22``."""
    now = clock.now()
    page = read_look_ahead(now, _monday(request.GET.get("from", "")))
    return answer(request, "jobs/look_ahead.html", page)


def _monday(told: str) -> date | None:
    """Return the Monday of the week of a date; None if none is told."""
    if not told:
        return None
    try:
        day = date.fromisoformat(told)
    except ValueError:
        raise Http404(f"{told} is not a date") from None
    if day.year not in YEARS:
        raise Http404(f"{day.year} is not a year that anybody plans")
    return day - timedelta(days=day.weekday())
