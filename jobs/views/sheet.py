"""The sequence sheet of a job, and the story of one activity."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from crews.access import signed_in
from jobs import clock
from jobs.models import Job
from jobs.services.pages.finish import read_finish
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.pages.sheet import BY_TRADE, BY_ZONE, read_sheet
from jobs.services.pages.story import find_story

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def sheet(request: OfficeRequest, slug: str) -> HttpResponse:
    """Draw the sheet, grouped by zone or by trade, with one story open if asked."""
    yard = get_object_or_404(Job, slug=slug)
    by = BY_TRADE if request.GET.get("by") == BY_TRADE else BY_ZONE
    page = read_sheet(yard, now=clock.now(), by=by, opened=request.GET.get("open", ""))
    return answer(request, "jobs/sheet.html", {"page": page, "section": "jobs"}, parts=("sheet",))


@require_safe
@signed_in
def sooner(request: OfficeRequest, slug: str) -> HttpResponse:
    """Tell why a job is not done sooner."""
    yard = get_object_or_404(Job, slug=slug)
    page = {"page": read_finish(yard, clock.now()), "section": "jobs"}
    return answer(request, "jobs/finish.html", page, parts=("finish",))


@require_safe
@signed_in
def activity(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Tell everything about one activity."""
    yard = get_object_or_404(Job, slug=slug)
    plan = shown_plan()
    page = {
        "head": job_head(yard, "activities", plan),
        "story": find_story(yard, uid, plan, clock.now()),
        "section": "jobs",
    }
    return answer(request, "jobs/activity.html", page)
