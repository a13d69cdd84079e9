"""Pages of crews and machines: who can do what, when they work, days off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.models import Crew, Machine, TimeOff
from crews.services.setup import ChangedMeanwhileError, save_crew, save_machine, take_off
from jobs import clock
from jobs.forms.crews import CrewForm, DaysOffForm, MachineForm
from jobs.services.pages.crews import company_off, read_crews, read_machines

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

METHODS = require_http_methods(["GET", "HEAD", "POST"])
MEANWHILE = "Somebody changed this while you had it open. Here is how it stands now; nothing was overwritten."


@require_safe
@signed_in
def crews(request: OfficeRequest) -> HttpResponse:
    """Every crew with its people, skills, week, days off and work ahead."""
    return _crews_page(request, DaysOffForm())


@require_safe
@signed_in
def machines(request: OfficeRequest) -> HttpResponse:
    """Every machine with its days off and work ahead."""
    page = {"machines": read_machines(clock.now()), "section": "machines"}
    return answer(request, "crews/machines.html", page)


@METHODS
@may_edit
def edit_crew(request: OfficeRequest, slug: str = "") -> HttpResponse:
    """Make a crew, or change one."""
    crew = get_object_or_404(Crew.objects.select_related("week"), slug=slug) if slug else None
    form = CrewForm(request.POST if request.method == "POST" else None, crew=crew)
    if request.method == "POST" and form.is_valid():
        try:
            saved = save_crew(crew, form.facts(), revision=_revision(request))
        except ChangedMeanwhileError:
            messages.error(request, MEANWHILE)
            return redirect("edit-crew", slug=slug)
        messages.success(request, f"{saved.name} is saved. Plan again to see what moves.")
        return redirect("crews")
    page = {"form": form, "crew": crew, "section": "crews"}
    return answer(request, "crews/crew.html", page, status=422 if form.errors else 200)


@METHODS
@may_edit
def edit_machine(request: OfficeRequest, slug: str = "") -> HttpResponse:
    """Make a machine, or change one."""
    machine = get_object_or_404(Machine, slug=slug) if slug else None
    form = MachineForm(request.POST if request.method == "POST" else None, machine=machine)
    if request.method == "POST" and form.is_valid():
        try:
            saved = save_machine(machine, revision=_revision(request), **form.cleaned_data)
        except ChangedMeanwhileError:
            messages.error(request, MEANWHILE)
            return redirect("edit-machine", slug=slug)
        messages.success(request, f"{saved.name} is saved. Plan again to see what moves.")
        return redirect("machines")
    page = {"form": form, "machine": machine, "section": "machines"}
    return answer(request, "crews/machine.html", page, status=422 if form.errors else 200)


@require_POST
@may_edit
def add_days_off(request: OfficeRequest) -> HttpResponse:
    """Close days for everybody, a crew, a person or a machine."""
    form = DaysOffForm(request.POST)
    if not form.is_valid():
        return _crews_page(request, form, status=422)
    told = form.cleaned_data
    take_off(told["first"], told["last"], told["why"], told["subject"])
    messages.success(request, "Days off are kept. Plan again to see what moves.")
    return redirect("crews")


@require_POST
@may_edit
def remove_days_off(request: OfficeRequest, pk: int) -> HttpResponse:
    """Open days again."""
    get_object_or_404(TimeOff, pk=pk).delete()
    messages.success(request, "Those days are open again. Plan again to see what moves.")
    return redirect("crews")


def _crews_page(request: OfficeRequest, form: DaysOffForm, status: int = 200) -> HttpResponse:
    now = clock.now()
    page = {
        "crews": read_crews(now),
        "company_off": company_off(now),
        "form": form,
        "section": "crews",
    }
    return answer(request, "crews/crews.html", page, status=status)


def _revision(request: OfficeRequest) -> int:
    told = request.POST.get("revision", "")
    return int(told) if told.isdigit() else 0
