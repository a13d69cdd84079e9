"""The application as it is served, with one bare view beside it: what feeds are measured against."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import django
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.http import HttpResponse
from django.urls import include, path

if TYPE_CHECKING:
    from django.http import HttpRequest

BARE = "bare/"


def bare(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 (Django passes it)
    """Answer with two letters: no query, no template, every middleware."""
    return HttpResponse("ok")


def serve_measured() -> object:
    """Return the WSGI application with the bare view in front of the usual addresses."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.settings")
    django.setup()
    settings.ROOT_URLCONF = (path(BARE, bare), path("", include("jobs.urls")))
    return get_wsgi_application()
