"""Working by hand: works of one's own, pins, parts, links, and rules that do not hold here."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crews.access import may_edit
from crews.services.setup import ChangedMeanwhileError
from crews.views.once import minted, uid_of
from jobs.forms.by_hand import LendForm, PinForm, SplitForm, TieForm, WorkForm, order_told
from jobs.models import Activity, Job, Link
from jobs.scheduling.asking.wishes import Kind
from jobs.services.by_hand.split import join, split
from jobs.services.by_hand.ties import (
    IN_ORDER,
    Against,
    hold_again,
    lift,
    named,
    put_before,
    tie,
    untie,
)
from jobs.services.by_hand.works import add_work, change_work, lend_crew, pin, remove_work
from jobs.services.pages.by_hand import read_hand_page
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.planning.conflicts import CannotAllBeKept
from jobs.services.scope.hands import is_by_hand
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError

from .asked import revision_of, shown_or_sent, who
from .errors import GONE, seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from django.http import HttpResponse, QueryDict

    from crews.access import OfficeRequest
    from jobs.services.history import Who

HandForm = PinForm | SplitForm | TieForm | LendForm
FIELD_OF: dict[Kind | None, str] = {
    Kind.NOT_BEFORE: "not_before",
    Kind.NOT_AFTER: "not_after",
    Kind.CREW: "only_crew",
    Kind.LINK: "other",
    Kind.AT_MOST: "most",
}
"""Beside which field a wish that cannot be kept is told."""
FORM_OF = {"pin": "pins", "split": "parts", "tie": "ties", "lend": "lending"}
"""By what a form does, its name on the page."""
KEPT = "Kept. Plan again to see what moves."


class Refused(NamedTuple):
    """A rule that was not lifted: its number, the reason somebody typed, and what stands against it."""

    pk: int
    reason: str
    told: str


@shown_or_sent
@may_edit
def new_work(request: OfficeRequest, slug: str) -> HttpResponse:
    """Add a work no template gives."""
    job = get_object_or_404(Job, slug=slug)
    form = WorkForm(job, request.POST if request.method == "POST" else None)
    if form.is_valid():
        row = add_work(job, form.work(), who(request), uid=uid_of(request))
        messages.success(request, f"{row.name} was added. Tie it to what comes before and after.")
        return redirect("by-hand", slug=slug, uid=row.uid)
    page = {
        "head": job_head(job, "activities", shown_plan()), "form": form, "row": None,
        "once": minted(request), "section": "jobs",
    }  # fmt: skip
    return answer(request, "jobs/hand_work.html", page, status=422 if form.is_bound else 200)


@shown_or_sent
@may_edit
def change(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Change a work of one's own."""
    row = _row(slug, uid)
    if not is_by_hand(row) or row.part_of_id is not None:
        return redirect("by-hand", slug=slug, uid=uid)
    form = WorkForm(row.job, request.POST if request.method == "POST" else None, row)
    if form.is_valid():
        try:
            change_work(row, form.work(), who(request), revision=revision_of(request))
        except ChangedMeanwhileError:
            typed_below(form)
        else:
            messages.success(request, KEPT)
            return redirect("by-hand", slug=slug, uid=uid)
    page = {
        "head": job_head(row.job, "activities", shown_plan()), "form": form, "row": row,
        "revision": seen_again(request, "revision", row.revision, form), "section": "jobs",
    }  # fmt: skip
    return answer(request, "jobs/hand_work.html", page, status=422 if form.is_bound else 200)


