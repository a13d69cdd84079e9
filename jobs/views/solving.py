"""The search for a better plan: ask for it, see how far it is, stop it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from jobs.services.pages.solve import read_solve_part
from jobs.services.planning.solving import ask, stop

if TYPE_CHECKING:
    from crews.access import OfficeRequest

PART = "jobs/solve.html"


@require_safe
@signed_in
def solve(request: OfficeRequest) -> HttpResponse:
    """How far it is; when it is over the page is loaded again, for the plan it made."""
    if not request.headers.get("HX-Request"):
        return redirect("plan")
    part = read_solve_part()
    if part.open is None:
        return HttpResponse(status=204, headers={"HX-Refresh": "true"})
    return render(request, PART, {"solve": part})


@require_POST
@may_edit
def ask_solve(request: OfficeRequest) -> HttpResponse:
    """Ask for a better plan."""
    ask(by=str(request.user))
    return _shown(request)


@require_POST
@may_edit
def stop_solve(request: OfficeRequest, pk: int) -> HttpResponse:
    """Have the best so far handed back."""
    stop(pk)
    return _shown(request)


def _shown(request: OfficeRequest) -> HttpResponse:
    """The part where a script asked, else the page."""
    if not request.headers.get("HX-Request"):
        return redirect("plan")
    return render(request, PART, {"solve": read_solve_part()})
