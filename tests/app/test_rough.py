"""A rough promise: six answers, nothing stored."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.models import Activity, Job
from tests.office import signed_in, small_job

pytestmark = pytest.mark.django_db


class TestRough:
    """Six answers, nothing saved."""

    SIX = {
        "area": "2400", "kill": "sprays", "slab": "400", "wall": "30", "trees": "3",
        "gate": "3 ft 6 in", "start": "2026-06-22", "us_state": "NC",
    }  # fmt: skip

    def test_weeks_and_dates(self, owner):
        """Two sprays and two waits of four and two weeks alone are more than six weeks."""
        page = owner.get(reverse("rough"), self.SIX)
        reckoned = page.context["promise"].reckoned
        assert reckoned.start == date(2026, 6, 22)
        assert reckoned.weeks == -(-((reckoned.finish - reckoned.start).days + 1) // 7)
        assert reckoned.weeks > 6
        assert f"About {reckoned.weeks} weeks" in page.content.decode()
        assert (Job.objects.count(), Activity.objects.count()) == (0, 0)

    def test_less_takes_no_longer(self, owner):
        """Without lawn, slab, wall and trees the walk-through is sooner."""
        more = owner.get(reverse("rough"), self.SIX).context["promise"].reckoned
        bare = self.SIX | {"kill": "no lawn to take out", "slab": "", "wall": "", "trees": ""}
        less = owner.get(reverse("rough"), bare).context["promise"].reckoned
        assert less.finish < more.finish

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"area": ""}, "missing"),
            ({"area": "-1"}, "zero or more"),
            ({"area": "1" * 40}, "At most 24"),
            ({"gate": "wide"}, "not a length"),
            ({"trees": "2.5"}, "whole number"),
            ({"start": "9999-12-31"}, "three years"),
            ({"kill": "fire"}, "none of the choices"),
        ],
    )
    def test_nonsense_is_told(self, owner, told, words):
        """Beside its field, with no guess made of it."""
        answer = owner.get(reverse("rough"), self.SIX | told)
        assert (answer.status_code, words in answer.content.decode()) == (422, True)
        assert "done about" not in answer.content.decode()

    def test_what_sleeps_in_winter_waits_for_spring(self, owner):
        """A start in November: Spokane is colder than Seattle, and lawns of Tampa wait for nothing.

        Sprays need growing turf (from 50 F mean air, extension, from memory; months by NOAA's normals).
        """
        november = self.SIX | {"start": "2026-11-02"}
        finish = {}
        for state in ("WA", "FL"):
            answer = owner.get(reverse("rough"), november | {"us_state": state})
            reckoned = answer.context["promise"].reckoned
            finish[state] = reckoned.finish
            assert f"in the cold and hot months of {reckoned.place}" in answer.content.decode()
        assert finish["FL"] < date(2027, 3, 1) < date(2027, 5, 1) < finish["WA"]

    def test_the_newest_yard_of_the_state_says_whose_months(self, owner):
        """Before there is one, a place of the state does."""
        six = self.SIX | {"us_state": "WA"}
        before = owner.get(reverse("rough"), six).context["promise"].reckoned.place
        yard = small_job()
        Job.objects.filter(pk=yard.pk).update(us_state="WA", latitude="47.66", longitude="-117.43")
        after = owner.get(reverse("rough"), six).context["promise"].reckoned.place
        assert (before, after) == ("Seattle (Sea-Tac), WA", "Spokane, WA")

    def test_everybody_may_ask(self, owner):
        """It changes nothing."""
        assert signed_in(Role.VIEWER).get(reverse("rough"), self.SIX).status_code == 200
