"""Stores what a job file tells of work by hand: works of one's own, parts, lifted rules, pins."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from jobs import models
from jobs.models.job import new_uid
from jobs.services.by_hand.split import why_whole
from jobs.services.by_hand.works import OUTSIDE, HandWork, fill
from jobs.services.numbers.library import library_for
from jobs.services.scope.extras import add_extra
from jobs.services.scope.hands import HAND
from jobs.services.scope.releases import HOURS_A_DAY, may_be_released
from jobs.services.scope.takeoff import expand_job
from jobs.trade.releases import LONGEST_HOURS

from .job_file_keys import RELATIONS
from .naming import Named

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from .job_file import Fault, JobFile, Table

ID = re.compile(r"[0-9a-f]{32}")
WHOLE = 100


def load_hands(job: models.Job, file: JobFile, *, by: str, now: datetime) -> list[Fault]:
    """Store what was done by hand in a job that was just expanded; return what is wrong."""
    hands = _Hands(job, file)
    hands.read()
    hands.works()
    hands.read()
    hands.splits()
    hands.extras()
    if any(file.rows(table) for table in ("work", "split", "extra")):
        expand_job(job, now=now)
        hands.read()
    waiting = list(hands.named_lifts())
    while waiting:
        left = [one for one in waiting if not hands.lift(*one)]
        if len(left) == len(waiting):
            hands.unknown_lifts(left)
            break
        expand_job(job, now=now)
        waiting = left
    hands.read()
    hands.pins()
    hands.releases(by)
    return hands.faults


@dataclass(slots=True)
class _Hands(Named):
    """One kind of table a method, faults gathered on the way."""

    def works(self) -> None:
        """Works of one's own."""
        zones = {zone.name.casefold(): zone for zone in self.job.zones.all()}
        crews = library_for(self.job).crews.values()
        skills = sorted({crew.skill for crew in crews if not crew.outside} | {OUTSIDE})
        last = max((row.order for row in self.activities), default=0)
        for number, (line, row) in enumerate(self.file.rows("work"), 1):
            if row["skill"] not in skills:
                told = f"use one of {', '.join(skills)}"
                self.fault(line, "work.skill", f"{row['skill']!r} is unknown", told)
                continue
            if not row["days"]:
                self.fault(line, "work.days", "takes no time", "give a quarter of a day or more")
                continue
            uid, zone = self._id(row.get("id")), zones[row["where"].casefold()]
            made = models.Activity(job=self.job, uid=uid, key=f"{HAND}{uid}", template="", order=0)
            made.order = last + number
            days = Decimal(str(row["days"]))
            fill(made, HandWork(row["name"], zone, row["skill"], days, row["people"]))
            made.save()

    def splits(self) -> None:
        """Parts of works."""
        for line, row in self.file.rows("split"):
            root = self.activity(line, "split.activity", row)
            if root is None:
                continue
            shares, ids = row["shares"], row.get("ids", [])
            if not _shares_ok(shares):
                told = "write whole percentages that make 100, like [60, 40]"
                self.fault(line, "split.shares", f"{shares} do not add up", told)
            elif why_whole(root):
                self.fault(line, "split.activity", why_whole(root), "leave it whole")
            else:
                _split(root, shares, [self._id(told) for told in ids])

    def extras(self) -> None:
        """Works done again, and more days of works."""
        for line, row in self.file.rows("extra"):
            root = self.activity(line, "extra.activity", row)
            what, days = row["what"], row.get("days")
            if root is None:
                continue
            if what not in models.Activity.Extra.values:
                told = f"use one of {', '.join(models.Activity.Extra.values)}"
                self.fault(line, "extra.what", f"{what!r} is unknown", told)
            elif what == models.Activity.Extra.MORE and not days:
                told = "say how many days more it takes"
                self.fault(line, "extra.days", "there are no days", told)
            else:
                uid = self._id(row.get("id"))
                add_extra(root, what, days=days, share=row.get("share", WHOLE), uid=uid)

    def named_lifts(self) -> Iterable[tuple[int, models.Activity, models.Activity, Table]]:
        """Rules that do not hold here, with the works they tie."""
        for line, row in self.file.rows("lift"):
            after = self.activity(line, "lift.activity", row)
            before = self.activity(line, "lift.after", row, "after_where", "after_which")
            if after is not None and before is not None:
                yield line, before, after, row

    def lift(self, line: int, before: models.Activity, after: models.Activity, row: Table) -> bool:
        """Lift a rule; False if none ties these works."""
        del line
        relation = row.get("relation", RELATIONS[0])
        found = self.job.links.filter(before=before, after=after, relation=relation).exclude(
            rule=""
        )
        by = row.get("by", "")
        return bool(found.update(lifted=True, reason=row["reason"], by=by))

    def unknown_lifts(
        self, left: Iterable[tuple[int, models.Activity, models.Activity, Table]]
    ) -> None:
        """Tell which rules are not there to be lifted."""
        for line, before, after, _ in left:
            reason = f"no rule ties {after.name} to {before.name}"
            self.fault(line, "lift.after", reason, "take the table out")

    def pins(self) -> None:
        """Days and crews fixed by hand."""
        for line, row in self.file.rows("pin"):
            found, crew = self.activity(line, "pin.activity", row), self.crew(line, "pin.crew", row)
            first, last = row.get("not_before"), row.get("not_after")
            if first and last and last < first:
                self.fault(
                    line, "pin.not_after", "lies before its not_before", "swap the two dates"
                )
            elif found is not None:
                found.not_before, found.not_after, found.only_crew = first, last, crew
                found.hired = row.get("hired", False)
                found.save()

    def releases(self, by: str) -> None:
        """What an engineer allows on a pour sooner than is published."""
        for line, row in self.file.rows("release"):
            found = self.activity(line, "release.activity", row)
            hours = _hours(row["after"])
            if found is not None and not may_be_released(found):
                told = "name a pour: mortar, grout and stone wait as published"
                self.fault(line, "release.activity", f"{found.name} is no pour of concrete", told)
            elif row["allows"] not in models.Release.Allows.values:
                told = f"use one of {', '.join(models.Release.Allows.values)}"
                self.fault(line, "release.allows", f"{row['allows']!r} is unknown", told)
            elif hours is None:
                told = "write { hours = 18 } or { days = 4 }, 28 days at the most"
                self.fault(line, "release.after", f"{row['after']} is no time for it", told)
            elif found is not None:
                models.Release.objects.update_or_create(
                    activity=found,
                    allows=row["allows"],
                    defaults={
                        "hours": hours,
                        "engineer": row["engineer"],
                        "licence": row["licence"],
                        "signed_on": row["signed"],
                        "note": row.get("note", ""),
                        "by": row.get("by", by),
                    },
                )

    def _id(self, told: object) -> str:
        """The id a file gives, a fresh one where it gives none or another work has it."""
        good = isinstance(told, str) and ID.fullmatch(told)
        taken = models.Activity.objects.filter(uid=told).exists() if good else True
        return new_uid() if taken else str(told)


def _hours(told: Mapping[str, object]) -> int | None:
    """Whole hours of ``{ hours = 18 }`` or ``{ days = 4 }``, None if it is neither or too many."""
    if len(told) != 1:
        return None
    unit, amount = next(iter(told.items()))
    if unit not in ("hours", "days") or isinstance(amount, bool) or not isinstance(amount, int):
        return None
    hours = amount * (HOURS_A_DAY if unit == "days" else 1)
    return hours if 1 <= hours <= LONGEST_HOURS else None


def _shares_ok(shares: list[object]) -> bool:
    whole = [share for share in shares if isinstance(share, int) and share >= 1]
    return len(whole) == len(shares) > 1 and sum(whole) == WHOLE


def _split(root: models.Activity, shares: list[int], ids: list[str]) -> None:
    root.share = shares[0]
    root.save()
    for number, share in enumerate(shares[1:], 2):
        uid = ids[number - 2] if len(ids) >= number - 1 else new_uid()
        part = models.Activity.objects.get(pk=root.pk)
        part.pk, part.uid, part.key = None, uid, f"{HAND}{uid}"
        part._state.adding = True
        part.part_of, part.share, part.revision = root, share, 1
        part.detail = root.detail | {"part": number}
        part.save()
