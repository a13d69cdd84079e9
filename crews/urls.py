"""Addresses of the crews application; included at the root."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.urls import URLPattern

app_name = "crews"
urlpatterns: list[URLPattern] = []
