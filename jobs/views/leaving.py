"""A crew or a machine that is no longer with us: what that changes, said, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import may_edit
from crews.models import Crew, Machine
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.leaving import LeavingForm
from jobs.services.company import leaving
from jobs.services.pages.leaving import read_leaving
from jobs.services.telling.speech import say_date

from .asked import revision_of, shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@shown_or_sent
@may_edit
def leaves(request: OfficeRequest, section: str, slug: str) -> HttpResponse:
    """Say what changes if a crew or machine is gone from a day on; sent, keep that it is."""
    gone = _found(section, slug)
    told = request.POST if request.method == "POST" else request.GET or None
    form = LeavingForm(told, gone=gone, today=clock.now().date())
    page: dict[str, object] = {"form": form, "gone": gone, "section": section}
    if form.is_valid():
        since, units = form.cleaned_data["since"], form.cleaned_data["units"]
        if request.method == "POST":
            try:
                leaving.leave(gone, since, units, who(request), revision=revision_of(request))
            except ChangedMeanwhileError:
                typed_below(form)
            else:
                words = f"{gone} is gone from {say_date(since)}. Plan again to see what moves."
                messages.success(request, words)
                return redirect(section)
        page |= {"since": say_date(since), "parts": read_leaving(gone, since, units)}
    page["revision"] = seen_again(request, "revision", gone.revision, form)
    return answer(request, "crews/leaving.html", page, status=422 if form.errors else 200)


@require_POST
@may_edit
def stays(request: OfficeRequest, section: str, slug: str) -> HttpResponse:
    """Take back that a crew or machine is gone."""
    gone = _found(section, slug)
    leaving.stay(gone, who(request))
    messages.success(
        request,
        f"{gone} is with us again. Links that ended stay off. Plan again to see what moves.",
    )
    return redirect(section)


def _found(section: str, slug: str) -> Crew | Machine:
    if section == "crews":
        return get_object_or_404(Crew, slug=slug)
    return get_object_or_404(Machine, slug=slug)
