"""Set a job up, change its yard, bring it in from a file, take it out as one; a rough promise."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.services.setup import ChangedMeanwhileError
from crews.views.once import minted, uid_of
from jobs import clock
from jobs.forms.questions import YardQuestions
from jobs.forms.rough import RoughForm
from jobs.forms.upload import UploadForm
from jobs.forms.yard import TAKEN, GateForm, NewJobForm, YardForm
from jobs.forms.zones import new_zones, passages_of, zones_of
from jobs.models import Company, GateCode, Job
from jobs.services.company.rough_yard import Answers, rough_promise
from jobs.services.files.export_job import export_job
from jobs.services.files.job_file import JobFileError
from jobs.services.files.load_job import load_job
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.pages.promising import promise_advice
from jobs.services.scope.new_job import make_job
from jobs.services.scope.yard import TakenError, Yard, change_yard, seen_of
from jobs.services.sky.climate_choice import usual_station
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError

from .asked import shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from crews.access import OfficeRequest


@shown_or_sent
@may_edit
def new_job(request: OfficeRequest) -> HttpResponse:
    """Tell a job and its yard; its takeoff comes next."""
    data = request.POST if request.method == "POST" else None
    told = request.POST if request.method == "POST" else request.GET
    like = Job.objects.filter(slug=told.get("like", "")).first()
    today, company = clock.now().date(), Company.objects.first()
    form = NewJobForm(
        data, today=today, zone=_zone(company, like), initial=_first(company, like, today)
    )
    zones = new_zones(data, like=like)
    if request.method == "POST" and form.is_valid() & zones.is_valid():
        try:
            job = make_job(
                form.facts(), zones.facts(), who=who(request),
                uid=uid_of(request), like=like, station=form.chosen_station(),
            )  # fmt: skip
        except TakenError:
            form.add_error("name", TAKEN)
        except TradeError as error:
            form.add_error(None, say_error(error))
        else:
            messages.success(request, f"{job.name} is there. Now say what is built in it.")
            return redirect("job", slug=job.slug)
    return _new_page(request, {"form": form, "zones": zones, "like": like})


def _warn_of_promise(request: OfficeRequest, slug: str) -> None:
    """Say so if what is promised now is broken more often than kept."""
    told = promise_advice(Job.objects.get(slug=slug), shown_plan())
    if told.early:
        messages.warning(request, f"The promise is {told.words}.")


@shown_or_sent
@may_edit
def yard(request: OfficeRequest, slug: str) -> HttpResponse:
    """Change a job's facts, zones, ways in and answers."""
    job = get_object_or_404(Job, slug=slug)
    data = request.POST if request.method == "POST" else None
    plan = shown_plan()
    form = YardForm(job, data, today=clock.now().date(), promise=promise_advice(job, plan).words)
    zones, ways, asks = zones_of(job, data), passages_of(job, data), YardQuestions(job, data)
    good = [told.is_valid() for told in (form, zones, ways, asks)]
    if data is not None and all(good):
        told = Yard(zones.facts(), ways.facts(), asks.cleaned_data)
        if _change(request, job, form, told):
            messages.success(request, "The yard is changed. Plan again to see what moves.")
            _warn_of_promise(request, slug)
            return redirect("job", slug=slug)
    job.refresh_from_db()
    page = {
        "head": job_head(job, "yard", plan), "form": form, "zones": zones, "ways": ways,
        "asks": asks, "seen": seen_again(request, "seen", seen_of(job), form), "section": "jobs",
        "gate": GateCode.objects.filter(job=job).first(), "gate_form": GateForm(),
    }  # fmt: skip
    return answer(request, "jobs/yard.html", page, status=422 if data is not None else 200)


def _change(request: OfficeRequest, job: Job, form: YardForm, told: Yard) -> bool:
    """Change a yard as it was told; False if something stands against it, which is then on the form."""
    try:
        change_yard(
            job, form.facts(), told,
            seen=request.POST.get("seen", ""), by=str(request.user), now=clock.now(),
        )  # fmt: skip
    except TakenError:
        form.add_error("name", TAKEN)
    except TradeError as error:
        form.add_error(None, say_error(error))
    except ChangedMeanwhileError:
        typed_below(form)
    else:
        return True
    return False


@require_POST
@may_edit
def import_job(request: OfficeRequest) -> HttpResponse:
    """Bring a job in from a file; all that is wrong with it is told at once."""
    upload = UploadForm(request.POST, request.FILES)
    faults: tuple[object, ...] = ()
    if upload.is_valid():
        try:
            job = load_job(
                upload.cleaned_data["file"], by=str(request.user), now=clock.now(),
                replace=upload.cleaned_data["replace"],
            )  # fmt: skip
        except JobFileError as error:
            faults = error.faults
        else:
            messages.success(request, f"{job.name} was brought in. Plan to see when it is done.")
            return redirect("job", slug=job.slug)
    today, company = clock.now().date(), Company.objects.first()
    form = NewJobForm(today=today, zone=_zone(company, None), initial=_first(company, None, today))
    page = {"form": form, "zones": new_zones(None), "upload": upload, "faults": faults}
    return _new_page(request, page, status=422)


@require_safe
@signed_in
def export(request: OfficeRequest, slug: str) -> HttpResponse:  # noqa: ARG001 (every view has it)
    """Hand a job out as a job file."""
    job = get_object_or_404(Job, slug=slug)
    headers = {"Content-Disposition": f'attachment; filename="{job.slug}.toml"'}
    return HttpResponse(export_job(job), "application/toml; charset=utf-8", headers=headers)


@require_safe
@signed_in
def rough(request: OfficeRequest) -> HttpResponse:
    """About how long a yard takes, from six answers; nothing is saved."""
    company, today = Company.objects.first(), clock.now().date()
    form = RoughForm(request.GET or None, today=today, company=company)
    promise = None
    if form.is_bound and form.is_valid():
        try:
            promise = rough_promise(Answers(**form.cleaned_data, zone=_zone(company, None)))
        except TradeError as error:
            form.add_error(None, say_error(error))
    page = {"form": form, "promise": promise, "section": "jobs"}
    bad = form.is_bound and promise is None
    return answer(request, "jobs/rough.html", page, parts=("answer",), status=422 if bad else 200)


def _new_page(
    request: OfficeRequest, told: dict[str, object], status: int | None = None
) -> HttpResponse:
    page = {
        "upload": UploadForm(),
        "faults": (),
        "like": None,
        "once": minted(request),
        "jobs": Job.objects.order_by("name"),
        "section": "jobs",
    } | told
    bad = request.method == "POST"
    return answer(request, "jobs/new_job.html", page, status=status or (422 if bad else 200))


def _first(company: Company | None, like: Job | None, today: date) -> dict[str, object]:
    """What stands in a new form: the company's place, an earlier job's soil, next Monday."""
    monday = today + timedelta(days=7 - today.weekday())
    state = like.us_state if like else company.state if company else ""
    return {
        "us_state": state,
        "zone": _zone(company, like),
        "soil": like.soil if like else "loam",
        "starts_on": monday,
        "station": usual_station(state),
    }


def _zone(company: Company | None, like: Job | None) -> str:
    return like.zone if like else company.zone if company else "America/New_York"
