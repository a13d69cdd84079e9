"""Parts of a split work outlive every expansion and are planned one after the other."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.models import Activity
from jobs.services.by_hand.works import HandWork, add_work, change_work
from jobs.services.files.export_job import export_job
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from tests.hands import SLUG, act, again, only, placed
from tests.office import NOW, published_plan, signed_in

pytestmark = pytest.mark.django_db


class TestSplit:
    """One work in parts, one after the other."""

    @pytest.fixture
    def path(self, job):
        """Laying the path, made longer so that there is something to split."""
        item = job.items.get(assembly="stone-path")
        item.answers = {"area": "1800"}
        item.save()
        again(job)
        return only(job, "dg-path")

    def test_shares_add_up_and_rules_go_through_the_parts(self, job, path):
        """Four days become one and three; what came after comes after the last part."""
        followers = set(path.links_out.values_list("after__template", flat=True))
        assert act(path, does="split", share="25").status_code == 302
        path.refresh_from_db()
        part = path.parts.get()
        assert (path.days, part.days) == (1, 3)
        assert (path.name, part.name) == (
            "Lay crushed-stone path, front path (1 of 2)",
            "Lay crushed-stone path, front path (2 of 2)",
        )
        assert set(part.links_out.values_list("after__template", flat=True)) == followers
        assert list(path.links_out.values_list("after", "rule")) == [(part.pk, "split")]

    def test_parts_outlive_an_expansion_and_follow_the_quantity(self, job, path):
        """Half the area, half of each part; the same rows."""
        act(path, does="split", share="25")
        part = path.parts.get()
        item = job.items.get(assembly="stone-path")
        item.answers = {"area": "900"}
        item.save()
        again(job)
        path.refresh_from_db()
        part.refresh_from_db()
        assert (path.days, part.days, part.retired) == (Decimal("0.5"), Decimal("1.5"), False)

    def test_parts_are_planned_one_after_the_other(self, job, path):
        """By the judge's leave."""
        act(path, does="split", share="50")
        part = path.parts.get()
        at = placed(published_plan())
        assert at[path.pk][1] <= at[part.pk][0]

    def test_a_part_of_a_part_and_back_again(self, job, path):
        """Three parts in order; put together again they are the whole."""
        whole = path.days
        act(path, does="split", share="50")
        act(path, does="split", share="50")
        path.refresh_from_db()
        second, third = sorted(path.parts.all(), key=lambda part: part.detail["part"])
        assert [path.share, second.share, third.share] == [25, 25, 50]
        assert third.name.endswith("(3 of 3)")
        for part in (third, second):
            signed_in().post(reverse("remove-work", args=[SLUG, part.uid]))
        path.refresh_from_db()
        assert (path.share, path.days, path.parts.count()) == (100, whole, 0)
        assert path.name == "Lay crushed-stone path, front path"

    def test_what_is_taken_out_takes_its_parts_along_and_brings_them_back(self, job, path):
        """Planned, so retired; the same two rows when the path comes back."""
        act(path, does="split", share="50")
        published_plan()
        item = job.items.get(assembly="stone-path")
        uid, answers, zone = item.uid, item.answers, item.zone
        item.delete()
        again(job)
        assert set(job.activities.filter(template="dg-path").values_list("retired", flat=True)) == {
            True
        }
        job.items.create(uid=uid, assembly="stone-path", zone=zone, answers=answers)
        again(job)
        rows = job.activities.filter(template="dg-path", retired=False)
        assert sorted(row.share for row in rows) == [50, 50]

    @pytest.mark.parametrize(
        ("template", "told", "words"),
        [
            ("dg-path", {"share": "0"}, "At least 5."),
            ("dg-path", {"share": "100"}, "At most 95."),
            ("dg-path", {"share": "half"}, "whole number"),
            ("locate-notice", {"share": "50"}, "is not done by a crew of ours"),
        ],
    )
    def test_what_cannot_be_split_is_told(self, job, path, template, told, words):
        """With 422, and it stays whole."""
        answer = act(only(job, template), does="split", **told)
        assert (answer.status_code, words in answer.content.decode()) == (422, True)
        assert not Activity.objects.filter(part_of__isnull=False).exists()

    def test_a_part_too_small_is_told(self, job, path):
        """Five percent of five percent is nobody's morning."""
        act(path, does="split", share="5")
        path.refresh_from_db()
        assert "less than a twentieth" in act(path, does="split", share="50").content.decode()


class TestSplitOwn:
    """A work of one's own is split like any other."""

    @pytest.fixture
    def gate(self, job):
        """Four days of hanging a gate."""
        work = HandWork("Hang the gate", job.zones.get(slug="bed"), "labour", Decimal(4), 2)
        return add_work(job, work, Who("test", NOW))

    def test_its_days_are_shared_and_its_parts_follow_each_other(self, job, gate):
        """A quarter first: one day and three; the clean-up waits for the last part."""
        act(gate, does="split", share="25")
        first, rest = job.activities.filter(name__startswith="Hang the gate").order_by(
            "detail__part"
        )
        assert [(row.name, row.days) for row in (first, rest)] == [
            ("Hang the gate (1 of 2)", 1), ("Hang the gate (2 of 2)", 3),
        ]  # fmt: skip
        assert first.uid == gate.uid
        again(job)
        ends = {link.after.template for link in rest.links_out.all()}
        assert "clean-up" in ends
        plan = placed(published_plan())
        assert plan[first.pk][1] <= plan[rest.pk][0]

    def test_a_change_of_the_whole_goes_to_its_parts(self, job, gate):
        """Eight days now, renamed: two and six."""
        act(gate, does="split", share="25")
        gate.refresh_from_db()
        work = HandWork("Build the gate", gate.zone, "labour", Decimal(8), 2)
        change_work(gate, work, Who("test", NOW), revision=gate.revision)
        rows = job.activities.filter(name__startswith="Build the gate").order_by("detail__part")
        assert [row.days for row in rows] == [2, 6]

    def test_put_together_again_it_is_what_it_was(self, job, gate):
        """Name and days, and no part is left."""
        act(gate, does="split", share="25")
        part = job.activities.get(part_of=gate)
        signed_in().post(reverse("remove-work", args=[SLUG, part.uid]))
        gate.refresh_from_db()
        assert (gate.name, gate.days, gate.share) == ("Hang the gate", 4, 100)
        assert job.activities.filter(part_of=gate, retired=False).count() == 0

    def test_taken_out_it_takes_its_parts_along(self, job, gate):
        """Planned or not."""
        act(gate, does="split", share="50")
        published_plan()
        signed_in().post(reverse("remove-work", args=[SLUG, gate.uid]))
        rows = job.activities.filter(name__startswith="Hang the gate")
        assert [row.retired for row in rows] == [True, True]

    def test_out_and_in_again_it_is_the_same(self, job, gate):
        """Through a job file."""
        act(gate, does="split", share="25")
        text = export_job(job)
        before = list(job.activities.values_list("uid", "name", "days", "share").order_by("uid"))
        again_job = load_job(text, by="test", now=NOW)
        after = again_job.activities.values_list("uid", "name", "days", "share").order_by("uid")
        assert list(after) == before
