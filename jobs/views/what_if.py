"""What if: ask, see the quick answer, have a worker look harder, or compare what would help most."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from jobs import clock
from jobs.forms.what_if import what_if_forms
from jobs.models import Solve
from jobs.services.pages.what_if import KINDS, read_looking, read_what_if
from jobs.services.planning.solving import ask_what_if, stop

from .fragments import answer

if TYPE_CHECKING:
    from crews.access import OfficeRequest

PART = "jobs/looking.html"


@require_safe
@signed_in
def what_if(request: OfficeRequest) -> HttpResponse:
    """Ask one of six things; the quick builder answers at once."""
    now = clock.now()
    forms = what_if_forms(now.date(), request.GET or None)
    asked = next((form for form in forms if form.is_bound), None)
    clean = asked is not None and asked.is_valid()
    page = read_what_if(asked.question() if asked and clean else None, now)
    context = {"page": page, "forms": forms, "asked": asked if clean else None, "section": "plan"}
    return answer(request, "jobs/what_if.html", context, status=422 if asked and not clean else 200)


@require_safe
@signed_in
def looking(request: OfficeRequest) -> HttpResponse:
    """How far the worker is; the page is loaded again once it is done."""
    if not request.headers.get("HX-Request"):
        return redirect("what-if")
    part = read_looking()
    if part.task is None:
        return HttpResponse(status=204, headers={"HX-Refresh": "true"})
    return render(request, PART, {"looking": part})


@require_POST
@may_edit
def ask(request: OfficeRequest) -> HttpResponse:
    """Have a worker look harder at one change, or compare what would help most."""
    if request.POST.get("change") == "helps-most":
        ask_what_if(None, by=str(request.user))
        return redirect("what-if")
    for form in what_if_forms(clock.now().date(), request.POST):
        if form.is_bound and form.is_valid():
            ask_what_if(form.question(), by=str(request.user))
    return redirect("what-if")


@require_POST
@may_edit
def stop_looking(request: OfficeRequest, pk: int) -> HttpResponse:
    """Call it off."""
    task = get_object_or_404(Solve, pk=pk, kind__in=KINDS)
    stop(task.pk)
    if not request.headers.get("HX-Request"):
        return redirect("what-if")
    return render(request, PART, {"looking": read_looking()})
