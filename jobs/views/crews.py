"""Pages of crews and machines: who can do what, when they work, days off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.db import IntegrityError
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.models import Crew, Loan, Machine, TimeOff
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.away import DaysOffForm, LoanForm
from jobs.forms.crews import CrewForm, MachineForm
from jobs.forms.leaving import LeavingForm
from jobs.services.company.crew_changes import (
    close_days,
    end_loan,
    keep_crew,
    keep_machine,
    lend,
    open_days,
)
from jobs.services.pages.crews import company_off, lent, read_crews, read_gone, read_machines

from .asked import revision_of, shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.forms import Form
    from django.http import HttpResponse

    from crews.access import OfficeRequest


JUST_TAKEN = (
    "Somebody has just taken this name: choose another one, or look whether it is there already."
)


@require_safe
@signed_in
def crews(request: OfficeRequest) -> HttpResponse:
    """Every crew with its people, skills, week, days off and work ahead."""
    return _crews_page(request)


@require_safe
@signed_in
def machines(request: OfficeRequest) -> HttpResponse:
    """Every machine with its days off and work ahead."""
    now = clock.now()
    page = {"machines": read_machines(now), "gone": read_gone(Machine), "section": "machines"}
    return answer(request, "crews/machines.html", page)


@shown_or_sent
@may_edit
def edit_crew(request: OfficeRequest, slug: str = "") -> HttpResponse:
    """Make a crew, or change one."""
    crew = get_object_or_404(Crew.objects.select_related("week"), slug=slug) if slug else None
    form = CrewForm(request.POST if request.method == "POST" else None, crew=crew)
    if request.method == "POST" and form.is_valid():
        try:
            saved = keep_crew(crew, form.facts(), who(request), revision=revision_of(request))
        except ChangedMeanwhileError:
            typed_below(form)
        except IntegrityError:
            form.add_error("name", JUST_TAKEN)
        else:
            messages.success(request, f"{saved.name} is saved. Plan again to see what moves.")
            return redirect("crews")
    page = {
        "form": form, "crew": crew, "section": "crews",
        "revision": crew and seen_again(request, "revision", crew.revision, form),
        "leaving": _leaving(crew),
    }  # fmt: skip
    return answer(request, "crews/crew.html", page, status=422 if form.errors else 200)


@shown_or_sent
@may_edit
def edit_machine(request: OfficeRequest, slug: str = "") -> HttpResponse:
    """Make a machine, or change one."""
    machine = get_object_or_404(Machine, slug=slug) if slug else None
    data = request.POST if request.method == "POST" else None
    form = MachineForm(data, machine=machine, today=clock.now().date())
    if form.is_valid():
        try:
            saved = keep_machine(
                machine, form.cleaned_data, who(request), revision=revision_of(request)
            )
        except ChangedMeanwhileError:
            typed_below(form)
        except IntegrityError:
            form.add_error("name", JUST_TAKEN)
        else:
            messages.success(request, f"{saved.name} is saved. Plan again to see what moves.")
            return redirect("machines")
    page = {
        "form": form, "machine": machine, "section": "machines",
        "revision": machine and seen_again(request, "revision", machine.revision, form),
        "leaving": _leaving(machine),
    }  # fmt: skip
    return answer(request, "crews/machine.html", page, status=422 if form.errors else 200)


@require_POST
@may_edit
def add_days_off(request: OfficeRequest) -> HttpResponse:
    """Close days for everybody, a crew, a person or a machine."""
    form = DaysOffForm(request.POST)
    if not form.is_valid():
        return _crews_page(request, form=form)
    told = form.cleaned_data
    close_days(told["first"], told["last"], told["why"], told["subject"], who(request))
    messages.success(request, "Days off are kept. Plan again to see what moves.")
    return redirect("crews")


@require_POST
@may_edit
def remove_days_off(request: OfficeRequest, pk: int) -> HttpResponse:
    """Open days again."""
    open_days(get_object_or_404(TimeOff, pk=pk), who(request))
    messages.success(request, "Those days are open again. Plan again to see what moves.")
    return redirect("crews")


@require_POST
@may_edit
def add_loan(request: OfficeRequest) -> HttpResponse:
    """Let somebody work with another crew for some days."""
    form = LoanForm(request.POST, today=clock.now().date())
    if not form.is_valid():
        return _crews_page(request, loan=form)
    told = form.cleaned_data
    lend(told["who"], told["crew"], told["first"], told["last"], who(request))
    messages.success(
        request, f"{told['who']} helps the {told['crew']}. Plan again to see what moves."
    )
    return redirect("crews")


@require_POST
@may_edit
def remove_loan(request: OfficeRequest, pk: int) -> HttpResponse:
    """Let somebody work with his own crew again."""
    end_loan(get_object_or_404(Loan, pk=pk), clock.now().date(), who(request))
    messages.success(request, "Back with the own crew. Plan again to see what moves.")
    return redirect("crews")


def _leaving(one: Crew | Machine | None) -> LeavingForm | None:
    """Ask from which day on somebody is gone, where that is not said yet."""
    if one is None or one.gone_from is not None:
        return None
    return LeavingForm(gone=one, today=clock.now().date())


def _crews_page(request: OfficeRequest, **forms: Form) -> HttpResponse:
    now = clock.now()
    page: dict[str, object] = {
        "crews": read_crews(now),
        "company_off": company_off(now),
        "lent": lent(now),
        "gone": read_gone(Crew),
        "section": "crews",
    }
    if request.user.may_edit:
        page |= {"form": DaysOffForm(), "loan": LoanForm(today=now.date())}
    return answer(request, "crews/crews.html", page | forms, status=422 if forms else 200)
