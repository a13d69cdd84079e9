"""Reads a portfolio of remodels to schedule from a JSON file, and writes the schedule back in its words.

The format is documented in DEVELOPERS.md: slots a day and their hours, crews with their weeks and days off,
resources with a capacity, jobs, activities with their able crews, relations with elapsed waits. Its
passages are held from start to end like machines, and its crews may change yards at any slot.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.scheduling.rings import check_rings
from jobs.scheduling.slots import Position, SlotAxis, make_axis
from jobs.scheduling.world import Crew, Job, Machine, Pin, Tie, Work, World
from jobs.trade.work import Lag, Relation, Shift

from .portfolio_shape import MILLION, read_table

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from jobs.scheduling.result import Result

    from .portfolio_shape import PortfolioText

MINUTES = 60
ZONE = "UTC"
RELATIONS = {
    "FS": Relation.FINISH_START,
    "SS": Relation.START_START,
    "FF": Relation.FINISH_FINISH,
    "SF": Relation.START_FINISH,
}
"""The file's own two letters: the first for the forerunner's event, the second for the follower's."""


@dataclass(frozen=True, slots=True)
class Portfolio:
    """A file read: its world, and the price of a weighted day late in its objective."""

    world: World
    price: int

    def schedule(self, result: Result) -> dict[str, Any]:
        """Return a result in the file's words; its ends are the slot after the last one worked."""
        placed = result.plan.placements
        jobs = len({work.job for work in self.world.works.values()})
        score, bound = result.score, result.bound
        return {
            "starts": {name: at.start for name, at in placed.items()},
            "crew": {name: at.crew for name, at in placed.items()},
            "objective": self.price * score.late + score.finish + jobs,
            "bound": self.price * bound.late + bound.finish + jobs,
            "status": result.status.value,
        }


def read_portfolio(path: Path) -> Portfolio:
    """Read a file.

    Raises
    ------
    FileFaultError
        With the line and what was expected there.
    """
    return _Reader(read_table(path)).read()


class _Reader:
    def __init__(self, told: PortfolioText) -> None:
        self.table, self.fault = told.table, told.fault
        self.per_day, self.days = self.table["slots_per_day"], self.table["horizon_days"]

    def read(self) -> Portfolio:
        table = self.table
        axis = self._axis()
        common = self._off(table["days_off"])
        crews = {row["id"]: self._crew(row, common) for row in table["crews"]}
        try:
            world = World(
                axes={ZONE: axis},
                now=0,
                crews=crews,
                machines={row["id"]: self._machine(row) for row in table["resources"]},
                places={},
                jobs={row["id"]: self._job(row, len(crews)) for row in table["jobs"]},
                works={row["id"]: self._work(row) for row in table["activities"]},
                ties=tuple(self._tie(row) for row in table["relations"]),
            )
        except SchedulingError as error:
            raise self.fault("names that the file knows", error.reason, *error.culprits) from error
        try:
            check_rings(world)
        except NoPlan as error:
            expected = "relations that do not run in a ring"
            raise self.fault(expected, error.reason, "relations", *error.culprits) from error
        return Portfolio(world, table["tardiness_weight"])

    def _axis(self) -> SlotAxis:
        hours, length = self.table["slot_start_hours"], self.table["slot_hours"]
        if len(hours) != self.per_day:
            raise self.fault(f"{self.per_day} slot_start_hours", len(hours), "slot_start_hours")
        good = all(type(hour) in (int, float) and 0 <= hour <= 24 - length for hour in hours)
        if not good:
            expected = f"slot_start_hours from 0 to {24 - length:g}"
            raise self.fault(expected, json.dumps(hours), "slot_start_hours")
        try:
            first = date.fromisoformat(self.table["start_date"])
            positions = tuple(
                Position(Shift.DAY, _time(hour), _time(hour + length), half)
                for half, hour in enumerate(hours)
            )
            return make_axis(first, self.days, ZoneInfo(ZONE), positions=positions)
        except (ValueError, OverflowError, SchedulingError) as error:
            raise self.fault(
                "an ISO start_date and slots that follow each other", error, "start_date"
            ) from error

    def _off(self, days: Iterable[int]) -> int:
        """Bitmap of all slots but those of some days."""
        bits: int = (1 << (self.days * self.per_day)) - 1
        whole = (1 << self.per_day) - 1
        for day in days:
            if isinstance(day, bool) or not isinstance(day, int) or day < 0:
                raise self.fault("days_off as numbers of days", json.dumps(day), "days_off")
            if day < self.days:
                bits &= ~(whole << (day * self.per_day))
        return bits

    def _crew(self, row: dict[str, Any], common: int) -> Crew:
        week, bits = row["week"], 0
        if len(week) != 7 or not all(isinstance(day, list) for day in week):  # noqa: PLR2004 (days of a week)
            raise self.fault(
                "week as seven lists of positions", json.dumps(week), "crews", row["id"]
            )
        monday = date.fromisoformat(self.table["start_date"]).weekday()
        for day in range(self.days):
            for position in week[(monday + day) % 7]:
                if isinstance(position, bool) or position not in range(self.per_day):
                    raise self.fault("positions of the day", position, "crews", row["id"])
                bits |= 1 << (day * self.per_day + position)
        return Crew(row["id"], row["id"], bits & common & self._off(row["days_off"]))

    def _machine(self, row: dict[str, Any]) -> Machine:
        opened = self._off(row["days_off"])
        return Machine(row["id"], row["id"], (opened,) * row["capacity"])

    def _job(self, row: dict[str, Any], crews: int) -> Job:
        return Job(
            row["id"],
            row["id"],
            release=row["release_day"] * self.per_day,
            open=self._off(row["days_off"]),
            promise=(row["promise_day"] + 1) * self.per_day - 1,
            weight=row["weight"],
            crews=crews,
            zone=ZONE,
        )

    def _work(self, row: dict[str, Any]) -> Work:
        counts = [*row["crews"].values(), *row["resources"].values()]
        if not row["crews"] or any(type(n) is not int or not 1 <= n <= MILLION for n in counts):
            found = json.dumps({"crews": row["crews"], "resources": row["resources"]})
            expected = f"a crew, and whole numbers from 1 to {MILLION:,}"
            raise self.fault(expected, found, "activities", row["id"])
        return Work(
            row["id"],
            row["job"],
            row["name"],
            crews=row["crews"],
            slots=min(row["crews"].values()),
            machines=row["resources"],
            one_go=row["one_go"],
            pin=Pin(not_before=row["not_before_day"] * self.per_day),
        )

    def _tie(self, row: dict[str, Any]) -> Tie:
        if row["type"] not in RELATIONS:
            expected = f"type to be one of {', '.join(RELATIONS)}"
            raise self.fault(expected, row["type"], "relations", row["from"], row["to"])
        lag = Lag(round(row["wait_hours"] * MINUTES))
        return Tie(row["from"], row["to"], RELATIONS[row["type"]], lag)


def _time(hour: float) -> time:
    whole = timedelta(hours=hour)
    return time(whole.seconds // 3600, whole.seconds // MINUTES % MINUTES)
