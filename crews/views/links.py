"""Calendars onto phones: list the links, make one and show it once, turn one off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.conf import settings
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.forms.calendar import CalendarForm
from crews.models import FeedLink
from crews.services.calendar_page import calendar_links, new_link
from crews.services.links import make_link, revoke
from crews.services.nothing import fill_feeds
from crews.services.subjects import name_of, subject_of
from crews.services.today import plan_now, wall_now

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from crews.access import OfficeRequest

SECTION = "links"
"""Which entry of the page's menu this is."""


@require_safe
@signed_in
def calendars(request: OfficeRequest) -> HttpResponse:
    """List every calendar link, and ask for a new one."""
    page = {"section": SECTION, "links": calendar_links(), "form": CalendarForm()}
    return render(request, "crews/links.html", page)


@require_POST
@never_cache
@may_edit
def new_calendar(request: OfficeRequest) -> HttpResponse:
    """Make a link and show it: the only time that anybody sees its address."""
    form = CalendarForm(request.POST)
    if not form.is_valid():
        page = {"section": SECTION, "links": calendar_links(), "form": form}
        return render(request, "crews/links.html", page, status=422)
    subject, person = form.cleaned_data["subject"], form.cleaned_data["person"]
    _, token = make_link(subject, person=person, now=wall_now())
    fill_feeds(plan_now())
    name = name_of(subject_of(subject))
    shown = new_link(name, person, address_of(request, token))
    return render(request, "crews/link.html", {"section": SECTION, "link": shown})


@require_POST
@may_edit
def turn_off(request: OfficeRequest, pk: int) -> HttpResponse:  # noqa: ARG001 (Django passes it)
    """Turn a link off for good."""
    revoke(get_object_or_404(FeedLink, pk=pk), wall_now())
    return redirect("crews:calendars")


def address_of(request: HttpRequest, token: str) -> str:
    """Return the whole address of a feed, as the company is reached from outside."""
    path = reverse("crews:feed", args=[token])
    return f"{settings.BASE_URL}{path}" if settings.BASE_URL else request.build_absolute_uri(path)
