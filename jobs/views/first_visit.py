"""The first visit: an empty database becomes a company."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect

from crews.access import may_edit
from jobs import clock
from jobs.forms.first_visit import HOLIDAYS, FirstVisitForm
from jobs.models import Company
from jobs.services.company.first_visit import CREWS, set_up
from jobs.services.company.holidays import USUAL, holidays_of
from jobs.services.company.states import CODES

from .asked import shown_or_sent
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@shown_or_sent
@may_edit
def first_visit(request: OfficeRequest) -> HttpResponse:
    """Tell the company, and begin with a sample yard or a blank sheet."""
    if Company.objects.exists():
        return redirect("tomorrow")
    form = FirstVisitForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        yard = set_up(form.facts(), by=str(request.user), now=clock.now())
        messages.success(request, f"{form.cleaned_data['name']} is set up.")
        return redirect("job", slug=yard.slug) if yard else redirect("new-job")
    told = request.POST if request.method == "POST" else request.GET
    page = {
        "form": form,
        "crews": CREWS,
        "holidays": _holidays(told.get("state", ""), told.get("holidays", "")),
    }
    status = 422 if request.method == "POST" else 200
    return answer(request, "jobs/first_visit.html", page, parts=("holidays",), status=status)


def _holidays(state: str, choice: str) -> object:
    """The days that would be kept, to look at before they are."""
    known = choice if choice in dict(HOLIDAYS) else USUAL
    return holidays_of(state if state in CODES else "", known, clock.now().date())
