"""Crews' phones for tests: a first morning of work, a phone set up by its address, buttons pressed."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from django.test import Client
from django.urls import reverse

from crews.services.crew_phone import give_out
from crews.services.today import wall_now
from tests.office import NOW, open_office, published_plan, small_job


def first_morning(settings):
    """Let it be the first morning on which a crew works in the small yard; return that crew."""
    company = open_office()
    small_job()
    plan = published_plan()
    first = plan.rows.filter(crew__isnull=False).order_by("start")[0]
    settings.TODAY = first.start.astimezone(NOW.tzinfo).strftime("%Y-%m-%dT%H:%M")
    company.demo_day = None
    company.save()
    return first.crew


def morning(settings):
    return datetime.fromisoformat(settings.TODAY).replace(tzinfo=NOW.tzinfo)


def phone_in_hand(crew, person="Ines"):
    """Return a browser that was set up by the address the office gave out."""
    _, token = give_out(crew, person, wall_now())
    client = Client()
    address = reverse("crew-set-up", args=[token])
    assert client.get(address).status_code == 200
    assert client.post(address).status_code == 302
    return client


def say(browser, activity, kind, **told):
    """Press a button of a work."""
    tap = {"client": str(uuid4()), "kind": kind} | told
    return browser.post(reverse("crew-say", args=[activity.uid]), tap)
