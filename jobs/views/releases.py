"""An engineer's releases of a pour: recorded by name, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import may_edit
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.release import ReleaseForm
from jobs.models import Activity, Release
from jobs.services.pages.releases import read_releases
from jobs.services.scope import releases as service

from .asked import shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

KEPT = "The release is kept with the pour, and in the record. Plan again to see what moves."
BACK = "The release is taken back: the published least holds again. Plan again to see what moves."


@shown_or_sent
@may_edit
def release(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Record an engineer's release of one pour."""
    found = Activity.objects.select_related("job")
    row = get_object_or_404(found, job__slug=slug, uid=uid, retired=False)
    if not service.may_be_released(row):
        raise Http404(f"{row.name} is no pour")
    form = ReleaseForm(clock.now().date(), request.POST if request.method == "POST" else None)
    if form.is_valid():
        by, at = who(request), request.POST.get("seen", "")
        try:
            service.keep_release(row, form.release(), by, at=at)
        except ChangedMeanwhileError:
            typed_below(form)
        else:
            messages.success(request, KEPT)
            return redirect("release", slug=slug, uid=uid)
    told = read_releases(row)
    seen = seen_again(request, "seen", told.seen, form)
    page = {"page": told, "form": form, "seen": seen, "section": "jobs"}
    return answer(request, "jobs/release.html", page, status=422 if form.is_bound else 200)


@require_POST
@may_edit
def take_back(request: OfficeRequest, slug: str, pk: int) -> HttpResponse:
    """Take a release back."""
    found = Release.objects.select_related("activity__job")
    row = get_object_or_404(found, activity__job__slug=slug, pk=pk)
    service.take_back(row, who(request))
    messages.success(request, BACK)
    return redirect("release", slug=slug, uid=row.activity.uid)
