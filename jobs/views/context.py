"""What every page knows: the company, today, and whether the day is pretended."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.utils.functional import SimpleLazyObject

from jobs import clock
from jobs.models import Company

if TYPE_CHECKING:
    from django.http import HttpRequest


def house(request: HttpRequest) -> dict[str, Any]:  # noqa: ARG001 (Django calls it with the request)
    """Return the lazy ``house`` of a template: read only by pages that show it."""
    return {"house": SimpleLazyObject(_house)}


def _house() -> dict[str, Any]:
    company = Company.objects.first()
    return {
        "company": company,
        "now": clock.now(company),
        "pretends": clock.pretends(company),
    }
