"""Try the odds on daily weather records."""

from __future__ import annotations

import json
from pathlib import Path
from statistics import mean
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.services.sky.backtest import SHARES, backtest, load_record
from jobs.services.sky.climate import climates, near_of, rain_at
from jobs.weather.climate import by_name
from jobs.weather.errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Sequence


class Command(BaseCommand):
    """``backtest FILE.csv ... [--place NAME] [--json]``."""

    help = "Coverage of P50, P80 and P90 on daily weather records (date, precip_mm)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", type=Path, metavar="FILE.csv")
        parser.add_argument(
            "--place",
            default="",
            help="take the monthly figures of this place's climate, not the record's own months",
        )
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, files: list[Path], place: str, json: bool, **options: Any) -> None:
        rows: list[dict[str, Any]] = []
        try:
            rain = rain_at(near_of(by_name(climates(), place))) if place else None
            for path in files:
                record = load_record(path)
                for remark in record.remarks:
                    self.stderr.write(f"{path.name}: {remark}")
                rows += backtest(path.name, record, rain)
        except WeatherError as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(_json(rows) if json else _text(rows))


def _json(rows: Sequence[dict[str, Any]]) -> str:
    return json.dumps(rows)


def _text(rows: Sequence[dict[str, Any]]) -> str:
    """One line per record, then the mean over records if there are several."""
    lines = [
        "record                    job dry model       n   P50 seen/due  P80 seen/due  P90 seen/due   crps"
    ]
    lines += [_line(row) for row in rows]
    keys = sorted({(row["job"], row["dryout"], row["model"]) for row in rows})
    groups = [[r for r in rows if (r["job"], r["dryout"], r["model"]) == key] for key in keys]
    lines += [_line(_mean(group)) for group in groups if len(group) > 1]
    return "\n".join(lines)


def _mean(group: Sequence[dict[str, Any]]) -> dict[str, Any]:
    each = range(len(SHARES))
    return {
        **group[0],
        "record": f"mean of {len(group)} records",
        "n": sum(row["n"] for row in group),
        "obs": [mean(row["obs"][i] for row in group) for i in each],
        "exp": [mean(row["exp"][i] for row in group) for i in each],
        "crps": mean(row["crps"] for row in group),
    }


def _line(row: dict[str, Any]) -> str:
    pairs = "".join(f"   {o:.3f}/{e:.3f}" for o, e in zip(row["obs"], row["exp"], strict=True))
    return (
        f"{row['record'][:25]:25s} {row['job']:3d}  {row['dryout']}  {row['model']:8s}"
        f"{row['n']:5d}{pairs} {row['crps']:7.3f}"
    )
