"""Addresses of the crews application; included at the root."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.urls import path

from .views import feed, links, phone

if TYPE_CHECKING:
    from django.urls import URLPattern

app_name = "crews"
urlpatterns: list[URLPattern] = [
    path("feed/<slug:token>.ics", feed.feed, name="feed"),
    path("phone/<slug:token>/", phone.phone, name="phone"),
    path("calendars/", links.calendars, name="calendars"),
    path("calendars/new/", links.new_calendar, name="new-calendar"),
    path("calendars/phones/new/", links.new_crew_phone, name="new-crew-phone"),
    path("calendars/phones/<int:pk>/turn-off/", links.turn_off_phone, name="turn-off-phone"),
    path("calendars/<int:pk>/turn-off/", links.turn_off, name="turn-off-calendar"),
    path("calendars/<int:pk>/replace/", links.replace_calendar, name="replace-calendar"),
]
