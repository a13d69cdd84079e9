"""A job's stored activities and links follow its scope by key; what was done or planned is never lost."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from jobs import models
from jobs.services.scope.takeoff import expand_job, yard_of
from jobs.trade.errors import ScopeError

if TYPE_CHECKING:
    from pytest_django import DjangoAssertNumQueries

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 6, 8, 10, tzinfo=UTC)
LATER = NOW + timedelta(days=1)


def job_with(*items: tuple[str, str, dict[str, object]]) -> models.Job:
    """Return an expanded job with a patio behind a gate of 60 in, and things to build there."""
    job = models.Job.objects.create(
        slug="fern", name="Fern Court", address="3 Fern Court", us_state="NC", starts_on=NOW.date()
    )
    whole = models.Zone.objects.create(job=job, slug="whole-yard", name="Whole yard", whole=True)
    patio = models.Zone.objects.create(job=job, slug="patio", name="Patio", area_ft2=300)
    models.Passage.objects.create(job=job, slug="gate", name="Gate", end=patio, width=60 * 254)
    zones = {"whole": whole, "patio": patio}
    for order, (assembly, zone, answers) in enumerate(items, 1):
        models.ScopeItem.objects.create(
            job=job, assembly=assembly, zone=zones[zone], answers=answers, order=order
        )
    expand_job(job, now=NOW)
    return job


def uids(job: models.Job) -> dict[str, str]:
    """Return the uid of every live activity by template."""
    return dict(job.activities.filter(retired=False).values_list("template", "uid"))


def activity(job: models.Job, template: str) -> models.Activity:
    """Return the one activity of a template."""
    return job.activities.get(template=template)


def plan_with(row: models.Activity) -> None:
    """Put an activity into a plan."""
    plan = models.Plan.objects.create(
        number=1,
        state="published",
        world="x",
        made_at=NOW,
        published_at=NOW,
        status="feasible",
        method="by hand",
        late=0,
        finish_sum=0,
        late_bound=0,
        seconds=0.1,
    )
    models.PlanRow.objects.create(
        plan=plan,
        activity=row,
        start=NOW,
        finish=LATER,
        early_start=NOW,
        late_finish=LATER,
        float_hours=0,
        critical=False,
    )


def test_a_scope_becomes_rows_in_the_order_of_building() -> None:
    """Flagstone on what is there: three works of stone between the first walk and the last."""
    job = job_with(("flagstone", "patio", {}))
    rows = list(job.activities.order_by("order").values_list("template", flat=True))
    stone = [key for key in rows if key in ("dry-fit-stone", "set-stone", "point-joints")]
    assert stone == ["dry-fit-stone", "set-stone", "point-joints"]
    assert (rows[0], rows[-1]) == ("design-sign-off", "check-30-day")


def test_a_row_carries_quantity_days_people_and_detail() -> None:
    """300 ft2 of stone at 40, 60, 80 a day by two people, with the mixer, wet work in its class."""
    row = activity(job_with(("flagstone", "patio", {})), "set-stone")
    assert (row.name, row.quantity, row.unit) == ("Set stone, patio", Decimal("300.000"), "ft2")
    assert (row.days_low, row.days, row.days_high) == (Decimal("3.750"), 5, Decimal("7.500"))
    assert (row.people, row.least, row.skill) == (2, 2, "stone")
    assert row.detail["machines"] == [["mixer", 1]]
    assert row.detail["weather"] == "W5"


def test_links_keep_their_rule_and_their_reason() -> None:
    """Joints wait a day for the bed, by a rule, for a reason, on the wall clock."""
    job = job_with(("flagstone", "patio", {}))
    link = job.links.get(before__template="set-stone", after__template="point-joints")
    assert (link.lag, link.clock, link.wait, link.rule) == (
        24 * 60,
        "elapsed",
        "W-bed",
        "bed-before-joints",
    )
    assert link.why[0] == "library-rule"


def test_expanding_again_changes_nothing() -> None:
    """Same scope, same rows: uids, revisions and link rows stay."""
    job = job_with(("flagstone", "patio", {}))
    before = list(job.activities.values_list("uid", "revision", "modified"))
    links = list(job.links.values_list("pk", flat=True))
    expand_job(job, now=LATER)
    assert list(job.activities.values_list("uid", "revision", "modified")) == before
    assert list(job.links.values_list("pk", flat=True)) == links


def test_editing_there_and_back_keeps_every_uid() -> None:
    """300 ft2, 500, 300 again: the same activities, with the first quantity."""
    job = job_with(("flagstone", "patio", {}))
    first = uids(job)
    item = job.items.get()
    for area in ("500", "300"):
        item.answers = {"area": area}
        item.save()
        expand_job(job, now=LATER)
        assert uids(job) == first
    assert activity(job, "set-stone").quantity == 300


def test_work_nobody_saw_is_deleted_with_its_item() -> None:
    """Never planned, never begun: the stone goes with its item, the walk-through stays."""
    job = job_with(("flagstone", "patio", {}), ("boulders", "patio", {"count": 2}))
    job.items.get(assembly="flagstone").delete()
    expand_job(job, now=LATER)
    left = set(job.activities.values_list("template", flat=True))
    assert {"set-stone", "walk-through", "set-boulders"} & left == {"walk-through", "set-boulders"}


def test_planned_or_begun_work_is_retired_and_comes_back_as_itself() -> None:
    """What stood in a plan or was begun is kept, out of sight, and revived by the same key."""
    job = job_with(("flagstone", "patio", {}))
    planned, begun = activity(job, "set-stone"), activity(job, "dry-fit-stone")
    plan_with(planned)
    models.Activity.objects.filter(pk=begun.pk).update(started_at=NOW, done_share=20)
    item = job.items.get()
    models.ScopeItem.objects.filter(pk=item.pk).delete()
    expand_job(job, now=LATER)
    assert set(job.activities.filter(retired=True)) == {planned, begun}
    item.save(force_insert=True)
    expand_job(job, now=LATER)
    back = activity(job, "dry-fit-stone")
    assert (back.uid, back.retired, back.done_share) == (begun.uid, False, 20)


def test_links_by_hand_are_left_alone() -> None:
    """A hand's link stands, even where a rule would tie the same two."""
    job = job_with(("flagstone", "patio", {}))
    one, two = activity(job, "set-stone"), activity(job, "point-joints")
    job.links.filter(before=one, after=two).delete()
    hand = models.Link.objects.create(job=job, before=one, after=two, lag=2 * 24 * 60)
    expand_job(job, now=LATER)
    assert list(job.links.filter(before=one, after=two)) == [hand]


