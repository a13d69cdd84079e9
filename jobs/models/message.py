"""Messages that went out by themselves, or still have to."""

from __future__ import annotations

from django.db import models

from crews.models.base import Stamped


class Message(Stamped):
    """One message to one address on one day; that there is only one keeps it from being sent twice.

    It counts as sent once somebody began to send it: rather one too few than the same one twice.
    """

    on = models.DateField()
    key = models.CharField(max_length=100)
    """Which message of the day it is, and to whom."""
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    text = models.TextField()
    sent_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    failed = models.CharField(max_length=200, blank=True)
    """Why the last try failed."""

    class Meta:
        ordering = ("-on", "pk")
        constraints = [
            models.UniqueConstraint(fields=["on", "key"], name="one_message_a_day_and_key")
        ]

    def __str__(self) -> str:
        """Return subject and address."""
        return f"{self.subject}, {self.to}"
