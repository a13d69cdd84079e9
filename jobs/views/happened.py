"""What happened? One place for whatever changes a plan, each thing with a form of its own."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from crews.access import may_edit
from jobs import clock
from jobs.forms.happened import FailedForm, PauseForm, PromiseForm, SqueezeForm
from jobs.models import Activity
from jobs.services.by_hand.ties import Against
from jobs.services.day.log_day import LogRefusedError
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.pages.happened import read_may_have_failed
from jobs.services.storm.happened import fail, pause, promise, squeeze_in
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError

from .asked import shown_or_sent, who
from .fragments import answer
from .storm import said_once, ways_out_now

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest
    from jobs.services.history import Who

RING = "These works would wait for each other: choose fewer of them to be done again."


class Kind(NamedTuple):
    """One thing that may happen to a job, with its form."""

    title: str
    note: str
    form: type[PauseForm | PromiseForm | SqueezeForm]


KINDS = {
    "pause": Kind(
        "A job rests for a while",
        "Nobody of ours works there between the two days. What cures goes on curing.",
        PauseForm,
    ),
    "promise": Kind(
        "Another finish was promised",
        "The owner agreed to another day, or you gave another one.",
        PromiseForm,
    ),
    "squeeze": Kind(
        "A job is squeezed in",
        "A bid, or a job set up since the plan was published, finds its place between the others.",
        SqueezeForm,
    ),
}


@shown_or_sent
@may_edit
def happened(request: OfficeRequest, kind: str) -> HttpResponse:
    """Say one thing of a job, and see the ways out."""
    if kind not in KINDS:
        raise Http404("No such thing happens")
    known, today = KINDS[kind], clock.now().date()
    data = request.POST if request.method == "POST" else None
    form = known.form(today, data, job=request.GET.get("job", ""), first=today)
    if form.is_valid():
        try:
            return said_once(request, partial(_do, form, who(request)))
        except TradeError as error:
            form.add_error(None, say_error(error))
    page = {"kind": known, "form": form, "section": "storm"}
    return answer(request, "jobs/happened.html", page, status=422 if form.is_bound else 200)


@require_safe
@may_edit
def may_have_failed(request: OfficeRequest, kind: str) -> HttpResponse:
    """Choose the inspection that was not passed, or the work that did not come out right."""
    if kind not in {"work", "inspection"}:
        raise Http404("No such thing fails")
    looked_at = kind == "inspection"
    page = {
        "groups": read_may_have_failed(clock.now(), inspections=looked_at),
        "inspection": looked_at,
        "section": "storm",
    }
    return answer(request, "jobs/may_have_failed.html", page)


@shown_or_sent
@may_edit
def failed(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Say what has to be done again, and see the ways out."""
    found = Activity.objects.select_related("job", "zone", "part_of")
    work = get_object_or_404(found, job__slug=slug, uid=uid, retired=False)
    data = request.POST if request.method == "POST" else None
    form = FailedForm(work, clock.now().date(), data)
    if form.is_valid():
        try:
            fail(form.failure(), who(request))
        except TradeError as error:
            form.add_error(None, say_error(error))
        except (LogRefusedError, Against) as error:
            form.add_error(None, str(error) if isinstance(error, LogRefusedError) else RING)
        else:
            return ways_out_now()
    page = {"head": job_head(work.job, "day", shown_plan()), "work": work, "form": form, "section": "jobs"}  # fmt: skip
    return answer(request, "jobs/failed.html", page, status=422 if form.is_bound else 200)


def _do(form: PauseForm | PromiseForm | SqueezeForm, who: Who) -> None:
    job, told = form.chosen(), form.cleaned_data
    if isinstance(form, PauseForm):
        pause(job, told["first"], told["until"], told["why"], who)
    elif isinstance(form, PromiseForm):
        promise(job, told["day"], told["why"], who)
    else:
        squeeze_in(job, told["why"], who)
