"""The invented forecast of the demo: eight days of June with a storm in them, for every demo yard."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from jobs import models

from .forecast import keep_answer

if TYPE_CHECKING:
    from datetime import datetime

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "demo"


def keep_demo_forecast(now: datetime) -> int:
    """Keep the invented forecast for each demo yard with a position; return how many there are.

    Nothing is asked of any service: a pretended day has none.
    """
    body = (FOLDER / "forecast.json").read_text("utf-8")
    alerts = (FOLDER / "alerts.json").read_text("utf-8")
    yards = models.Job.objects.filter(demo=True, latitude__isnull=False, longitude__isnull=False)
    for job in yards:
        keep_answer(job, body, now, alerts=alerts)
    return len(yards)
