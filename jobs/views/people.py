"""Who is there today: away in one tap, back in one tap, from the crews, Tomorrow and after the storm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from crews.access import may_edit
from crews.models import CrewMember
from jobs import clock
from jobs.services.company.crew_changes import away_today, back_today
from jobs.services.pages.people import told_of

from .asked import who

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_POST
@may_edit
def away(request: OfficeRequest, pk: int) -> HttpResponse:
    """Say that somebody is sick or away today, and tell what that does to the plan."""
    member = get_object_or_404(CrewMember.objects.select_related("crew"), pk=pk)
    today = clock.now().date()
    away_today(member, today, request.POST.get("why", ""), who(request))
    for words in told_of(member, today):
        messages.success(request, words)
    return redirect(_back_to(request))


@require_POST
@may_edit
def back(request: OfficeRequest, pk: int) -> HttpResponse:
    """Say that somebody is back today."""
    member = get_object_or_404(CrewMember.objects.select_related("crew"), pk=pk)
    back_today(member, clock.now().date(), who(request))
    messages.success(request, f"{member} is back. Plan again to see what moves.")
    return redirect(_back_to(request))


def _back_to(request: OfficeRequest) -> str:
    told = request.POST.get("next", "")
    good = url_has_allowed_host_and_scheme(told, {request.get_host()}, request.is_secure())
    return told if good and told.startswith("/") else "crews"
