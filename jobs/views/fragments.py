"""Page or part: the one place that knows which was asked for."""

from __future__ import annotations

from dataclasses import is_dataclass
from typing import TYPE_CHECKING, Any

from django.template.response import TemplateResponse
from django.utils.cache import patch_vary_headers

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def answer(
    request: HttpRequest,
    template: str,
    page: object,
    *,
    parts: tuple[str, ...] = (),
    status: int = 200,
) -> HttpResponse:
    """Render a page, or only the part of it whose id htmx is about to swap.

    Parameters
    ----------
    page
        A frozen page object, given to the template as ``page``, or a mapping of names.
    parts
        Names of the template's parts that may be asked for alone; each is the id it swaps.
    """
    htmx = getattr(request, "htmx", None)
    name = template
    if htmx and not htmx.history_restore_request and htmx.target in parts:
        name = f"{template}#{htmx.target}"
    response = TemplateResponse(request, name, _context(page), status=status)
    patch_vary_headers(response, ("HX-Request", "HX-Target"))
    return response


def _context(page: object) -> dict[str, Any]:
    if is_dataclass(page) or not isinstance(page, dict):
        return {"page": page}
    return page
