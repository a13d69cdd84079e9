"""Change orders of a job: written down, what they do, signed or declined."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import may_edit, signed_in
from crews.services.setup import ChangedMeanwhileError
from crews.views.once import minted, uid_of
from jobs import clock
from jobs.forms.change_orders import (
    AddedWorkForm,
    LeftOutForm,
    MoreDaysForm,
    SignatureForm,
    WordingForm,
)
from jobs.models import ChangeLine, ChangeOrder, Job
from jobs.services.by_hand.ties import Against
from jobs.services.pages.change_orders import left_out_of, read_order, read_orders
from jobs.services.storm.answer_order import decline, sign
from jobs.services.storm.change_orders import add_line, ask, drop_line, reword
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError

from .asked import revision_of, shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer
from .storm import ways_out_now

if TYPE_CHECKING:
    from django.forms import Form
    from django.http import HttpResponse, HttpResponseBase, QueryDict

    from crews.access import OfficeRequest

RING = "A work of it would wait for itself: let it come after another one."


@shown_or_sent
@signed_in
def change_orders(request: OfficeRequest, slug: str) -> HttpResponseBase:
    """Every change order of a job; write one down."""
    job = get_object_or_404(Job, slug=slug)
    if request.method == "POST":
        return _ask(request, job)
    page = {"page": read_orders(job), "form": WordingForm(), "once": minted(request)}
    return answer(request, "jobs/change_orders.html", page | {"section": "jobs"})


@may_edit
def _ask(request: OfficeRequest, job: Job) -> HttpResponse:
    form = WordingForm(request.POST)
    if form.is_valid():
        order = ask(job, form.wording(), who(request), uid=uid_of(request))
        messages.success(
            request, "It is written down. Say what it does to the plan, then get it signed."
        )
        return redirect("change-order", slug=job.slug, number=order.number)
    page = {"page": read_orders(job), "form": form, "once": minted(request)}
    return answer(request, "jobs/change_orders.html", page | {"section": "jobs"}, status=422)


@shown_or_sent
@signed_in
def change_order(request: OfficeRequest, slug: str, number: int) -> HttpResponseBase:
    """One change order as it goes on paper; each form on it posts what it does."""
    order = _order(slug, number)
    if request.method == "POST":
        return _change(request, order)
    return _page(request, order, _forms(request, order))


@require_POST
@may_edit
def drop_change_line(request: OfficeRequest, slug: str, number: int, pk: int) -> HttpResponse:
    """Take one thing back that a change order would have done."""
    line = get_object_or_404(
        ChangeLine.objects.select_related("order__job", "item__zone", "activity", "zone"),
        order__job__slug=slug, order__number=number, pk=pk,
    )  # fmt: skip
    drop_line(line, who(request))
    messages.success(request, "It was taken out of the change order.")
    return redirect("change-order", slug=slug, number=number)


@may_edit
def _change(request: OfficeRequest, order: ChangeOrder) -> HttpResponse:
    """Do what a clean form says; what stands against it is told on the page."""
    forms = _forms(request, order)
    form = forms.get({"decline": "sign"}.get(_does(request), _does(request)))
    if form is None or not form.is_valid():
        return _page(request, order, forms, form)
    try:
        return _do(request, order, form)
    except ChangedMeanwhileError:
        typed_below(form)
    except Against:
        form.add_error(None, RING)
    except TradeError as error:
        form.add_error(None, say_error(error))
    return _page(request, _order(order.job.slug, order.number), forms, form)


def _do(request: OfficeRequest, order: ChangeOrder, form: Form) -> HttpResponse:
    by, revision = who(request), revision_of(request)
    if isinstance(form, WordingForm):
        reword(order, form.wording(), by, revision=revision)
        messages.success(request, "Kept.")
    elif isinstance(form, SignatureForm) and _does(request) == "decline":
        decline(order, form.signature(), by, revision=revision)
        messages.success(request, "Kept as declined. The plan stays as it is.")
    elif isinstance(form, SignatureForm):
        change = sign(order, form.signature(), by, revision=revision)
        if change is None:
            messages.success(request, "It is signed. Nothing in the plan changes.")
            return redirect("change-order", slug=order.job.slug, number=order.number)
        messages.success(request, "It is signed, and waits for its place in the plan. Phones learn of it when you accept a way out.")  # fmt: skip
        return ways_out_now()
    elif isinstance(form, AddedWorkForm | MoreDaysForm | LeftOutForm):
        add_line(order, form.line(), by)
        messages.success(request, "It does that too, once it is signed.")
    return redirect("change-order", slug=order.job.slug, number=order.number)


def _forms(request: OfficeRequest, order: ChangeOrder) -> dict[str, Form]:
    works = list(
        order.job.activities.filter(retired=False, finished_at=None).order_by("order", "pk")
    )

    def told(does: str) -> QueryDict | None:
        return request.POST if _does(request) == does else None

    signed = request.POST if _does(request) in {"sign", "decline"} else None
    return {
        "reword": WordingForm(told("reword"), order),
        "work": AddedWorkForm(order.job, works, told("work")),
        "days": MoreDaysForm(works, told("days")),
        "out": LeftOutForm(left_out_of(order.job), works, told("out")),
        "sign": SignatureForm(order, clock.now().date(), signed),
    }


def _page(
    request: OfficeRequest, order: ChangeOrder, forms: dict[str, Form], refused: Form | None = None
) -> HttpResponse:
    paper = read_order(order)
    seen = seen_again(request, "revision", paper.revision, refused or forms["reword"])
    page = {
        "page": paper, "forms": forms, "refused": refused, "revision": seen, "section": "jobs",
    }  # fmt: skip
    status = 422 if request.method == "POST" else 200
    return answer(request, "jobs/change_order.html", page, status=status)


def _order(slug: str, number: int) -> ChangeOrder:
    found = ChangeOrder.objects.select_related("job")
    return get_object_or_404(found, job__slug=slug, number=number)


def _does(request: OfficeRequest) -> str:
    return request.POST.get("does", "")
