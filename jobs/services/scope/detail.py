"""The soft facts of an activity as JSON and back: what only the planner and the story read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jobs.trade.work import Activity, Hold, Need, Shift, Tread

if TYPE_CHECKING:
    from collections.abc import Mapping


def to_detail(activity: Activity) -> dict[str, Any]:
    """Return what has no column of its own."""
    return {
        "machines": [[need.machine, need.units] for need in activity.machines],
        "weather": activity.weather,
        "one_go": activity.one_go,
        "shift": activity.shift.value,
        "outside": activity.outside,
        "request": activity.request,
        "counts": activity.counts,
        "treads": {place: int(tread) for place, tread in sorted(activity.treads.items())},
        "hauls": dict(sorted(activity.hauls.items())),
        "holds": [
            {
                "place": hold.place,
                "minutes": hold.minutes,
                "keeps_out": int(hold.keeps_out),
                "wait": hold.wait,
                "exempt": sorted(hold.exempt),
            }
            for hold in activity.holds
        ],
        "sign": activity.sign,
        "cautions": list(activity.cautions),
        "milestone": activity.milestone,
    }


def machines_of(detail: Mapping[str, Any]) -> tuple[Need, ...]:
    """Return the machines a stored activity needs."""
    return tuple(Need(kind, units) for kind, units in detail.get("machines", []))


def holds_of(detail: Mapping[str, Any]) -> tuple[Hold, ...]:
    """Return the holds a stored activity leaves behind."""
    return tuple(
        Hold(
            place=hold["place"],
            minutes=hold["minutes"],
            keeps_out=Tread(hold["keeps_out"]),
            wait=hold["wait"],
            exempt=frozenset(hold["exempt"]),
        )
        for hold in detail.get("holds", [])
    )


def treads_of(detail: Mapping[str, Any]) -> dict[str, Tread]:
    """Return the places a stored activity treads on, and how heavily."""
    return {place: Tread(level) for place, level in detail.get("treads", {}).items()}


def shift_of(detail: Mapping[str, Any]) -> Shift:
    """Return the shift a stored activity stands in."""
    return Shift(detail.get("shift", Shift.DAY))
