"""A yard's day, why its date moved, and the messages of what an accepted plan changed."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.validators import validate_email
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from jobs import clock, models
from jobs.forms.allowance import AllowanceForm
from jobs.forms.day import FORMS, LineForm, SaidForm
from jobs.forms.storm import SAYABLE
from jobs.services.day.log_day import LogRefusedError, log_day
from jobs.services.mail.messages import drafts, mail_is_set, send
from jobs.services.pages.day import may_log, may_log_yard, read_day
from jobs.services.pages.moved import read_moved

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

LONGEST = timedelta(days=366)
"""How far back a day can be looked at and logged."""


@require_safe
@signed_in
def day(request: OfficeRequest, slug: str) -> HttpResponse:
    """A day's works of a yard with a button for each thing to say; today's unless a day is asked for."""
    return day_page(request, slug)


@require_POST
@signed_in
def say(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Log what was said of one work; the office may, and who leads its crew."""
    activity = get_object_or_404(models.Activity, uid=uid, job__slug=slug, retired=False)
    published = models.Plan.State.PUBLISHED
    row = activity.plan_rows.filter(plan__state=published).select_related("crew", "lent").first()
    if not request.user.may_edit and (row is None or not may_log(request.user, row)):
        raise PermissionDenied("Only the office and the crew's lead may log this: ask one of them")
    form, now = SaidForm(request.POST), clock.now()
    if not form.is_valid():
        wrong = "Say how much is done as a number from 1 to 99." if "share" in form.errors else ""
        return day_page(request, slug, wrong or "This could not be read: try again.", uid)
    try:
        said = form.said(activity, row.crew if row else None, now)
        line = log_day(said, by=str(request.user), now=now)
    except LogRefusedError as refused:
        return day_page(request, slug, str(refused), uid)
    messages.success(request, f"{activity.name}: {line.get_kind_display()}. It is in the log.")
    return redirect(f"{reverse('day', args=[slug])}?on={line.day.isoformat()}")


@require_safe
@signed_in
def moved(request: OfficeRequest, slug: str) -> HttpResponse:
    """From the first finish to today's, each change with its cause."""
    job = get_object_or_404(models.Job, slug=slug)
    form = AllowanceForm(request.GET if "allowed" in request.GET else None)
    allowed = form.cleaned_data["allowed"] if form.is_valid() else ()
    page = read_moved(job, clock.now().date(), allowed)
    return answer(request, "jobs/moved.html", {"page": page, "form": form, "section": "jobs"})


@require_safe
@signed_in
def told(request: OfficeRequest) -> HttpResponse:
    """Drafts of what the published plan changed, to copy or send."""
    return answer(request, "jobs/told.html", _drafts_page())


@require_POST
@may_edit
def send_draft(request: OfficeRequest, key: str) -> HttpResponse:
    """Send one draft as it is shown."""
    now, to = clock.now(), request.POST.get("to", "").strip()
    draft = next((one for one in drafts(now) if one.key == key), None)
    if draft is None or not mail_is_set():
        raise Http404("No such draft")
    try:
        validate_email(to)
    except ValidationError:
        page = _drafts_page() | {"wrong": key, "typed": to}
        return answer(request, "jobs/told.html", page, status=422)
    send(draft, to, by=str(request.user), now=now)
    messages.success(request, f"Sent to {to}.")
    return redirect("told")


def _drafts_page() -> dict[str, object]:
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    return {
        "drafts": drafts(clock.now()),
        "plan": plan,
        "may_send": mail_is_set(),
        "section": "storm",
    }


def day_of(told: str, today: date) -> date:
    """Return the day that is meant: today where none is told, or none that can be."""
    try:
        day = date.fromisoformat(told)
    except ValueError:
        return today
    return day if today - LONGEST <= day <= today else today


def day_page(
    request: OfficeRequest,
    slug: str,
    wrong: str = "",
    uid: str = "",
    *,
    form: LineForm | None = None,
) -> HttpResponse:
    """Show a yard's day, with what was wrong beside where it was said."""
    job, now = get_object_or_404(models.Job, slug=slug), clock.now()
    on = request.POST.get("on") or request.GET.get("on", "")
    forms = [form if form is not None and form.kind == one.kind else one(job) for one in FORMS]
    page = {
        "page": read_day(job, request.user, now, day_of(on, now.date())),
        "forms": forms if may_log_yard(request.user, job) else [],
        "causes": SAYABLE,
        "wrong": wrong,
        "wrong_uid": uid,
        "section": "jobs",
    }
    bad = bool(wrong or form)
    return answer(request, "jobs/day.html", page, status=422 if bad else 200)