def test_a_wrong_answer_stores_nothing_and_names_its_item() -> None:
    """Zero square feet: refused, and the rows stay as they were."""
    job = job_with(("flagstone", "patio", {}))
    job.items.update(answers={"area": "0"})
    with pytest.raises(ScopeError) as refused:
        expand_job(job, now=LATER)
    assert refused.value.where == "flagstone in Patio, area"
    assert activity(job, "set-stone").quantity == 300


def test_yes_and_no_of_a_file_are_words() -> None:
    """``hoa = true`` in the yard's table asks for the neighbourhood's approval."""
    job = job_with(("boulders", "patio", {"count": 2}))
    job.options = {"hoa": True}
    job.save()
    assert yard_of(job).options == {"hoa": "yes"}
    expand_job(job, now=LATER)
    assert activity(job, "hoa-approval").name == "Get the neighborhood's approval"


def test_the_job_remembers_the_library_it_was_made_with() -> None:
    """Version of the library, written once."""
    job = job_with(("flagstone", "patio", {}))
    assert models.Job.objects.get(pk=job.pk).library == job.library != ""


@pytest.mark.parametrize("items", [1, 3])
def test_expanding_again_takes_twelve_queries(
    items: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    """However much is built: the turn, savepoint and release, zones, passages, items, machines, three reads, and whether a plan is on phones."""
    job = job_with(*[("boulders", "patio", {"count": 2})] * items)
    with django_assert_num_queries(12):
        expand_job(job, now=LATER)


def test_dates_of_a_job_are_not_touched() -> None:
    """Pins and shares are somebody's own."""
    job = job_with(("flagstone", "patio", {}))
    row = activity(job, "set-stone")
    row.not_before = date(2026, 7, 1)
    row.save()
    job.items.update(answers={"area": "400"})
    expand_job(job, now=LATER)
    assert activity(job, "set-stone").not_before == date(2026, 7, 1)
