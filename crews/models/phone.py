"""The one-use address that puts a calendar onto a phone."""

from __future__ import annotations

from django.db import models

from .base import Stamped
from .event import FeedLink


class PhoneSetup(Stamped):
    """A page that opens once and then shows the address of a feed.

    Only the hash of its token is stored. ``sealed`` is the token of the feed, readable with the token
    of this page and with nothing else; it is wiped when the page is opened.
    """

    hash = models.CharField(max_length=64, unique=True)
    link = models.ForeignKey(FeedLink, on_delete=models.CASCADE, related_name="setups")
    sealed = models.CharField(max_length=64, blank=True)
    until = models.DateTimeField()
    opened = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.CheckConstraint(
                condition=models.Q(opened__isnull=True) | models.Q(sealed=""),
                name="opened_setup_keeps_no_secret",
            )
        ]

    def __str__(self) -> str:
        """Return what it sets up."""
        return f"set-up of {self.link}"
