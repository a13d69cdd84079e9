"""The first screen after sign-in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from crews.access import signed_in
from jobs import clock
from jobs.models import Company
from jobs.services.pages.tomorrow import read_tomorrow

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def tomorrow(request: OfficeRequest) -> HttpResponse:
    """Who goes where, what needs a person, how the promises stand."""
    company = Company.objects.first()
    if company is None and request.user.may_edit:
        return redirect("first-visit")
    return answer(request, "jobs/tomorrow.html", read_tomorrow(clock.now(company)))