@require_POST
@may_edit
def remove(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Take a work of one's own out, or put a part back to the one before it."""
    row = _row(slug, uid)
    if row.part_of_id is not None:
        whole = join(row, who(request))
        messages.success(request, KEPT)
        return redirect("by-hand", slug=slug, uid=whole.uid)
    if is_by_hand(row):
        remove_work(row, who(request))
        messages.success(request, f"{row.name} was taken out.")
    return redirect("activities", slug=slug)


@shown_or_sent
@may_edit
def by_hand(request: OfficeRequest, slug: str, uid: str) -> HttpResponse:
    """Pin, split and tie one work, or lend it a second crew; each form posts what it does."""
    row = _row(slug, uid)
    data, does = told_order(request)
    forms = _forms(row, data, does)
    form = forms.get(FORM_OF.get(does, ""))
    context: dict[str, object] = {"against": None}
    if form is not None and form.is_valid():
        done = _do(request, row, form, context)
        if done is not None:
            return done
    context |= {"chosen": named(row.job, request.POST.getlist("lifts"))}
    return _shown(request, row, forms, context, form)


@require_POST
@may_edit
def change_link(request: OfficeRequest, slug: str, pk: int) -> HttpResponse:
    """Untie a link by hand, lift a rule with a reason, or let it hold again."""
    reason, uid = request.POST.get("reason", "").strip()[:200], request.POST.get("back", "")
    links = Link.objects.select_related("job", "before", "after")
    link = links.filter(job__slug=slug, pk=pk).first()
    if link is None:
        return _not_there(request, slug, uid, reason)
    row = link.job.activities.filter(uid=uid, retired=False).first() or link.after
    try:
        _change(link, request.POST.get("does", ""), reason, who(request))
    except Against:
        told = "It cannot hold: the works would wait for each other in a ring. Untie what is by hand first."
        messages.error(request, told)
    except TradeError as error:
        told = f"Not done: {say_error(error)}"
        if link.rule and reason:
            refused = Refused(pk, reason, told)
            return _shown(request, row, _forms(row), {"refused": refused})
        messages.error(request, f"{told} You wrote: {reason}" if reason else told)
    else:
        messages.success(request, KEPT)
    return redirect("by-hand", slug=slug, uid=row.uid)


def _change(link: Link, does: str, reason: str, by: Who) -> None:
    if does == "untie":
        untie(link, by)
    elif does == "lift":
        lift(link, reason, by)
    else:
        hold_again(link, by)


def _not_there(request: OfficeRequest, slug: str, uid: str, reason: str) -> HttpResponse:
    """Show a work as it is tied now where the link is gone; what was typed of it is told back."""
    row = Activity.objects.filter(job__slug=slug, uid=uid, retired=False).first()
    if row is None or not reason:
        raise Http404("No such link")
    messages.info(request, f"{GONE} You wrote: {reason}")
    return redirect("by-hand", slug=slug, uid=uid)


def _forms(row: Activity, data: QueryDict | None = None, does: str = "") -> dict[str, HandForm]:
    """Return the forms of a work's page, one of them filled in as it was sent."""
    others = row.job.activities.filter(retired=False).order_by("order", "pk")
    return {
        "pins": PinForm(row, data if does == "pin" else None),
        "parts": SplitForm(data if does == "split" else None),
        "ties": TieForm(row, list(others), data if does == "tie" else None),
        "lending": LendForm(row, data if does == "lend" else None),
    }


def _shown(
    request: OfficeRequest,
    row: Activity,
    forms: Mapping[str, HandForm],
    context: Mapping[str, object],
    form: HandForm | None = None,
) -> HttpResponse:
    """Show a work's page; where something was sent, with what stands against it."""
    page = read_hand_page(row.job, row)
    seen = seen_again(request, "revision", page.revision, form or forms["pins"])
    told = {**forms, "page": page, "revision": seen, "section": "jobs", **context}
    sent = request.method == "POST"
    return answer(request, "jobs/by_hand.html", told, status=422 if sent else 200)


def _do(
    request: OfficeRequest,
    row: Activity,
    form: HandForm,
    context: dict[str, object],
) -> HttpResponse | None:
    """Do what a clean form says; None if something stands against it, which is then on the page."""
    try:
        _apply(request, row, form)
    except ChangedMeanwhileError:
        typed_below(form)
    except Against as error:
        chosen = request.POST.getlist("lifts")
        open_yet = [one for one in error.rows if one.ends not in chosen]
        context |= {"against": error, "open_yet": open_yet}
    except CannotAllBeKept as error:
        form.add_error(FIELD_OF.get(error.mine), say_error(error))
    except TradeError as error:
        form.add_error(None, say_error(error))
    else:
        messages.success(request, KEPT)
        if request.POST.get("back") == "activities":
            return redirect("activities", slug=row.job.slug)
        return redirect("by-hand", slug=row.job.slug, uid=row.uid)
    return None


def told_order(request: OfficeRequest) -> tuple[QueryDict | None, str]:
    """Return what was posted, and what is to be done; *before* or *after* another work is a tie in words."""
    if request.method != "POST":
        return None, ""
    ordered = order_told(request.POST.get("order", ""))
    if not ordered:
        return request.POST, request.POST.get("does", "")
    data = request.POST.copy()
    for name, told in ordered.items():
        data[name] = told
    return data, "tie"


def _apply(request: OfficeRequest, row: Activity, form: HandForm) -> None:
    by, seen = who(request), revision_of(request)
    if isinstance(form, PinForm):
        pin(row, form.pins(), by, revision=seen)
    elif isinstance(form, LendForm):
        lend_crew(row, form.lent(), by, revision=seen)
    elif isinstance(form, SplitForm):
        split(row, form.cleaned_data["share"], by, revision=seen)
    else:
        link, lifts = form.link(), request.POST.getlist("lifts")
        reason = form.cleaned_data["reason"].strip()
        if link.why == IN_ORDER:
            put_before(link.before, link.after, by, lifts=lifts, reason=reason)
        else:
            tie(link, by, lifts=lifts, reason=reason)


def _row(slug: str, uid: str) -> Activity:
    found = Activity.objects.select_related("job", "zone", "part_of__job", "lent", "only_crew")
    return get_object_or_404(found, job__slug=slug, uid=uid, retired=False)
