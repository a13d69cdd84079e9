"""What cannot all be kept is told by name: when planning, in the command, and beside the field."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from jobs.models import Activity, HistoryEntry, Job, Link, Plan, Solve
from jobs.services.planning.solving import ask, run_one
from tests.office import SLUG, published_plan, signed_in

pytestmark = pytest.mark.django_db


def only(template: str) -> Activity:
    """The one activity of a template."""
    return Activity.objects.get(template=template, retired=False)


def pinned(template: str, **days: date) -> Activity:
    """Fix days of an activity behind the form's back."""
    row = only(template)
    Activity.objects.filter(pk=row.pk).update(**days)
    return row


def clash() -> tuple[Activity, Activity]:
    """The base not before 13 July, the path on it done by 10 July."""
    return (
        pinned("spread-base", not_before=date(2026, 7, 13)),
        pinned("dg-path", not_after=date(2026, 7, 10)),
    )


WORDS = (
    "These cannot all be kept: Spread stone base, front path (3 Finch Street) begins no earlier than Mon 13 Jul, "
    "by hand; Lay crushed-stone path, front path (3 Finch Street) ends no later than Fri 10 Jul, by hand. "
    "Without it: Mon 13 Jul at the soonest"
)


class TestPlanning:
    """Where a plan is asked for."""

    def test_the_command_names_them_and_ends_with_2(self, job):
        """And stores nothing."""
        clash()
        with pytest.raises(CommandError) as refused:
            call_command("plan")
        assert str(refused.value) == f"{WORDS}; give up one of them, or loosen it"
        assert refused.value.returncode == 2
        assert Plan.objects.count() == 0

    def test_the_plan_page_names_them_with_where_to_loosen_them(self, job):
        """The plan that is published stands below."""
        published_plan()
        base, path = clash()
        answer = signed_in().post(reverse("make-plan"))
        page = answer.content.decode()
        assert answer.status_code == 409
        assert "No plan was made" in page
        for row in (base, path):
            assert (
                f'<a href="{reverse("by-hand", args=[SLUG, row.uid])}">{row.name} (3 Finch' in page
            )
        assert Plan.objects.get().state == Plan.State.PUBLISHED

    def test_a_search_that_cannot_be_begun_says_the_same(self, job):
        """The queue goes on."""
        clash()
        ask(by="Ana", seconds=0.5)
        run_one("one")
        assert Solve.objects.get().reason.startswith(WORDS)


class TestByHand:
    """Where a wish is added that cannot be kept."""

    def act(self, row: Activity, **told: str):
        """Post what is done to one work."""
        revision = str(Activity.objects.get(pk=row.pk).revision)
        address = reverse("by-hand", args=[SLUG, row.uid])
        return signed_in().post(address, {"revision": revision, **told})

    def tie(self, row: Activity, other: Activity, **told: str):
        """Post a link: one work after another."""
        usual = {
            "does": "tie", "way": "after", "other": other.uid, "relation": "finish-to-start",
            "wait": "0", "unit": "days", "most": "", "most_unit": "days", "why": "", "reason": "",
        }  # fmt: skip
        return self.act(row, **(usual | told))

    def test_a_pin_is_refused_beside_its_field(self, job):
        """What was typed stays typed; nothing is kept, nothing recorded."""
        pinned("spread-base", not_before=date(2026, 7, 13))
        path = only("dg-path")
        answer = self.act(path, does="pin", not_before="", not_after="2026-07-10")
        page = answer.content.decode()
        assert answer.status_code == 422
        assert answer.context["pins"].errors["not_after"] == [
            f"{WORDS}: give up one of them, or loosen it."
        ]
        assert 'value="2026-07-10"' in page
        path.refresh_from_db()
        assert path.not_after is None
        assert not HistoryEntry.objects.filter(what="pinned by hand").exists()

    def test_a_limit_on_a_tie_is_refused_beside_it(self, job):
        """Shrubs at most two days after the base, and not before 3 August."""
        pinned("plant-shrubs", not_before=date(2026, 8, 3))
        pinned("spread-base", not_after=date(2026, 7, 10))
        answer = self.tie(only("plant-shrubs"), only("spread-base"), most="2")
        assert answer.status_code == 422
        told = answer.context["ties"].errors["most"][0]
        assert "comes at most 2 days after Spread stone base, front path" in told
        assert not Link.objects.filter(rule="").exists()

    def test_what_was_impossible_before_stands_in_nobodys_way(self, job):
        """Another work is pinned all the same: its pin is not among what cannot be kept."""
        clash()
        shrubs = only("plant-shrubs")
        assert (
            self.act(shrubs, does="pin", not_before="2026-07-20", not_after="").status_code == 302
        )
        shrubs.refresh_from_db()
        assert shrubs.not_before == date(2026, 7, 20)

    def test_lifting_a_pin_is_never_refused(self, job):
        """It is how a conflict is mended."""
        _, path = clash()
        assert self.act(path, does="pin", not_before="", not_after="").status_code == 302
        call_command("plan", "--dry-run")


class TestPromises:
    """A promise is soft: a plan is made, and what stands against what is told."""

    def test_the_command_tells_what_stands_against_what(self, job, capsys):
        """Promised for the day after it begins."""
        Job.objects.update(promised_on=date(2026, 6, 23))
        call_command("plan", "--dry-run")
        lines = capsys.readouterr().out.splitlines()
        assert lines[-2:] == [
            "This cannot be kept:",
            "  3 Finch Street is done by Tue 23 Jun, as promised. Without it: Tue 7 Jul at the soonest.",
        ]

    def test_the_plan_page_fetches_it_where_a_promise_is_missed(self, job):
        """Only there."""
        published_plan()
        client = signed_in()
        assert reverse("promises") not in client.get(reverse("plan")).content.decode()
        Job.objects.update(promised_on=date(2026, 6, 23))
        assert reverse("promises") in client.get(reverse("plan")).content.decode()
        part = client.get(reverse("promises")).content.decode()
        assert "3 Finch Street is done by Tue 23 Jun, as promised." in part

    def test_a_promise_that_could_be_kept_is_said_to_be(self, job):
        """The plan that is shown misses it for want of a better order."""
        assert (
            "A plan that keeps every promise exists"
            in signed_in().get(reverse("promises")).content.decode()
        )
