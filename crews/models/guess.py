"""Wrong guesses of secret addresses and passwords."""

from __future__ import annotations

from django.db import models

from .base import Stamped


class Guesses(Stamped):
    """How often one asker guessed wrong of late, where every process of the house sees it.

    ``asker`` is a hash: nobody's address is kept.
    """

    asker = models.CharField(max_length=64, unique=True)
    count = models.PositiveSmallIntegerField(default=0)
    until = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name_plural = "guesses"

    def __str__(self) -> str:
        """Return how many, and until when they count."""
        return f"{self.count} until {self.until:%d %b %Y %H:%M}"
