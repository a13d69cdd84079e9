"""Where a yard's climate comes from: looked at, chosen, and a station's daily record loaded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.climate import PlaceForm, RecordForm
from jobs.models import Job
from jobs.services.pages.climate import read_climate
from jobs.services.sky import climate_choice
from jobs.services.telling.errors import say_error
from jobs.weather.errors import WeatherError

from .asked import who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

KEPT = "Kept. The odds go by it when they are said next."
MEANWHILE = "Somebody chose another climate while you had this open; nothing was overwritten. Below is how it stands now."
FILE_AGAIN = (
    f"{MEANWHILE} To load your file all the same, choose it once more: a browser keeps no file."
)


@require_safe
@signed_in
def climate(request: OfficeRequest, slug: str) -> HttpResponse:
    """Show where a yard's climate comes from."""
    return _page(request, get_object_or_404(Job, slug=slug))


@require_POST
@may_edit
def set_place(request: OfficeRequest, slug: str) -> HttpResponse:
    """Take the climate of another place, or of the nearest again."""
    job = get_object_or_404(Job, slug=slug)
    form = PlaceForm(read_climate(job, clock.now()).places, request.POST)
    if not form.is_valid():
        return _page(request, job, place=form)
    try:
        station, seen = form.cleaned_data["station"], request.POST.get("seen", "")
        climate_choice.set_place(job, station, who(request), seen=seen)
    except ChangedMeanwhileError:
        typed_below(form)
        return _page(request, job, place=form)
    messages.success(request, KEPT)
    return redirect("climate", slug=slug)


@require_POST
@may_edit
def set_record(request: OfficeRequest, slug: str) -> HttpResponse:
    """Load a station's daily record, or take it out; what is wrong is told by line."""
    job = get_object_or_404(Job, slug=slug)
    seen, by = request.POST.get("seen", ""), who(request)
    form = RecordForm(request.POST, request.FILES)
    drop = request.POST.get("does") == "drop"
    if not drop and not form.is_valid():
        return _page(request, job, record=form)
    try:
        if drop:
            climate_choice.drop_record(job, by, seen=seen)
            remarks = []
        else:
            name, content = form.cleaned_data["file"]
            remarks = climate_choice.set_record(job, name, content, by, seen=seen)
    except WeatherError as error:
        form.add_error("file", say_error(error))
        return _page(request, job, record=form)
    except ChangedMeanwhileError:
        typed_below(form, MEANWHILE if drop else FILE_AGAIN)
        return _page(request, job, record=form)
    messages.success(request, " ".join([KEPT, *(f"{told.capitalize()}." for told in remarks)]))
    return redirect("climate", slug=slug)


def _page(
    request: OfficeRequest,
    job: Job,
    place: PlaceForm | None = None,
    record: RecordForm | None = None,
) -> HttpResponse:
    page = read_climate(job, clock.now())
    places, records = place or PlaceForm(page.places, now=page.chosen), record or RecordForm()
    context = {
        "page": page,
        "place": places,
        "record": records,
        "place_seen": seen_again(request, "seen", page.seen, places),
        "record_seen": seen_again(request, "seen", page.seen, records),
        "section": "jobs",
    }
    return answer(request, "jobs/climate.html", context, status=422 if place or record else 200)
