"""The evening summary: to copy, to send, and at which hour it goes out by itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from jobs import clock
from jobs.forms.evening import EveningForm
from jobs.models import Company, Message
from jobs.services.mail.evening import evening_drafts, may_send, send_evening, set_evening

from .asked import who
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def evening(request: OfficeRequest) -> HttpResponse:
    """Tomorrow in words for each crew and each owner."""
    return _page(request, None)


@require_POST
@may_edit
def evening_hour(request: OfficeRequest) -> HttpResponse:
    """Choose the hour at which it goes out by itself, or none."""
    form = EveningForm(request.POST)
    if not form.is_valid():
        return _page(request, form)
    set_evening(form.cleaned_data["at"], who(request))
    messages.success(request, "Kept.")
    return redirect("evening")


@require_POST
@may_edit
def evening_send(request: OfficeRequest) -> HttpResponse:
    """Send what of today's was not sent yet."""
    if not may_send():
        raise Http404("No mail server is set")
    count = send_evening(clock.now(), by=str(request.user))
    words = "1 message went out." if count == 1 else f"{count} messages went out."
    messages.success(request, words if count else "Nothing was left to send today.")
    return redirect("evening")


def _page(request: OfficeRequest, form: EveningForm | None) -> HttpResponse:
    now, company = clock.now(), Company.objects.first()
    page = {
        "drafts": evening_drafts(now),
        "sent": Message.objects.filter(on=now.date()).order_by("pk"),
        "form": form or EveningForm(initial={"at": company.evening_at if company else None}),
        "may_send": may_send(),
    }
    return answer(request, "jobs/evening.html", page, status=422 if form else 200)
