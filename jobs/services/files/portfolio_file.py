"""Reads a portfolio of remodels to schedule from a JSON file, and writes the schedule back in its words.

The format is documented in DEVELOPERS.md: slots a day and their hours, crews with their weeks and days off,
resources with a capacity, jobs, activities with their able crews, relations with elapsed waits. Its
passages are held from start to end like machines, and its crews may change yards at any slot.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.scheduling.rings import check_rings
from jobs.scheduling.slots import Position, SlotAxis, make_axis
from jobs.scheduling.world import Crew, Job, Machine, Pin, Tie, Work, World
from jobs.trade.work import Lag, Relation, Shift

from .file_fault import FileFaultError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from jobs.scheduling.result import Result

MINUTES = 60
ZONE = "UTC"
RELATIONS = {
    "FS": Relation.FINISH_START,
    "SS": Relation.START_START,
    "FF": Relation.FINISH_FINISH,
    "SF": Relation.START_FINISH,
}
"""The file's own two letters: the first for the forerunner's event, the second for the follower's."""
SHAPES: dict[str, dict[str, type | tuple[type, ...]]] = {
    "": {
        "start_date": str,
        "slots_per_day": int,
        "slot_start_hours": list,
        "slot_hours": (int, float),
        "horizon_days": int,
        "tardiness_weight": int,
        "days_off": list,
        "crews": list,
        "resources": list,
        "jobs": list,
        "activities": list,
        "relations": list,
    },
    "crews": {"id": str, "week": list, "days_off": list},
    "resources": {"id": str, "capacity": int, "days_off": list},
    "jobs": {
        "id": str,
        "release_day": int,
        "promise_day": int,
        "weight": int,
        "days_off": list,
    },
    "activities": {
        "id": str,
        "job": str,
        "name": str,
        "crews": dict,
        "resources": dict,
        "one_go": bool,
        "not_before_day": int,
    },
    "relations": {"from": str, "to": str, "type": str, "wait_hours": (int, float)},
}
"""What every table must have, and of which type."""
MILLION = 1_000_000
RANGES: dict[str, tuple[float, float]] = {
    "slots_per_day": (1, 24),
    "slot_hours": (0.01, 24),
    "horizon_days": (1, 3660),
    "tardiness_weight": (0, MILLION),
    "capacity": (1, 1000),
    "release_day": (0, MILLION),
    "promise_day": (0, MILLION),
    "weight": (0, MILLION),
    "not_before_day": (0, MILLION),
    "wait_hours": (-MILLION, MILLION),
}
"""Least and most that a number may be."""
NAMES: dict[type | tuple[type, ...], str] = {
    str: "a text",
    int: "a whole number",
    list: "a list",
    dict: "a table",
    bool: "true or false",
    (int, float): "a number",
}


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
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileFaultError(path, 0, "a text file that can be read", str(error)) from error
    try:
        table = json.loads(text)
    except json.JSONDecodeError as error:
        line = text.splitlines()[error.lineno - 1 : error.lineno]
        found = " ".join(line).strip() or "the end of the file"
        raise FileFaultError(path, error.lineno, f"JSON ({error.msg})", found) from error
    return _Reader(path, text, table).read()


class _Reader:
    def __init__(self, path: Path, text: str, table: Any) -> None:
        self.path, self.lines, self.table = path, text.splitlines(), table

    def fault(self, expected: str, found: object, *near: str) -> FileFaultError:
        """A fault on the first line that names everything that is near it, one after the other."""
        line = 0 if near else 1
        for name in near:
            quoted = json.dumps(name)
            later = (n for n in range(max(line - 1, 0), len(self.lines)) if quoted in self.lines[n])
            line = next(later, line - 1) + 1
        return FileFaultError(self.path, line, expected, str(found))

    def read(self) -> Portfolio:
        self._shapes()
        table = self.table
        per_day = table["slots_per_day"]
        axis = self._axis(per_day)
        self.per_day, self.days = per_day, table["horizon_days"]
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

    def _shapes(self) -> None:
        """Every table has what it must have."""
        if not isinstance(self.table, dict):
            raise self.fault("a table with crews, resources, jobs, activities", type(self.table))
        self._shape(self.table, SHAPES[""], ())
        for part, shape in SHAPES.items():
            for n, row in enumerate(self.table[part] if part else ()):
                if not isinstance(row, dict):
                    raise self.fault(f"a table in {part}", row, part)
                near = row.get("id") if isinstance(row.get("id"), str) else None
                self._shape(row, shape, (part, near) if near else (part,), f"{part}[{n}].")
            self._once(part)

    def _once(self, part: str) -> None:
        """Nothing has the name of something else of its kind."""
        if "id" not in SHAPES[part]:
            return
        twice = [name for name, n in Counter(it["id"] for it in self.table[part]).items() if n > 1]
        if twice:
            raise self.fault(f"each id of {part} once", twice[0], part, twice[0], twice[0])

    def _shape(
        self,
        row: dict[str, Any],
        shape: dict[str, type | tuple[type, ...]],
        near: tuple[str, ...],
        where: str = "",
    ) -> None:
        for key, kind in shape.items():
            if key not in row:
                raise self.fault(f"{where}{key}", "nothing", *near)
            value = row[key]
            if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
                raise self.fault(f"{where}{key} to be {NAMES[kind]}", json.dumps(value), *near, key)
            least, most = RANGES.get(key, (0, 0))
            if key in RANGES and not (isinstance(value, int | float) and least <= value <= most):
                expected = f"{where}{key} from {least:,} to {most:,}"
                raise self.fault(expected, json.dumps(value), *near, key)

    def _axis(self, per_day: int) -> SlotAxis:
        hours, length = self.table["slot_start_hours"], self.table["slot_hours"]
        if len(hours) != per_day:
            raise self.fault(f"{per_day} slot_start_hours", len(hours), "slot_start_hours")
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
            return make_axis(first, self.table["horizon_days"], ZoneInfo(ZONE), positions=positions)
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
