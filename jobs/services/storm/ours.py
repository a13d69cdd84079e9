"""Who there is to be out, and what they were told to do: read once for all that is asked after a storm."""

from __future__ import annotations

from typing import NamedTuple

from crews.models import Crew, Machine
from jobs.models import Plan, PlanRow


class Ours(NamedTuple):
    """Active crews with their leads and members, active machines, and the published work of crews in time."""

    crews: tuple[Crew, ...]
    machines: tuple[Machine, ...]
    rows: tuple[PlanRow, ...]


def read_ours() -> Ours:
    """Read them in four queries."""
    crews = Crew.objects.filter(active=True).select_related("lead").prefetch_related("members")
    rows = PlanRow.objects.filter(
        plan__state=Plan.State.PUBLISHED, crew__isnull=False, activity__retired=False
    )
    return Ours(
        tuple(crews),
        tuple(Machine.objects.filter(active=True)),
        tuple(rows.select_related("activity__job").order_by("start", "pk")),
    )
