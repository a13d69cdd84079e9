"""A crew's own page on its phone: no sign-in, a cookie from a set-up address that opened once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from crews.access import crew_phone, remember_phone, too_many_misses
from crews.services.crew_phone import seen, set_up, waiting
from crews.services.phone import SetupSpentError, UnknownSetupError
from crews.services.today import wall_now
from jobs import clock, models
from jobs.forms.crew_page import PhotoForm, RainedForm, TapForm
from jobs.forms.storm import SAYABLE
from jobs.services.day.crew_says import (
    Shot,
    Tap,
    say_photo,
    say_rained_out,
    say_work,
    take_back_said,
)
from jobs.services.day.log_day import LogRefusedError
from jobs.services.numbers.library_words import work_name
from jobs.services.pages.crew_page import read_crew_page, works_today
from jobs.services.telling.words import LANGUAGES, say
from jobs.trade.work import Sentence

from .asked import shown_or_sent

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from crews.models import CrewPhone

STRANGER, GONE = 403, 410
SCRIPT = "jobs/crew_worker.js"
BESIDE = {"log-how-much": "share", "log-no-words": "note"}
"""By sentence, the field of a work beside which it is told; any other stands at the head of the work."""


@shown_or_sent
@never_cache
def set_up_phone(request: HttpRequest, token: str) -> HttpResponse:
    """Ask before the address is spent, so that a preview of it does no harm; then know the phone."""
    try:
        if request.method != "POST":
            return _private(_set_up_page(request, waiting(token, wall_now())))
        _, held = set_up(token, wall_now())
    except UnknownSetupError:
        status = 429 if too_many_misses(request) else 404
        return _stranger(request, status)
    except SetupSpentError:
        return _stranger(request, GONE)
    response = redirect("crew-page")
    remember_phone(response, held)
    return _private(response)


@require_safe
def crew_page(request: HttpRequest) -> HttpResponse:
    """Today and tomorrow of the crew whose phone asks."""
    phone = crew_phone(request)
    if phone is None:
        return _stranger(request, STRANGER)
    seen(phone, wall_now())
    return _page(request, phone)


@require_POST
def crew_say(request: HttpRequest, uid: str) -> HttpResponse:
    """Log a button pressed for one work."""
    phone, form = crew_phone(request), TapForm(request.POST)
    if phone is None:
        return _stranger(request, STRANGER)
    activity = get_object_or_404(models.Activity, uid=uid)
    if not form.is_valid():
        if "share" in form.errors:
            return _page(request, phone, uid, _told(phone, "crew-bad-share"), field="share")
        return _page(request, phone, uid, _told(phone, "crew-failed-403-way-out"))
    try:
        say_work(phone, activity, Tap(**form.cleaned_data), clock.now())
    except LogRefusedError as refused:
        tongue = phone.crew.language
        wrong = refused.said(tongue, work=work_name(activity, tongue))
        return _page(request, phone, uid, wrong, field=BESIDE.get(refused.key, ""))
    messages.success(
        request, _told(phone, "crew-kept", work=work_name(activity, phone.crew.language))
    )
    return redirect("crew-page")


@require_POST
def crew_photo(request: HttpRequest, slug: str) -> HttpResponse:
    """Keep a photo of a yard the crew is in."""
    phone, form = crew_phone(request), PhotoForm(request.POST, request.FILES)
    if phone is None:
        return _stranger(request, STRANGER)
    job = get_object_or_404(models.Job, slug=slug)
    if not form.is_valid():
        wrong = "photo-missing" if "file" in form.errors else "crew-failed-403-way-out"
        return _page(request, phone, slug, _told(phone, wrong))
    told = form.cleaned_data
    try:
        say_photo(phone, job, Shot(told["client"], told["file"].file, told["note"]), clock.now())
    except LogRefusedError as refused:
        return _page(request, phone, slug, refused.said(phone.crew.language))
    messages.success(request, _told(phone, "crew-photo-kept", job=job.name))
    return redirect("crew-page")


@require_POST
def crew_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what a thumb said by mistake today."""
    phone = crew_phone(request)
    if phone is None:
        return _stranger(request, STRANGER)
    line = get_object_or_404(models.DayLog.objects.select_related("activity"), pk=pk)
    tongue = phone.crew.language
    work = work_name(line.activity, tongue) if line.activity else ""
    try:
        take_back_said(phone, pk, clock.now())
    except LogRefusedError as refused:
        uid = line.activity.uid if line.activity else ""
        return _page(request, phone, uid, refused.said(tongue, work=work))
    messages.success(request, _told(phone, "crew-taken-back", work=work))
    return redirect("crew-page")


@require_POST
def crew_rained(request: HttpRequest) -> HttpResponse:
    """Log rain against everything the crew has left today."""
    phone, form = crew_phone(request), RainedForm(request.POST)
    if phone is None:
        return _stranger(request, STRANGER)
    if not form.is_valid():
        return _page(request, phone, wrong=_told(phone, "crew-failed-403-way-out"))
    now, told = clock.now(), form.cleaned_data
    tap = Tap(told["client"], models.DayLog.Kind.NOT_TODAY, told["at"])
    lines = say_rained_out(phone, works_today(phone.crew, now), tap, now)
    messages.success(request, _told(phone, "crew-rained-kept", count=len(lines)))
    return redirect("crew-page")


@require_safe
def crew_worker(request: HttpRequest) -> HttpResponse:
    """Serve the script that keeps the page for when there is no signal, from where it may see it."""
    return render(request, SCRIPT, content_type="text/javascript")


def _page(
    request: HttpRequest, phone: CrewPhone, wrong_uid: str = "", wrong: str = "", field: str = ""
) -> HttpResponse:
    browser = request.headers.get("User-Agent", "")
    page = read_crew_page(phone.crew, phone.person, clock.now(), browser)
    told = {
        "page": page,
        "wrong_uid": wrong_uid,
        "wrong": wrong,
        "wrong_field": field,
        "typed": request.POST,
        "elsewhere": bool(wrong) and not page.shows(wrong_uid),
        "causes": [(cause, _told(phone, f"cause-{cause}")) for cause, _ in SAYABLE],
        "language": phone.crew.language,
    }
    return _private(render(request, "jobs/crew_page.html", told, status=422 if wrong else 200))


def _stranger(request: HttpRequest, status: int) -> HttpResponse:
    """Answer a phone that nobody knows, in every language: whose it is cannot be told."""
    told = {"spent": status == GONE, "languages": LANGUAGES}
    return _private(render(request, "jobs/crew_stranger.html", told, status=status))


def _set_up_page(request: HttpRequest, phone: CrewPhone) -> HttpResponse:
    told = {"phone": phone, "language": phone.crew.language}
    return render(request, "jobs/crew_set_up.html", told)


def _told(phone: CrewPhone, key: str, **values: str | int) -> str:
    """Say a sentence in the language of the phone's crew."""
    return say(Sentence(key, values), phone.crew.language)


def _private(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    return response
