"""For tests: asking what changes once a crew or a machine is gone, and saying that it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.urls import reverse

from tests.office import signed_in

if TYPE_CHECKING:
    from crews.models import Crew, Machine


def look(name: str, slug: str, **told: str):
    """What is told would change."""
    asked = {f"gone-{key}": value for key, value in told.items()}
    return signed_in().get(reverse(f"{name}-leaves", args=[slug]), asked)


def keep(one: Crew | Machine, **told: str):
    """Say that somebody is gone."""
    name = one._meta.model_name
    told = {f"gone-{key}": value for key, value in told.items()} | {"revision": str(one.revision)}
    return signed_in().post(reverse(f"{name}-leaves", args=[one.slug]), told)
