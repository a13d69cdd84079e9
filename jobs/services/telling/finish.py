"""Why a finish moved, as a homeowner reads it."""

from __future__ import annotations

from jobs import models
from jobs.trade.work import Sentence

from .speech import say_day
from .words import say

REORDERED = "works put in another order"
FINE_WORDS = {
    models.Cause.RAIN: "rain",
    models.Cause.DRY_OUT: "the ground drying out after rain",
    models.Cause.WIND: "wind",
    models.Cause.COLD: "cold",
    models.Cause.HEAT: "heat",
    models.Cause.MACHINE: "a machine that was down",
    models.Cause.PEOPLE: "people who were out",
    models.Cause.DELIVERY: "a late delivery",
    models.Cause.DECISION: "a choice still to be made",
    models.Cause.CHANGE_ORDER: "a change you signed",
    models.Cause.INSPECTION: "an inspection that has to be passed first",
    models.Cause.REDO: "work that is done a second time",
    models.Cause.PAUSE: "a pause",
    models.Cause.PROMISE: "another date that was agreed",
    models.Cause.NEW_JOB: REORDERED,
    models.Cause.GONE: "fewer people or machines",
    models.Cause.PRODUCTIVITY: "work that went otherwise than planned",
    models.Cause.OTHER: "something we could not foresee",
    "progress": "work that went otherwise than planned",
    "re-sequencing": REORDERED,
    "undone": "the earlier dates hold again",
}
"""Causes as a homeowner reads them: no crews, no prices."""


def finish_sentence(change: models.FinishChange, *, settled: bool = True) -> str:
    """Return what moved a finish, as a homeowner reads it; that it is open again where it is not settled."""
    if not settled:
        return say(Sentence("nobody-finish-told", {"job": change.job.name}))
    days = (change.becomes - change.was).days
    because = because_of(change)
    if not days:
        return f"Your yard is still planned to be finished {say_day(change.becomes)}, {because}."
    later = "later" if days > 0 else "sooner"
    return (
        f"Your yard is now planned to be finished {say_day(change.becomes)}, "
        f"{abs(days)} day{'' if abs(days) == 1 else 's'} {later} than before, {because}."
    )


def because_of(change: models.FinishChange) -> str:
    """Return the causes of a change, those of most days first; what follows from them, another order, comes last."""
    days = (change.becomes - change.was).days
    ways = [s for s in change.shares if not days or (s["days"] > 0) == (days > 0)]
    ways.sort(key=lambda share: -abs(share["days"]))
    words = list(dict.fromkeys(FINE_WORDS.get(share["cause"], share["cause"]) for share in ways))
    words.sort(key=REORDERED.__eq__)
    told = " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
    if not days:
        return f"in spite of {told}" if told else "as before"
    return f"because of {told}" if told else f"because of {REORDERED}"
