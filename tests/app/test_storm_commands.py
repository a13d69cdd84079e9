"""``lose_days`` and ``undo`` do what the page does, by the same services."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from jobs.models import Activity, Job, LostTime, Plan, Term
from jobs.scheduling.storm.ways_out import Way
from tests.office import published_yard
from tests.storms import first_day

pytestmark = pytest.mark.django_db
YARD = "3-finch-street"


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first work with a crew is the day that gets rained out."""
    return published_yard()


class TestCommands:
    """``lose_days`` and ``undo``."""

    def test_lose_days_prints_the_ways_and_accepts_one(self, job):
        """JSON with the same six lines for each."""
        told = StringIO()
        first = first_day().isoformat()
        call_command(
            "lose_days",
            "--from",
            first,
            "--days",
            "2",
            "--accept",
            "steady",
            "--limit",
            "0.05",
            "--json",
            stdout=told,
        )
        found = json.loads(told.getvalue())
        assert {way["way"] for way in found["alternatives"]} == set(Way)
        six = {
            "finishes",
            "promises_at_risk",
            "crew_days_changed",
            "saturdays",
            "rentals_extended",
            "money",
        }
        for way in found["alternatives"]:
            assert six <= set(way) or way["same_as"] == "steady"
        assert (found["accepted"], found["plan"]) == ("steady", 2)
        assert found["lost"][0]["from"] == first
        call_command("undo", stdout=told)
        assert "plan 1 again, published as plan 3" in told.getvalue()

    def test_no_overtime_that_is_a_twin_accepts_steady(self, job):
        """No crew works weekends; the text says so."""
        told = StringIO()
        args = ("--from", first_day().isoformat(), "--accept", "no-overtime", "--limit", "0.05")
        call_command("lose_days", *args, stdout=told)
        assert "no-overtime: the same as steady" in told.getvalue()
        assert Plan.objects.get(state="published").method == "steady"

    @pytest.mark.parametrize(
        "args",
        [
            ("--from", "yesterday"),
            ("--from", "2026-13-01"),
            ("--from", "2020-06-22"),
            ("--from", "2030-06-22"),
            ("--from", "9999-12-31", "--days", "2"),
            ("--from", "2026-06-22", "--days", "99999999999"),
            ("--from", "2026-06-22", "--rain", "-1"),
            ("--from", "2026-06-22", "--rain", "nan"),
            ("--from", "2026-06-22", "--days", "0"),
            ("--from", "2026-06-22", "--job", "nowhere"),
            ("--from", "2026-06-22", "--from-slot", "9"),
            ("--from", "2026-06-22", "--rain", "much"),
            ("--from", "2026-06-22", "--keep-yard", "nowhere"),
            ("--from", "2026-06-22", "--keep-days", YARD, "sing"),
            ("--from", "2026-06-22", "--keep-crew", YARD, "shrub"),
            ("--from", "2026-06-22", "--not-crew", YARD, "dg-path", "moon-crew"),
            ("--from", "2026-06-22", "--not-before", YARD, "dg-path", "soon"),
        ],
    )
    def test_nonsense_ends_with_two(self, job, args):
        """One line, no trace, nothing written."""
        with pytest.raises(CommandError) as error:
            call_command("lose_days", *args)
        assert error.value.returncode == 2
        assert (LostTime.objects.count(), Term.objects.count()) == (0, 0)

    def test_what_must_hold_is_said_and_told(self, job):
        """A yard's shrubs wait for 3 August, whichever way is found; the terms stand in the answer."""
        told = StringIO()
        call_command(
            "lose_days", "--from", first_day().isoformat(), "--limit", "0.05", "--json",
            "--not-before", YARD, "plant-shrubs", "2026-08-03", "--no-weekends", stdout=told,
        )  # fmt: skip
        found = json.loads(told.getvalue())
        shrubs = Activity.objects.get(template="plant-shrubs")
        assert [(term["kind"], term["activity"], term["day"]) for term in found["terms"]] == [
            ("no-weekends", None, None), ("not-before", shrubs.uid, "2026-08-03"),
        ]  # fmt: skip
        assert (found["cannot_be_kept"], found["signed"]) == (None, [])
        starts = {
            move["becomes"]["start"][:10]
            for way in found["alternatives"]
            if not way["same_as"]
            for move in way["moves"]
            if move["activity"] == shrubs.uid
        }
        assert starts == {"2026-08-03"}
        assert Term.objects.count() == 2

    def test_what_cannot_be_kept_is_told_by_name(self, job):
        """A work held on the day that rained out: no way to accept, and why."""
        row = Plan.objects.get(state="published").rows.get(activity__template="lay-out")
        day = first_day().isoformat()
        args = ("--from", day, "--keep-days", YARD, "lay-out", "--limit", "0.05")
        told = StringIO()
        call_command("lose_days", *args, stdout=told)
        words = f"This cannot be kept: {row.activity}, 3 Finch Street, stays on"
        assert words in told.getvalue()
        with pytest.raises(CommandError, match="there is no way steady: This cannot be kept"):
            call_command("lose_days", *args, "--accept", "steady")

    def test_where_several_works_are_called_so_they_are_named(self, job):
        """With their ids, to choose from."""
        Activity.objects.filter(template="clear-site").update(name="Clean up")
        Activity.objects.filter(template="clean-up").update(name="Clean up")
        with pytest.raises(CommandError) as error:
            call_command("lose_days", "--from", "2026-06-22", "--keep-days", YARD, "Clean up")
        for row in Activity.objects.filter(name="Clean up"):
            assert f"{row.uid} Clean up" in str(error.value)

    def test_undo_without_an_earlier_plan_ends_with_two(self, job):
        """Told in one line."""
        with pytest.raises(CommandError) as error:
            call_command("undo")
        assert error.value.returncode == 2
