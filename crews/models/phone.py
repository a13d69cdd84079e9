"""One-use addresses: one puts a calendar onto a phone, one makes a phone a crew's own."""

from __future__ import annotations

from django.db import models

from .base import Stamped
from .crew import Crew
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


class CrewPhone(Stamped):
    """A phone that opens its crew's own page and may say what was done.

    The set-up address opens once; then the phone holds a token in a cookie. Only hashes are kept.
    """

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="phones")
    person = models.CharField(max_length=120)
    setup = models.CharField(max_length=64, unique=True)
    until = models.DateTimeField()
    hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    opened = models.DateTimeField(null=True, blank=True)
    last_seen = models.DateTimeField(null=True, blank=True)
    revoked = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("crew__name", "person", "pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(opened__isnull=True, hash__isnull=True)
                | models.Q(opened__isnull=False, hash__isnull=False),
                name="crew_phone_has_a_token_once_opened",
            )
        ]

    def __str__(self) -> str:
        """Return whose it is, as the record names who said something."""
        return f"{self.person}, {self.crew}"
