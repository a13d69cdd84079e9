"""Terms of the ways out: said beside them, taken away, kept for good; each time the first answer comes at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import may_edit
from jobs import clock, models
from jobs.forms.storm import TermForm
from jobs.services.planning.conflicts import CannotAllBeKept
from jobs.services.storm.ours import read_ours
from jobs.services.storm.terms import TermRefusedError, add_term, keep_for_good, remove_term

from .storm import ways_out_now, with_form

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_POST
@may_edit
def say(request: OfficeRequest) -> HttpResponse:
    """Keep what must hold, and answer at once."""
    form = TermForm(read_ours(), request.POST)
    if not form.is_valid():
        return with_form(request, term=form)
    try:
        add_term(form.term(_published()), by=str(request.user), now=clock.now())
    except TermRefusedError as error:
        form.add_error(error.field, error.reason)
        return with_form(request, term=form)
    return ways_out_now()


@require_POST
@may_edit
def keep_as_it_was(request: OfficeRequest) -> HttpResponse:
    """Let a work that would move stay on its days, said beside the move, and answer at once."""
    work = get_object_or_404(models.Activity, pk=request.POST.get("work") or 0)
    term = models.Term(kind=models.Term.Kind.KEEP_DAYS, against=_published(), activity=work)
    try:
        add_term(term, by=str(request.user), now=clock.now())
    except TermRefusedError as error:
        messages.error(request, error.reason)
        return redirect("storm")
    return ways_out_now()


@require_POST
@may_edit
def remove(request: OfficeRequest, pk: int) -> HttpResponse:
    """Let something no longer hold, and answer at once."""
    remove_term(get_object_or_404(models.Term, pk=pk), by=str(request.user), now=clock.now())
    return ways_out_now()


@require_POST
@may_edit
def keep(request: OfficeRequest, pk: int) -> HttpResponse:
    """Pin a work to the days of a term for good, and answer at once."""
    term = get_object_or_404(models.Term.objects.select_related("activity__job", "against"), pk=pk)
    try:
        keep_for_good(term, by=str(request.user), now=clock.now())
    except (TermRefusedError, CannotAllBeKept) as error:
        messages.error(request, error.reason)
        return redirect("storm")
    messages.success(request, "Pinned. The work's page lets it go again.")
    return ways_out_now()


def _published() -> models.Plan:
    return get_object_or_404(models.Plan, state=models.Plan.State.PUBLISHED)
