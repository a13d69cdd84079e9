"""Parts that come on top of a work: the work done again after it failed, or more days of it.

The work itself stays what it was, in the log and in the calendars: an extra part is planned beside it, and
whatever waited for the work waits for the part.
"""

from __future__ import annotations

from decimal import Decimal

from jobs import models
from jobs.models.job import new_uid

from .hands import AGAIN, HAND, MORE, SCALED, THOUSANDTH, copy_of, is_by_hand, parts_by_root

SAME = (
    "job", "name", "template", "zone", "skill", "unit", "quantity", "days_low", "days", "days_high",
    "people", "least", "material", "detail", "order",
)  # fmt: skip


def again(work: models.Activity, share: int = 100) -> models.Activity:
    """Return a work done again, saved: ``share`` percent of it. The job is to be expanded after it."""
    return add_extra(work, AGAIN, share=share)


def more(work: models.Activity, days: Decimal) -> models.Activity:
    """Return more days of a work, saved. The job is to be expanded after it."""
    return add_extra(work, MORE, days=days)


def failed(work: models.Activity) -> bool:
    """Return True if all of a work is done again: what came of it the first time counts for nothing."""
    return work.parts.filter(extra=AGAIN, share=100, retired=False).exists()


def add_extra(
    work: models.Activity,
    extra: str,
    *,
    share: int = 100,
    days: float | Decimal | None = None,
    uid: str = "",
) -> models.Activity:
    """Return an extra part of a work, saved; followers tied by hand are tied to it too.

    The crew that a work was fixed for does this as well, as long as it can; days fixed by hand were for the first time.

    Parameters
    ----------
    share, days
        Percent of the whole, or crew days if they are given.
    uid
        Its identity; empty for a fresh one.
    """
    root = work.part_of or work
    own_days = None if days is None else Decimal(str(days))
    part = models.Activity(extra=extra, share=share, own_days=own_days, uid=uid or new_uid())
    for name in SAME:
        setattr(part, name, getattr(root, name))
    part.key, part.part_of = f"{HAND}{part.uid}", root
    place = len(parts_by_root(root.parts.all()).get(root.pk, ())) + 2
    part.detail = root.detail | {"part": place}
    part.only_crew = work.only_crew if _is_able(work) else None
    part.hired = work.hired
    if is_by_hand(root):
        _of_ones_own(root, part)
    part.save()
    for link in root.links_out.filter(rule="", lifted=False, after__started_at=None):
        copy_of(link, before=part).save()
    return part


def _is_able(work: models.Activity) -> bool:
    """Return True if the crew a work was fixed for is still there and has the skill."""
    crew = work.only_crew
    return crew is not None and crew.active and crew.skills.filter(skill=work.skill).exists()


def _of_ones_own(root: models.Activity, part: models.Activity) -> None:
    """A work no template gives has nobody else to tell its part how long it takes."""
    for name in SCALED:
        days = part.own_days or getattr(root, name) * part.share / 100
        setattr(part, name, max(THOUSANDTH, days))
    word = "again" if part.extra == AGAIN else "more of it"
    part.name = f"{root.name[:95]}, {word}"
