"""Phones: list what was given out, make a link and show it once, turn one off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.forms.calendar import CalendarForm, CrewPhoneForm
from crews.models import CrewPhone, FeedLink
from crews.services.calendar_page import calendar_links, crew_phones, new_link, new_phone
from crews.services.crew_phone import give_out
from crews.services.crew_phone import turn_off as off
from crews.services.links import make_link_once, replace_link, revoke
from crews.services.nothing import fill_feeds
from crews.services.phone import SetupSpentError, make_setup
from crews.services.subjects import name_on, with_names
from crews.services.today import plan_now, wall_now

from .addresses import crew_phone_address, feed_address, phone_address
from .once import minted, uid_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from crews.access import OfficeRequest

SECTION = "links"
"""Which entry of the page's menu this is."""
SET_UP = (
    "{person}’s phone of the {crew} is set up already: it counts once. Ask again for another phone."
)


@require_safe
@signed_in
def calendars(request: OfficeRequest) -> HttpResponse:
    """List every calendar link, and ask for a new one."""
    return _listed(request)


@require_POST
@never_cache
@may_edit
def new_calendar(request: OfficeRequest) -> HttpResponse:
    """Make a link and show it: the only time that anybody sees its address."""
    form = CalendarForm(request.POST)
    if not form.is_valid():
        return _listed(request, form=form)
    made = form.cleaned_data
    now, once = wall_now(), uid_of(request)
    link, token, _ = make_link_once(made["subject"], person=made["person"], now=now, once=once)
    fill_feeds(plan_now())
    return _shown_once(request, link, token, once)


@require_POST
@never_cache
@may_edit
def replace_calendar(request: OfficeRequest, pk: int) -> HttpResponse:
    """Turn a link off and show another for the same person: the way out when a phone is lost."""
    old, once = get_object_or_404(FeedLink, pk=pk), uid_of(request)
    try:
        link, token = replace_link(old, wall_now(), once=once)
    except FeedLink.DoesNotExist:
        raise Http404("Turned off before") from None
    return _shown_once(request, link, token, once)


@require_POST
@may_edit
def turn_off(request: OfficeRequest, pk: int) -> HttpResponse:  # noqa: ARG001 (Django passes it)
    """Turn a link off for good."""
    revoke(get_object_or_404(FeedLink, pk=pk), wall_now())
    return redirect("crews:calendars")


@require_POST
@never_cache
@may_edit
def new_crew_phone(request: OfficeRequest) -> HttpResponse:
    """Make an address that opens once and makes a phone a crew's own; show it this once."""
    form = CrewPhoneForm(request.POST)
    if not form.is_valid():
        return _listed(request, phone_form=form)
    told = form.cleaned_data
    try:
        phone, token = give_out(told["crew"], told["person"], wall_now(), once=uid_of(request))
    except SetupSpentError:
        messages.info(request, SET_UP.format(**told))
        return redirect("crews:calendars")
    shown = new_phone(phone, crew_phone_address(request, token))
    return render(request, "crews/crew_phone.html", {"section": SECTION, "phone": shown})


@require_POST
@may_edit
def turn_off_phone(request: OfficeRequest, pk: int) -> HttpResponse:  # noqa: ARG001 (Django passes it)
    """Turn a crew's phone off for good."""
    off(get_object_or_404(CrewPhone, pk=pk), wall_now())
    return redirect("crews:calendars")


def _listed(
    request: HttpRequest,
    form: CalendarForm | None = None,
    phone_form: CrewPhoneForm | None = None,
) -> HttpResponse:
    """List what was given out; with a form that was filled in wrongly, 422."""
    page = {
        "section": SECTION,
        "links": calendar_links(),
        "phones": crew_phones(),
        "form": form or CalendarForm(),
        "phone_form": phone_form or CrewPhoneForm(),
        "once": minted(request),
    }
    return render(request, "crews/links.html", page, status=422 if form or phone_form else 200)


def _shown_once(request: HttpRequest, link: FeedLink, token: str, once: str = "") -> HttpResponse:
    """Show a new link: nobody sees its address again."""
    setup = phone_address(request, make_setup(link, token, wall_now(), once=once))
    name = name_on(with_names(FeedLink.objects.filter(pk=link.pk)).get())
    shown = new_link(link, name, feed_address(request, token), setup)
    return render(request, "crews/link.html", {"section": SECTION, "link": shown})
