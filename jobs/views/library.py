"""The trade library: browse, search, all that is known of one kind of work, and figures of one's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.figures import EntryFigures, TemplateFigures, WaitFigures
from jobs.models import Job, Override
from jobs.services.day.learning import take_pace
from jobs.services.numbers.library import current_library
from jobs.services.numbers.own_figures import SetBy, reset_figure, set_figures
from jobs.services.pages.entry import read_entry
from jobs.services.pages.learning import read_learned, read_learned_of
from jobs.services.pages.library import read_library_page
from jobs.services.pages.own import read_all_own, read_numbers, read_own
from jobs.services.pages.template import read_template, read_wait
from jobs.services.scope.take_numbers import take_newest
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError

from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest
    from jobs.forms.figures import OwnForm

NEWER = (
    "The numbers changed again while you looked. Here is what would change now; nothing was taken."
)
KEPT = "Your figures are kept. Each job's page shows what they would change, and takes them when you say so."


@require_safe
@signed_in
def library(request: OfficeRequest) -> HttpResponse:
    """Every kind of work, or those that are looked for."""
    page = read_library_page(request.GET.get("q", ""))
    own = () if page.query else read_all_own()
    context = {"page": page, "own": own, "section": "library"}
    return answer(request, "jobs/library.html", context, parts=("found",))


@require_safe
@signed_in
def template(request: OfficeRequest, key: str) -> HttpResponse:
    """One kind of work: what it needs, takes and waits for, why, and who says so."""
    return _template_page(request, key, None)


@require_safe
@signed_in
def wait(request: OfficeRequest, key: str) -> HttpResponse:
    """One wait: how long, what for, and who says so."""
    return _wait_page(request, key, None)


@require_POST
@may_edit
def own_template(request: OfficeRequest, key: str) -> HttpResponse:
    """Set one's own pace or least people of a kind of work."""
    known = current_library().templates.get(key)
    if known is None:
        raise Http404(f"The library has no {key}")
    form = TemplateFigures(known, request.POST)
    return _set(request, form) or _template_page(request, key, form)


@require_POST
@may_edit
def own_wait(request: OfficeRequest, key: str) -> HttpResponse:
    """Set one's own time of a wait."""
    known = current_library().waits.get(key)
    if known is None:
        raise Http404(f"The library has no {key}")
    form = WaitFigures(known, request.POST)
    return _set(request, form) or _wait_page(request, key, form)


@require_POST
@may_edit
def take_own_pace(request: OfficeRequest, key: str) -> HttpResponse:
    """Take a pace that was learned from works as the company's own."""
    path = request.POST.get("path", "")
    if key not in current_library().templates or not path.startswith(f"template {key} "):
        raise Http404(f"The library has no {key}")
    why = "learned from works that are done"
    try:
        take_pace(
            path, request.POST.get("told", ""), SetBy(str(request.user), clock.now(), None, why)
        )
    except ChangedMeanwhileError:
        messages.error(request, "More was logged since you looked. Below is how it stands now; nothing was taken.")  # fmt: skip
    else:
        messages.success(request, KEPT)
    return redirect("template", key=key)


@require_safe
@signed_in
def entry(request: OfficeRequest, section: str, key: str) -> HttpResponse:
    """One row that is no kind of work and no wait: limits, a machine, a rule, a notice, the ground."""
    return _entry_page(request, section, key, None)


@require_POST
@may_edit
def own_entry(request: OfficeRequest, section: str, key: str) -> HttpResponse:
    """Set one's own figures of such a row."""
    read_entry(section, key)
    form = EntryFigures(section, key, request.POST)
    return _set(request, form) or _entry_page(request, section, key, form)


@require_POST
@may_edit
def reset_own(request: OfficeRequest, pk: int) -> HttpResponse:
    """Go back to the library's figure."""
    row = get_object_or_404(Override.objects.select_related("job"), pk=pk)
    reset_figure(row, by=str(request.user), now=clock.now())
    messages.success(request, "Ours holds again. Each job takes it when you say so on its page.")
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return redirect(back if safe else "library")


@require_safe
@signed_in
def numbers(request: OfficeRequest, slug: str) -> HttpResponse:
    """The numbers a job is reckoned with, and what newer ones would change."""
    yard = get_object_or_404(Job, slug=slug)
    page = {
        "page": read_numbers(yard),
        "learned": read_learned_of(yard, clock.now()),
        "section": "jobs",
    }
    return answer(request, "jobs/numbers.html", page)


@require_POST
@may_edit
def take_numbers(request: OfficeRequest, slug: str) -> HttpResponse:
    """Reckon a job with the newest numbers from now on."""
    yard = get_object_or_404(Job, slug=slug)
    try:
        take_newest(yard, seen=request.POST.get("seen", ""), by=str(request.user), now=clock.now())
    except ChangedMeanwhileError:
        messages.error(request, NEWER)
    else:
        messages.success(request, "The job has the newest numbers. Plan again to see what moves.")
    return redirect("numbers", slug=slug)


def _set(request: OfficeRequest, form: OwnForm) -> HttpResponse | None:
    """Keep what a clean form says; None if something stands against it, which is then told in it."""
    if not form.is_valid():
        return None
    section, _, key = form.path.partition(" ")
    set_by = SetBy(str(request.user), clock.now(), form.job, form.cleaned_data["why"].strip())
    try:
        set_figures(form.path, form.owns, told=request.POST.get("seen", ""), set_by=set_by)
    except ChangedMeanwhileError:
        typed_below(form)
        return None
    except TradeError as error:
        form.add_error(None, say_error(error))
        return None
    messages.success(request, KEPT)
    if isinstance(form, EntryFigures):
        return redirect("entry", section=section, key=key)
    return redirect(section, key=key)


def _own(request: OfficeRequest, prefix: str, form: OwnForm) -> dict[str, object]:
    own = read_own(prefix)
    return {"own": own, "form": form, "seen": seen_again(request, "seen", own.seen, form)}


def _template_page(request: OfficeRequest, key: str, form: TemplateFigures | None) -> HttpResponse:
    page = read_template(key)
    context = {
        "page": page,
        **_own(
            request, f"template {key}", form or TemplateFigures(current_library().templates[key])
        ),
        "learned": read_learned(clock.now(), key),
        "section": "library",
    }
    return answer(request, "jobs/template.html", context, status=422 if form else 200)


def _entry_page(
    request: OfficeRequest, section: str, key: str, form: EntryFigures | None
) -> HttpResponse:
    context = {
        "page": read_entry(section, key),
        **_own(request, f"{section} {key}", form or EntryFigures(section, key)),
        "section": "library",
    }
    return answer(request, "jobs/entry.html", context, status=422 if form else 200)


def _wait_page(request: OfficeRequest, key: str, form: WaitFigures | None) -> HttpResponse:
    page = read_wait(key)
    context = {
        "page": page,
        **_own(request, f"wait {key}", form or WaitFigures(current_library().waits[key])),
        "section": "library",
    }
    return answer(request, "jobs/wait.html", context, status=422 if form else 200)
