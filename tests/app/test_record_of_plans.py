"""The record says of a published plan which one it is, when it was made, and whose finish it moved."""

from __future__ import annotations

from datetime import date, timedelta

from django.urls import reverse

from jobs.models import FinishChange, HistoryEntry, Plan
from jobs.services.pages.published import plans_told
from tests.office import NOW, open_office, published_plan, signed_in, small_job


def test_a_published_plan_is_told_in_words(db):
    """The first plan, then a second by which the yard is done two days later."""
    open_office()
    job = small_job()
    published_plan()
    published_plan()
    first, second = Plan.objects.order_by("number")
    FinishChange.objects.update_or_create(
        plan=second, job=job, defaults={"was": date(2026, 6, 24), "becomes": date(2026, 6, 26)}
    )
    entries = list(HistoryEntry.objects.filter(what="plan published").order_by("pk"))
    told = plans_told(entries, NOW.tzinfo)
    made = "made Tue 16 Jun, 6:00 pm"
    assert [told[entry.pk] for entry in entries] == [
        (f"Plan {first.number}, {made}. No finish moved", "Before that: no plan on phones"),
        (
            f"Plan {second.number}, {made}. {job.name} finishes Fri 26 Jun, not Wed 24 Jun",
            f"Before that: plan {first.number}",
        ),
    ]
    client = signed_in()
    for page in (reverse("settings"), reverse("record", args=[job.slug])):
        assert (
            f"{job.name} finishes Fri 26 Jun, not Wed 24 Jun" in client.get(page).content.decode()
        )


def test_other_lines_are_left_as_they_are(db):
    """A plan that is gone is still told by its number; what is no plan is not touched."""
    gone = HistoryEntry.objects.create(at=NOW, by="test", what="plan published", before=1, after=2)
    other = HistoryEntry.objects.create(
        at=NOW + timedelta(hours=1), by="test", what="company changed"
    )
    assert plans_told([gone, other], NOW.tzinfo) == {
        gone.pk: ("Plan 2. No finish moved", "Before that: plan 1")
    }
