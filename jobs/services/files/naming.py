"""How a job file names an activity: by template, by place, and by number where several are alike."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from crews.models import Crew

from .job_file import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs import models

    from .job_file import JobFile, Table


def matching(
    activities: Iterable[models.Activity], template: str, where: str | None
) -> list[models.Activity]:
    """Return the activities of a template (by name for work by hand), in one zone if it is told."""
    return [
        row
        for row in activities
        if template == (row.template or row.name)
        and (
            where is None or (row.zone is not None and row.zone.name.casefold() == where.casefold())
        )
    ]


@dataclass(slots=True)
class Named:
    """Finds the activities that rows of a file name, and keeps what is wrong with them."""

    job: models.Job
    file: JobFile
    faults: list[Fault] = field(default_factory=list)
    activities: list[models.Activity] = field(default_factory=list)

    def read(self) -> None:
        """Read the activities as they stand now."""
        rows = self.job.activities.filter(retired=False)
        self.activities = list(rows.select_related("zone", "done_crew"))

    def fault(self, line: int, key: str, reason: str, remedy: str) -> None:
        """Keep one thing wrong."""
        self.faults.append(Fault(line, key, reason, remedy))

    def crew(self, line: int, key: str, row: Table) -> Crew | None:
        """Return the crew a row names, None where it names none."""
        found: Crew | None = Crew.objects.filter(slug=row.get("crew", "")).first()
        if "crew" in row and found is None:
            known = ", ".join(Crew.objects.values_list("slug", flat=True))
            self.fault(line, key, f"there is no crew {row['crew']!r}", f"crews: {known}")
        return found

    def activity(
        self, line: int, key: str, row: Table, where: str = "where", which: str = "which"
    ) -> models.Activity | None:
        """Return the activity a row names: by template, by place, and by number where some are alike."""
        template = row[key.partition(".")[2]]
        found = matching(self.activities, template, row.get(where))
        number: int | None = row.get(which)
        if number is not None and 1 <= number <= len(found):
            return found[number - 1]
        if len(found) == 1 and number is None:
            return found[0]
        if not found:
            reason, remedy = "no such activity in this job", "look at the job's activities"
        elif number is not None:
            reason, remedy = f"there is no number {number}", f"write 1 to {len(found)}"
        elif row.get(where) is None:
            reason, remedy = "stands in several zones", f"say {where}"
        else:
            reason, remedy = "stands there several times", f"say {which} = 1 to {len(found)}"
        self.fault(line, key, f"{template!r}: {reason}", remedy)
        return None
