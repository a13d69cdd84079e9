"""What else is said of a yard's day, lines taken back, and its photos."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from crews.access import signed_in
from jobs import clock
from jobs.forms.day import FORMS
from jobs.models import DayLog, Job, Photo
from jobs.services.day.log_day import LogRefusedError
from jobs.services.day.photos import Snapshot, log_photo, path_of
from jobs.services.day.take_back_line import take_back_line
from jobs.services.day.yard_log import (
    Note,
    Present,
    Received,
    Told,
    Visit,
    log_note,
    log_present,
    log_received,
    log_visit,
)
from jobs.services.pages.day import may_log_yard

from .day import day_of, day_page

if TYPE_CHECKING:
    from crews.access import OfficeRequest
    from crews.models import Person

OFFICE = "Only the office and a crew's lead who works here may log this: ask one of them"


@require_POST
@signed_in
def log_line(request: OfficeRequest, slug: str, kind: str) -> HttpResponse:
    """Write down who came by, what came, who was there, a note or a photo."""
    job = get_object_or_404(Job, slug=slug)
    _let_in(request.user, job)
    form = next((one for one in FORMS if one.kind == kind), None)
    if form is None:
        raise Http404("No such line")
    now = clock.now()
    filled = form(job, request.POST, request.FILES)
    day = day_of(request.POST.get("on", ""), now.date())
    if not filled.is_valid():
        return day_page(request, slug, form=filled)
    try:
        line = _log(filled.line(day, now), str(request.user))
    except LogRefusedError as refused:
        filled.add_error(None, str(refused))
        return day_page(request, slug, form=filled)
    messages.success(request, "It is in the log.")
    bad = line.result in {DayLog.Result.FAILED, DayLog.Result.AGAIN}
    if bad and line.activity is not None and request.user.may_edit:
        return redirect("failed", slug=slug, uid=line.activity.uid)
    return redirect(f"{reverse('day', args=[slug])}?on={day.isoformat()}")


@require_POST
@signed_in
def take_line_back(request: OfficeRequest, slug: str, pk: int) -> HttpResponse:
    """Say that a line was wrong; what it changed stands as before."""
    line = get_object_or_404(DayLog.objects.select_related("job"), job__slug=slug, pk=pk)
    _let_in(request.user, line.job)
    try:
        take_back_line(line, by=str(request.user), now=clock.now())
    except LogRefusedError as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, "Taken back. Both lines stay in the log.")
    return redirect(f"{reverse('day', args=[slug])}?on={line.day.isoformat()}")


@require_safe
@signed_in
def photo(request: OfficeRequest, uid: str, size: str) -> HttpResponse:  # noqa: ARG001 (every view has it)
    """Serve a photo to who is signed in; never what a camera sent."""
    row = get_object_or_404(Photo.objects.select_related("line__job"), uid=uid, gone=False)
    path = path_of(row, small=size == "small")
    if not path.is_file():
        raise Http404("The photo is gone")
    headers = {
        "Cache-Control": "private, max-age=86400, immutable",
        "Content-Disposition": 'inline; filename="photo.jpg"',
        "Cross-Origin-Resource-Policy": "same-origin",
        "X-Content-Type-Options": "nosniff",
    }
    return HttpResponse(path.read_bytes(), "image/jpeg", headers=headers)


def _log(told: Told, by: str) -> DayLog:
    now = clock.now()
    if isinstance(told, Visit):
        return log_visit(told, by=by, now=now)
    if isinstance(told, Received):
        return log_received(told, by=by, now=now)
    if isinstance(told, Present):
        return log_present(told, by=by, now=now)
    if isinstance(told, Snapshot):
        return log_photo(told, by=by, now=now)
    assert isinstance(told, Note)  # noqa: S101 (there are no more kinds)
    return log_note(told, by=by, now=now)


def _let_in(who: Person, job: Job) -> None:
    if not may_log_yard(who, job):
        raise PermissionDenied(OFFICE)
