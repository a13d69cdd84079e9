"""Works of one's own, by hand: they outlive every expansion and are planned; who may change what."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.services.files.load_job import load_job
from jobs.services.planning.plan_jobs import plan_jobs
from tests.hands import SLUG, again, only, placed
from tests.office import NOW, SMALL_YARD, published_plan, signed_in

pytestmark = pytest.mark.django_db


class TestOwnWork:
    """For what the library does not know."""

    WORK = {
        "name": "Hang the gate",
        "where": "front-path",
        "skill": "labour",
        "days": "0.5",
        "people": "2",
    }

    def add(self, **told):
        """Post a work of one's own."""
        told = {"once": "ab" * 16, **self.WORK, **told}
        return signed_in().post(reverse("new-work", args=[SLUG]), told)

    def test_it_is_added_planned_and_kept(self, job):
        """Between the first walk and the clean-up, whatever is expanded again."""
        assert self.add().status_code == 302
        row = job.activities.get(template="")
        assert (row.key, row.name, row.days, row.people) == (
            f"hand/{'ab' * 16}", "Hang the gate", Decimal("0.5"), 2,
        )  # fmt: skip
        again(job)
        row.refresh_from_db()
        assert row.retired is False
        at = placed(published_plan())
        walk, clean = only(job, "start-walk"), only(job, "clean-up")
        assert at[walk.pk][1] <= at[row.pk][0] < at[row.pk][1] <= at[clean.pk][0]

    def test_sent_twice_is_one_work(self, job):
        """A double click."""
        assert self.add().url == self.add().url
        assert job.activities.filter(template="").count() == 1

    @pytest.mark.parametrize(
        ("told", "field", "words"),
        [
            ({"name": ""}, "name", "missing"),
            ({"name": "x" * 106}, "name", "At most 105"),
            ({"where": "attic"}, "where", "none of the choices"),
            ({"skill": "wizardry"}, "skill", "none of the choices"),
            ({"days": "0"}, "days", "At least 0.25."),
            ({"days": "1e9"}, "days", "At most 60."),
            ({"days": "NaN"}, "days", "number"),
            ({"people": "5"}, "people", "No crew has so many who can do labor: 4"),
            ({"people": "<i>"}, "people", "whole number"),
        ],
    )
    def test_nonsense_is_told_beside_its_field(self, job, told, field, words):
        """With 422, and nothing is added."""
        answer = self.add(**told)
        wrong = answer.content.decode().partition(f'id="id_{field}_wrong">')[2].partition("</p>")[0]
        assert (answer.status_code, words in wrong) == (422, True)
        assert not job.activities.filter(template="").exists()

    def test_it_is_changed_once(self, job):
        """The second of two editors is told."""
        self.add()
        row = job.activities.get(template="")
        client, address = signed_in(), reverse("change-work", args=[SLUG, row.uid])
        told = self.WORK | {"days": "2", "revision": str(row.revision)}
        client.post(address, told)
        page = client.post(address, told | {"days": "3"}, follow=True).content.decode()
        row.refresh_from_db()
        assert (row.days, "nothing was overwritten" in page) == (2, True)

    def test_it_is_taken_out_and_stays_in_the_record_once_planned(self, job):
        """Deleted before anybody saw it in a plan, retired after."""
        self.add()
        row = job.activities.get(template="")
        published_plan()
        signed_in().post(reverse("remove-work", args=[SLUG, row.uid]))
        row.refresh_from_db()
        assert row.retired is True
        again(job)
        row.refresh_from_db()
        assert row.retired is True
        assert plan_jobs(now=NOW, by="test").plan is not None

    def test_outside_people_are_a_calendar_only(self, job):
        """No crew is needed for them."""
        self.add(skill="outside", people="9")
        row = job.activities.get(template="")
        plan = published_plan()
        assert plan.rows.get(activity=row).crew is None


class TestAccess:
    """To look is for all, to change for those who may."""

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_others_may_not(self, job, role):
        """No page of changes, no post."""
        client, row = signed_in(role), only(job, "dg-path")
        link = row.links_in.all()[0]
        refused = [
            client.get(reverse("new-work", args=[SLUG])),
            client.get(reverse("by-hand", args=[SLUG, row.uid])),
            client.post(reverse("by-hand", args=[SLUG, row.uid]), {"does": "pin"}),
            client.post(reverse("remove-work", args=[SLUG, row.uid])),
            client.post(reverse("change-link", args=[SLUG, link.pk]), {"does": "untie"}),
        ]
        assert [answer.status_code for answer in refused] == [403] * 5

    def test_links_of_other_jobs_are_not_there(self, job):
        """An address with the number of another yard's link is nobody's."""
        other = load_job(SMALL_YARD.replace("3 Finch", "5 Finch"), by="test", now=NOW)
        link = other.links.all()[0]
        answer = signed_in().post(reverse("change-link", args=[SLUG, link.pk]), {"does": "untie"})
        assert answer.status_code == 404
