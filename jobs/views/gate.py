"""Gate codes: kept by the office, seen by the crew that stands before the gate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from crews.access import crew_phone, may_edit
from jobs import clock, models
from jobs.forms.yard import GateForm
from jobs.services.company.gate import code_for, keep_code

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from crews.access import OfficeRequest


@require_POST
@may_edit
def keep_gate(request: OfficeRequest, slug: str) -> HttpResponse:
    """Keep a code or take it away."""
    job, form = get_object_or_404(models.Job, slug=slug), GateForm(request.POST)
    if form.is_valid():
        keep_code(job, form.cleaned_data["code"], by=str(request.user), now=clock.now())
        messages.success(request, "The gate code is kept: crews see it on their own page only.")
    else:
        messages.error(request, "A gate code has 60 characters at most: nothing was changed.")
    return redirect("yard", slug=slug)


@require_safe
def crew_gate(request: HttpRequest, slug: str) -> HttpResponse:
    """Show a crew how the gate opens, from a day before its work there."""
    phone = crew_phone(request)
    code = code_for(phone.crew, slug, clock.now()) if phone else None
    if phone is None or code is None:
        raise Http404("No gate code for this phone")
    response = render(
        request, "jobs/crew_gate.html", {"code": code, "language": phone.crew.language}
    )
    response["Cache-Control"] = "no-store"
    return response
