"""Counts wrong guesses in the database: one count for all processes, on however many machines they run.

A cache of files would be shared by one machine only, and adds one by reading and then writing, so that guesses sent
at the same time would be lost. Here an UPDATE adds one, and once nothing is left nothing is written any more: who goes on
guessing costs a query, and no other process waits for him.
"""

from __future__ import annotations

from datetime import timedelta

from django.db.models import F

from crews.models import Guesses

from .today import wall_now

ALLOWED = 20
COUNTED_FOR = timedelta(minutes=10)
"""A phone with a mistyped address asks a few times an hour, a guesser thousands."""


def guessed(asker: str) -> int:
    """Return how often an asker guessed wrong in the last ten minutes; nothing is counted."""
    rows = Guesses.objects.filter(asker=asker, until__gt=wall_now())
    return rows.values_list("count", flat=True).first() or 0


def count_guess(asker: str) -> int:
    """Count a wrong guess and return how many there are; one more than allowed is the last that counts."""
    already = guessed(asker)
    if already > ALLOWED:
        return already
    now = wall_now()
    Guesses.objects.filter(until__lte=now).delete()
    fresh = Guesses(asker=asker, until=now + COUNTED_FOR)
    Guesses.objects.bulk_create([fresh], ignore_conflicts=True)
    Guesses.objects.filter(asker=asker).update(count=F("count") + 1)
    return guessed(asker)
