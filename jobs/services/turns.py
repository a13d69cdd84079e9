"""Who changes what is planned, or what phones show of it, waits for whoever is at it already."""

from __future__ import annotations

from jobs import models


def take_turn() -> None:
    """Hold the company's row until the transaction ends; call it before any other row is held.

    Accepting holds it, too, and then writes about jobs and works: held in the other order, on PostgreSQL two
    people could wait for each other, and one of them would be told of an error.
    """
    models.Company.objects.select_for_update().first()
