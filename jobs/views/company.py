"""The company's settings, for its owners."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import owner_only
from crews.models import DayHours
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.company import CompanyForm, HolidaysForm, HoursForm
from jobs.models import Company
from jobs.services.company.company import add_hours, fill_holidays, keep_company, remove_hours
from jobs.services.pages.company import read_company_page
from jobs.services.telling.speech import counted

from .asked import revision_of, shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.forms import Form
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@shown_or_sent
@owner_only
def settings(request: OfficeRequest) -> HttpResponse:
    """Show the settings; change the company and the hours of most days. Before there is one, set it up."""
    company = Company.objects.first()
    if company is None:
        return redirect("first-visit")
    form = CompanyForm(company, request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            keep_company(form.facts(), who(request), revision=revision_of(request))
        except ChangedMeanwhileError:
            typed_below(form)
        else:
            messages.success(request, "Kept. Plan again to see what moves.")
            return redirect("settings")
    return _page(request, form=form)


@require_POST
@owner_only
def add_day_hours(request: OfficeRequest) -> HttpResponse:
    """Keep a season, or a crew's own hours."""
    form = HoursForm(request.POST)
    if not form.is_valid():
        return _page(request, hours=form)
    add_hours(form.facts(), who(request))
    messages.success(
        request, "Those hours are kept. Plan again, and phones follow when you publish."
    )
    return redirect("settings")


@require_POST
@owner_only
def remove_day_hours(request: OfficeRequest, pk: int) -> HttpResponse:
    """Take hours out."""
    remove_hours(get_object_or_404(DayHours, pk=pk), who(request))
    messages.success(request, "Those hours hold no more. Plan again to see what moves.")
    return redirect("settings")


@require_POST
@owner_only
def close_holidays(request: OfficeRequest) -> HttpResponse:
    """Close the holidays of the state that are not closed yet."""
    form = HolidaysForm(request.POST)
    if not form.is_valid():
        return _page(request, holidays=form)
    count = fill_holidays(form.cleaned_data["holidays"], clock.now().date(), who(request))
    messages.success(
        request,
        f"{counted(count, 'day')} more {'is' if count == 1 else 'are'} closed for everybody.",
    )
    return redirect("settings")


def _page(request: OfficeRequest, **forms: Form) -> HttpResponse:
    page: dict[str, object] = {"page": read_company_page(clock.now()), "section": "settings"}
    company = get_object_or_404(Company)
    form = forms.setdefault("form", CompanyForm(company))
    page["revision"] = seen_again(request, "revision", company.revision, form)
    page |= {"hours": HoursForm(), "holidays": HolidaysForm()} | forms
    wrong = any(form.errors for form in forms.values())
    return answer(request, "jobs/company.html", page, status=422 if wrong else 200)
