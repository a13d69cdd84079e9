"""What every form is asked with: by whom and when, and what its editor had before him."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.views.decorators.http import require_http_methods

from jobs import clock
from jobs.services.history import Who

if TYPE_CHECKING:
    from crews.access import OfficeRequest

MOST_DIGITS = 9
"""No row is edited more often than a database's whole number can count."""
shown_or_sent = require_http_methods(["GET", "HEAD", "POST"])
"""Method decorator of a page that shows a form and takes it back."""


def who(request: OfficeRequest) -> Who:
    """Return who asks, and when."""
    return Who(str(request.user), clock.now())


def revision_of(request: OfficeRequest) -> int:
    """Return the revision of the row that an editor saw; 0 for nonsense, which no row has."""
    told = request.POST.get("revision", "")
    return int(told) if told.isdecimal() and len(told) <= MOST_DIGITS else 0
