"""Calendars onto phones: list the links, make one and show it once, turn one off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.forms.calendar import CalendarForm
from crews.models import FeedLink
from crews.services.calendar_page import calendar_links, new_link
from crews.services.links import make_link, replace_link, revoke
from crews.services.nothing import fill_feeds
from crews.services.phone import make_setup
from crews.services.subjects import name_on, with_names
from crews.services.today import plan_now, wall_now

from .addresses import feed_address, phone_address

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
    made = form.cleaned_data
    link, token = make_link(made["subject"], person=made["person"], now=wall_now())
    fill_feeds(plan_now())
    return _shown_once(request, link, token)


@require_POST
@never_cache
@may_edit
def replace_calendar(request: OfficeRequest, pk: int) -> HttpResponse:
    """Turn a link off and show another for the same person: the way out when a phone is lost."""
    live = FeedLink.objects.filter(revoked__isnull=True)
    link, token = replace_link(get_object_or_404(live, pk=pk), wall_now())
    return _shown_once(request, link, token)


@require_POST
@may_edit
def turn_off(request: OfficeRequest, pk: int) -> HttpResponse:  # noqa: ARG001 (Django passes it)
    """Turn a link off for good."""
    revoke(get_object_or_404(FeedLink, pk=pk), wall_now())
    return redirect("crews:calendars")


def _shown_once(request: HttpRequest, link: FeedLink, token: str) -> HttpResponse:
    """Show a new link: nobody sees its address again."""
    setup = phone_address(request, make_setup(link, token, wall_now()))
    name = name_on(with_names(FeedLink.objects.filter(pk=link.pk)).get())
    shown = new_link(link, name, feed_address(request, token), setup)
    return render(request, "crews/link.html", {"section": SECTION, "link": shown})
