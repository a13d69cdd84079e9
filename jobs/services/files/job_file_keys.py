"""The keys of a job file, table by table: what each may hold, and how much of it."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping


class Key(NamedTuple):
    """What a key holds, whether it must be there, and its bounds."""

    kind: type | tuple[type, ...]
    needed: bool = False
    most: int = 200
    """Letters of words; the largest of whole numbers."""
    least: int = 0


DATES = (date,)
WORDS = (str,)
AMOUNT = (str, int, float)

ACTIVITY: Mapping[str, Key] = {
    "activity": Key(WORDS, needed=True),
    "where": Key(WORDS),
    "which": Key((int,), least=1),
}
"""What names an activity."""

FORERUNNER: Mapping[str, Key] = {
    "after": Key(WORDS, needed=True),
    "after_where": Key(WORDS),
    "after_which": Key((int,), least=1),
    "relation": Key(WORDS),
}
"""What names the activity it is tied to, and how."""

JOB_KEYS: Mapping[str, Key] = {
    "id": Key(WORDS),
    "whole_yard_id": Key(WORDS),
    "name": Key(WORDS, needed=True, most=120),
    "slug": Key(WORDS),
    "address": Key(WORDS, needed=True),
    "state": Key(WORDS, needed=True, most=2),
    "time_zone": Key(WORDS, most=60),
    "latitude": Key((int, float), most=90, least=-90),
    "longitude": Key((int, float), most=180, least=-180),
    "soil": Key(WORDS, most=20),
    "stage": Key(WORDS, most=12),
    "paused_from": Key(DATES),
    "paused_until": Key(DATES),
    "start": Key(DATES, needed=True),
    "promise": Key(DATES),
    "weight": Key((int,), most=100, least=1),
    "access": Key(WORDS),
    "yard": Key((dict,)),
}
"""Keys of the job itself."""

TABLE_KEYS: Mapping[str, Mapping[str, Key]] = {
    "zone": {
        "name": Key(WORDS, needed=True, most=60),
        "area": Key(AMOUNT),
        "id": Key(WORDS),
    },
    "passage": {
        "name": Key(WORDS, needed=True, most=60),
        "from": Key(WORDS, needed=True),
        "to": Key(WORDS, needed=True),
        "width": Key(AMOUNT),
        "headroom": Key(AMOUNT),
        "load": Key(AMOUNT),
        "floor": Key(WORDS, most=40),
        "slope": Key(AMOUNT),
        "length": Key(AMOUNT),
        "id": Key(WORDS),
    },
    "build": {
        "what": Key(WORDS, needed=True),
        "where": Key(WORDS, needed=True),
        "name": Key(WORDS, most=120),
        "id": Key(WORDS),
    },
    "delivery": {
        "name": Key(WORDS, needed=True, most=120),
        "for": Key(WORDS, needed=True),
        "where": Key(WORDS),
        "which": Key((int,), least=1),
        "earliest": Key(DATES),
        "lead_business_days": Key((int,), most=365),
        "arrived": Key(DATES),
    },
    "decision": {
        "name": Key(WORDS, needed=True, most=120),
        "for": Key(WORDS, needed=True),
        "where": Key(WORDS),
        "which": Key((int,), least=1),
        "expected": Key(DATES),
        "decided": Key(DATES),
        "answer": Key(WORDS),
    },
    "link": {
        **ACTIVITY,
        **FORERUNNER,
        "wait": Key((dict,)),
        "at_most": Key((dict,)),
        "why": Key(WORDS),
        "reason": Key(WORDS),
        "by": Key(WORDS, most=120),
    },
    "work": {
        "name": Key(WORDS, needed=True, most=105),
        "where": Key(WORDS, needed=True),
        "skill": Key(WORDS, needed=True, most=30),
        "days": Key((int, float), needed=True, most=60),
        "people": Key((int,), needed=True, most=20, least=1),
        "id": Key(WORDS),
    },
    "split": {
        **ACTIVITY,
        "shares": Key((list,), needed=True),
        "ids": Key((list,)),
    },
    "extra": {
        **ACTIVITY,
        "what": Key(WORDS, needed=True, most=5),
        "days": Key((int, float), most=60),
        "share": Key((int,), most=100, least=1),
        "id": Key(WORDS),
    },
    "pin": {
        **ACTIVITY,
        "not_before": Key(DATES),
        "not_after": Key(DATES),
        "crew": Key(WORDS),
        "hired": Key((bool,)),
    },
    "lift": {
        **ACTIVITY,
        **FORERUNNER,
        "reason": Key(WORDS, needed=True),
        "by": Key(WORDS, most=120),
    },
    "release": {
        **ACTIVITY,
        "allows": Key(WORDS, needed=True, most=8),
        "after": Key((dict,), needed=True),
        "engineer": Key(WORDS, needed=True, most=120),
        "licence": Key(WORDS, needed=True, most=60),
        "signed": Key(DATES, needed=True),
        "note": Key(WORDS),
        "by": Key(WORDS, most=120),
    },
    "done": {
        **ACTIVITY,
        "started": Key((datetime,), needed=True),
        "finished": Key((datetime,)),
        "share": Key((int,), most=100),
        "crew": Key(WORDS),
    },
    "no_work": {
        "from": Key(DATES, needed=True),
        "to": Key(DATES),
        "why": Key(WORDS, most=120),
    },
}
"""Keys of each repeated table; ``build`` takes the answers of its assembly besides."""

OPEN_TABLES = frozenset({"build"})
WAIT_UNITS = ("minutes", "hours", "days", "work_days", "business_days")
RELATIONS = ("finish-to-start", "start-to-start", "finish-to-finish", "start-to-finish")
