"""After the storm: say what was lost, look at the ways out, accept one, take it back."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.services.day_hours import read_book
from jobs import clock, models
from jobs.forms.storm import LaterForm, LostForm, OutForm, TermForm
from jobs.services.causes.late import come_later, out, take_back_change
from jobs.services.causes.lose_days import day_slots, lose_once, say_again, take_back
from jobs.services.pages.happened import off_plan
from jobs.services.pages.people import rolls_today
from jobs.services.pages.storm import read_storm_page
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.accept_storm import accept_answer, earlier_plan, undo
from jobs.services.storm.offer import (
    NothingPublishedError,
    answer_at_once,
    answer_better,
    read_storm,
)
from jobs.services.storm.ours import read_ours
from jobs.services.telling.errors import SaidBefore, say_error

from .fragments import answer

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from django.forms import Form
    from django.http import HttpRequest, HttpResponse

    from crews.access import OfficeRequest
    from jobs.services.storm.ours import Ours

PART = ("ways",)


@require_safe
@signed_in
def storm(request: OfficeRequest) -> HttpResponse:
    """What was said since the last plan was accepted, and the ways out found for it."""
    return with_form(request)


@require_POST
@may_edit
def lose(request: OfficeRequest) -> HttpResponse:
    """Keep what was lost, and answer at once."""
    now = clock.now()
    form = _lost_form(request, read_ours(), now)
    if not form.is_valid():
        return with_form(request, lost=form)
    return said_once(request, partial(lose_once, form.lost(), by=str(request.user), now=now))


@require_POST
@may_edit
def out_of_work(request: OfficeRequest) -> HttpResponse:
    """Keep that a machine, a crew or somebody is out, and answer at once."""
    form = OutForm(read_ours(), request.POST)
    if not form.is_valid():
        return with_form(request, out=form)
    told = form.cleaned_data
    who = form.known[told["who"]]
    by, now = str(request.user), clock.now()
    days = told["first"], told["last"]
    return said_once(request, partial(out, who, *days, why=told["why"], by=by, now=now))


@require_POST
@may_edit
def later(request: OfficeRequest) -> HttpResponse:
    """Keep that a delivery or a decision comes later, and answer at once."""
    form = LaterForm(request.POST)
    if not form.is_valid():
        return with_form(request, later=form)
    told = form.cleaned_data
    what = form.known[told["what"]]
    by, now = str(request.user), clock.now()
    return said_once(
        request, partial(come_later, what, told["day"], why=told["why"], by=by, now=now)
    )


@require_POST
@may_edit
def ask(request: OfficeRequest) -> HttpResponse:  # noqa: ARG001 (a view gets the request)
    """Answer at once, for the world as it is now."""
    return ways_out_now()


@require_POST
@may_edit
def better(request: OfficeRequest) -> HttpResponse:
    """Look for better ways for some seconds."""
    now = clock.now()
    answer_better(read_storm(now), now)
    if getattr(request, "htmx", None):
        return with_form(request)
    return redirect("storm")


@require_POST
@may_edit
def accept(request: OfficeRequest, pk: int) -> HttpResponse:
    """Publish a way out as it was shown."""
    row = get_object_or_404(models.Answer, pk=pk)
    try:
        done = accept_answer(row, by=str(request.user), now=clock.now())
    except PlanRefusedError as refused:
        messages.error(request, say_error(refused))
        return redirect("storm")
    messages.success(
        request, f"Plan {done.plan.number} is published. Phones show it at their next look."
    )
    return redirect("told")


@require_POST
@may_edit
def take_back_said(request: OfficeRequest, kind: str, pk: int) -> HttpResponse:
    """Say that it did not happen; only what no accepted plan rests on."""
    by, now = str(request.user), clock.now()
    if kind == "lost":
        rows = models.LostTime.objects.filter(plan=None, taken_back_at=None)
        take_back(get_object_or_404(rows, pk=pk), by=by, now=now)
    else:
        take_back_change(get_object_or_404(models.Change, plan=None, pk=pk), by=by, now=now)
    messages.success(request, "Taken back.")
    return redirect("storm")


@require_POST
@may_edit
def say_it_again(request: OfficeRequest) -> HttpResponse:
    """Keep what undoing took back as lost all the same, and answer at once."""
    say_again(by=str(request.user), now=clock.now())
    return ways_out_now()


@require_POST
@may_edit
def undo_plan(request: OfficeRequest) -> HttpResponse:
    """Bring the earlier plan back, if it is still that of which the page told."""
    earlier = earlier_plan()
    if earlier is not None and request.POST.get("seen", str(earlier.number)) != str(earlier.number):
        messages.info(request, "Another plan was published since that page was opened: nothing was undone.")  # fmt: skip
        return redirect("storm")
    done = undo(by=str(request.user), now=clock.now())
    told = f"Plan {done.back_to} again, published as plan {done.accepted.plan.number}."
    if done.taken_back:
        told += " What was said since is taken back with it: say it again if it holds."
    messages.success(request, told)
    return redirect("told")


def said_once(request: OfficeRequest, say: Callable[[], object]) -> HttpResponse:
    """Keep what is said and answer at once; what stands already is told so, and the answers to it shown."""
    try:
        say()
    except SaidBefore as before:
        messages.info(request, f"{before.reason}: it counts once.")
    return ways_out_now()


def ways_out_now() -> HttpResponse:
    """Answer at once, where there is a published plan to answer against."""
    now = clock.now()
    try:
        answer_at_once(read_storm(now), now)
    except NothingPublishedError:
        return redirect("plan")
    return redirect("storm")


def _lost_form(request: HttpRequest, ours: Ours, now: datetime) -> LostForm:
    slots = day_slots(read_book(), now.date())
    slot = 1 + sum(position.begin < now.time() for position in slots)
    data = request.POST if request.method == "POST" and "when" in request.POST else None
    return LostForm(ours, data, today=now.date(), slot=slot)


def with_form(request: OfficeRequest, **forms: Form) -> HttpResponse:
    """Return the page, with forms that were filled in wrongly in place of empty ones."""
    now = clock.now()
    page: dict[str, Any] = {"page": read_storm_page(now), "section": "storm"}
    if request.user.may_edit:
        ours = read_ours()
        page |= {
            "lost": _lost_form(request, ours, now),
            "out": OutForm(ours),
            "later": LaterForm(),
            "term": TermForm(ours),
            "off": off_plan(ours.rows, now),
            "rolls": rolls_today(now.date(), ours.crews),
        }
    wrong = any(form.errors for form in forms.values())
    return answer(
        request, "jobs/storm.html", page | forms, parts=PART, status=422 if wrong else 200
    )
