"""Reads what was said of the finish: where odds come from, what eats the days, and how true they were."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.drawing.marks import OddsLine, StageLine
from jobs.services.sky.outlook_record import read_record
from jobs.services.telling.speech import counted, say_day
from jobs.trade.stages import CONCRETE, FINISH, GROUNDWORK

from .frame import local

if TYPE_CHECKING:
    from jobs import models
    from jobs.services.sky.outlook_record import SaidAndDone

MOST_EATERS = 3
LEAST_DAYS = 0.5


class SaidRow(NamedTuple):
    """One outlook of a job that is done."""

    job: str
    slug: str
    said: str
    likely: str
    safe: str
    done: str
    kept: str


@dataclass(frozen=True, slots=True)
class OddsPage:
    """Everything we said of jobs that are done, and the share that came true."""

    rows: tuple[SaidRow, ...]
    jobs: int
    shares: tuple[int, int, int] | None


def read_odds() -> OddsPage:
    """Read the record, in a bounded number of queries."""
    record = read_record()
    return OddsPage(
        tuple(_row(row) for row in record.rows),
        record.jobs,
        _percent(*record.shares) if record.shares else None,
    )


def _percent(p50: float, p80: float, p90: float) -> tuple[int, int, int]:
    return round(p50 * 100), round(p80 * 100), round(p90 * 100)


def _row(row: SaidAndDone) -> SaidRow:
    said, job = row.outlook, row.outlook.job
    return SaidRow(
        job=job.name,
        slug=job.slug,
        said=say_day(local(said.said_at, job)),
        likely=say_day(local(said.p50, job)),
        safe=say_day(local(said.p80, job)),
        done=say_day(local(row.done, job)),
        kept="by the safe day" if row.kept[1] else "later than the safe day",
    )


def eaters_of(said: models.Outlook | None) -> tuple[str, ...]:
    """Return the works that eat most of the buffer, with the days they eat on average."""
    rows = said.risks if said else []
    return tuple(
        f"{row['name']} {row['days']:.1f} days"
        for row in rows[:MOST_EATERS]
        if row["days"] >= LEAST_DAYS
    )


WORDS = {GROUNDWORK: "After groundwork", CONCRETE: "After concrete", FINISH: "At the end"}


def odds_line(
    said: models.Outlook | None, first: models.Outlook | None, job: models.Job
) -> OddsLine | None:
    """Return what the sheet is told of the odds: of the finish, and the buffer after each stage.

    A stage that is over has none; a buffer that shrank since it was first said tells so.
    """
    if said is None:
        return None
    was = {row["stage"]: row.get("whole", 0.0) for row in (first.buffers if first else [])}
    stages = tuple(
        _stage(row, was.get(row["stage"], row["whole"]), job)
        for row in said.buffers
        if row.get("whole", 0.0) >= LEAST_DAYS
    )
    return OddsLine(local(said.p50, job), local(said.p80, job), stages)


def _stage(row: dict[str, Any], was: float, job: models.Job) -> StageLine:
    planned, likely, safe = (
        local(datetime.fromisoformat(row[key]), job) for key in ("until", "p50", "p80")
    )
    return StageLine(WORDS[row["stage"]], planned, likely, safe, _stage_words(row, was))


def _stage_words(row: dict[str, Any], was: float) -> str:
    """``6.5 days, 8.0 when first said; the risk: pour footings, patio, 3.1 of them``."""
    told = f"{row['whole']:.1f} days"
    if was - row["whole"] >= LEAST_DAYS:
        told += f", {was:.1f} when first said"
    worst = next((risk for risk in row["risks"] if risk["days"] >= LEAST_DAYS), None)
    if worst is None:
        return told
    share = min(worst["days"], row["whole"])
    name = f"{worst['name'][:1].lower()}{worst['name'][1:]}"
    return f"{told}; the risk: {name}, {share:.1f} of them"


PARTS = {
    "pace": "slower work {:.1f}",
    "waits": "longer waits {:.1f}",
    "weather": "rain, wind and wet ground {:.1f}",
}
OTHERS = "crews and machines held up at other yards {:.1f}"


def delay_of(said: models.Outlook | None) -> str:
    """Return what moves the finish from the planned day to even odds; empty if it hardly moves.

    ``12.0 days lie between the planned finish and even odds, closed days included: slower work 4.7, ...``
    """
    delay = said.basis.get("delay") if said else None
    if not delay or sum(delay.values()) < LEAST_DAYS:
        return ""
    at = said.basis.get("held_at") if said else ""
    words = PARTS | {"others": f"{OTHERS}, most of it at {at}" if at else OTHERS}
    tenths = _tenths(delay)
    parts = [
        words[key].format(tenths[key]) for key, days in delay.items() if abs(days) >= LEAST_DAYS
    ]
    whole = f"{sum(delay.values()):.1f} days"
    return f"{whole} lie between the planned finish and even odds, closed days included: {'; '.join(parts)}."


def _tenths(delay: dict[str, float]) -> dict[str, float]:
    """Round to tenths so that the parts add up to their rounded sum, as a reader will check."""
    floors = {key: floor(10 * days) for key, days in delay.items()}
    short = round(10 * sum(delay.values())) - sum(floors.values())
    by_rest = sorted(delay, key=lambda key: floors[key] - 10 * delay[key])
    return {key: (floors[key] + (key in by_rest[:short])) / 10 for key in delay}


def kept_of(said: models.Outlook | None) -> str:
    """Return how often the promise is kept, in words; empty where nothing was promised or said."""
    if said is None or said.promise_odds is None:
        return ""
    tenths = int(said.promise_odds * 10)
    if tenths >= 10:  # noqa: PLR2004 (ten of ten)
        return "in nearly every future"
    return f"in {tenths} of 10 futures" if tenths else "in less than 1 of 10 futures"


def basis_of(said: models.Outlook | None) -> str:
    """Return in words what the odds of a job were made from."""
    if said is None:
        return ""
    made = f"{said.runs:,} futures of this plan, each with its own weather, drying ground and pace"
    place = said.basis.get("place")
    if not place:
        return f"{made}. No climate is known for this yard: only the pace varies."
    km = said.basis["km"]
    sky = f"climate of {place}" + (f", {km} km away" if km else "")
    if days := said.basis.get("forecast_days"):
        sky = f"the forecast for {counted(days, 'day')}, then the {sky}"
    far = " That is far: the odds are widened." if said.basis.get("far") else ""
    return f"{made}; {sky}.{far}"
