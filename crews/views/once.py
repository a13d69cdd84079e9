"""The number minted with a form, by which what it asks for is made once though it is sent twice."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.http import HttpRequest

DIGITS = 32


def uid_of(request: HttpRequest) -> str:
    """Return the number a form was sent with; empty where it does not look like one of ours."""
    told = request.POST.get("once", "")
    good = len(told) == DIGITS and all(letter in "0123456789abcdef" for letter in told)
    return told if good else ""


def minted(request: HttpRequest) -> str:
    """Return the number of a form that is shown: the one it was sent with, else a fresh one."""
    return uid_of(request) or uuid.uuid4().hex
