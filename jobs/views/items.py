"""Add, change and take out what is to be built; quantities and days follow as one types."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import may_edit
from crews.services.setup import ChangedMeanwhileError
from crews.views.once import minted, uid_of
from jobs import clock
from jobs.forms.item import ItemForm
from jobs.models import ChangeOrder, Job, ScopeItem, Zone
from jobs.services.history import Who
from jobs.services.numbers.library import library_for
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.pages.measures import measure
from jobs.services.pages.takeoff import offered
from jobs.services.scope.items import add_item, change_item, remove_item
from jobs.services.storm.change_orders import ask_for_item
from jobs.services.telling.errors import say_error
from jobs.services.telling.yardstick import yardstick
from jobs.trade.errors import TradeError

from .asked import revision_of, shown_or_sent
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest
    from jobs.trade.assemblies import Assembly

MOST_DIGITS = 4


@shown_or_sent
@may_edit
def new_item(request: OfficeRequest, slug: str) -> HttpResponse:
    """Choose what and where, answer its questions, add it."""
    yard = get_object_or_404(Job, slug=slug)
    told = request.POST if request.method == "POST" else request.GET
    zone = _zone(yard, told.get("where", ""))
    assembly = _assembly(yard, told.get("what", ""))
    order = _order(yard, told.get("order", ""))
    form = ItemForm(assembly, zone, request.POST if request.method == "POST" else None)
    if request.method == "POST" and "measure" not in request.POST and form.is_valid():
        try:
            return _add(request, form, order)
        except TradeError as error:
            form.add_error(None, say_error(error))
    return _page(request, yard, form, order=order)


@shown_or_sent
@may_edit
def item(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Change the answers of one item."""
    yard = get_object_or_404(Job, slug=slug)
    row = get_object_or_404(ScopeItem.objects.select_related("zone"), job=yard, uid=uid)
    assembly = _assembly(yard, row.assembly)
    form = ItemForm(
        assembly, row.zone, request.POST if request.method == "POST" else None, row.answers
    )
    if request.method == "POST" and "measure" not in request.POST and form.is_valid():
        try:
            change_item(
                row,
                form.cleaned_data,
                revision=revision_of(request),
                by=str(request.user),
                now=clock.now(),
            )
        except TradeError as error:
            form.add_error(None, say_error(error))
        except ChangedMeanwhileError:
            typed_below(form)
        else:
            messages.success(request, f"{assembly.name} was changed. Plan again to see what moves.")
            return redirect("job", slug=slug)
    return _page(request, yard, form, row)


@require_POST
@may_edit
def remove(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Take an item out."""
    row = get_object_or_404(ScopeItem.objects.select_related("job"), job__slug=slug, uid=uid)
    remove_item(row, by=str(request.user), now=clock.now())
    messages.success(request, "It was taken out. Plan again to see what moves.")
    return redirect("job", slug=slug)


def _add(request: OfficeRequest, form: ItemForm, order: ChangeOrder | None) -> HttpResponse:
    """Add what is built to the yard, or to a change order that is still to be signed."""
    name, now, by = form.assembly.name, clock.now(), str(request.user)
    told = (form.assembly.key, form.zone, form.cleaned_data)
    if order is None:
        add_item(*told, by=by, now=now, uid=uid_of(request))
        messages.success(request, f"{name} was added. Plan again to see what moves.")
        return redirect("job", slug=form.zone.job.slug)
    ask_for_item(order, *told, Who(by, now))
    messages.success(request, f"{name} is in the change order, and is built once it is signed.")
    return redirect("change-order", slug=order.job.slug, number=order.number)


def _order(yard: Job, number: str) -> ChangeOrder | None:
    """The change order that an item is to come with, if one is named."""
    if not number:
        return None
    if not number.isdecimal() or len(number) > MOST_DIGITS:
        raise Http404("No such change order")
    return get_object_or_404(yard.change_orders.select_related("job"), number=int(number))


def _page(
    request: OfficeRequest,
    yard: Job,
    form: ItemForm,
    row: ScopeItem | None = None,
    order: ChangeOrder | None = None,
) -> HttpResponse:
    """The form with live measures; 422 if something typed is wrong."""
    library = library_for(yard)
    page = {
        "head": job_head(yard, "job", shown_plan()),
        "form": form,
        "zones": yard.zones.all(),
        "groups": offered(library),
        "row": row,
        "revision": row and seen_again(request, "revision", row.revision, form),
        "order": order,
        "once": minted(request),
        "measures": measure(
            form.assembly.key, form.zone, form.answers_so_far(), library, yardstick(), yard.soil
        ),
        "section": "jobs",
    }
    bad = form.is_bound and bool(form.errors) and "measure" not in request.POST
    return answer(request, "jobs/item.html", page, parts=("measures",), status=422 if bad else 200)


def _zone(yard: Job, slug: str) -> Zone:
    zones = list(yard.zones.all())
    chosen = next((zone for zone in zones if zone.slug == slug), None)
    return chosen or next((zone for zone in zones if not zone.whole), zones[0])


def _assembly(yard: Job, key: str) -> Assembly:
    known = library_for(yard).assemblies
    if not key:
        return next(a for a in known.values() if a.group != "always")
    if key not in known:
        raise Http404(f"The library has no {key}")
    return known[key]
