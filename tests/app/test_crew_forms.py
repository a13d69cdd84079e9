"""Crews and machines changed in the office: people, skills, weeks, days off."""

from __future__ import annotations

import pytest
from django.urls import reverse

from crews.models import Crew, Machine, TimeOff
from jobs.forms.crews import CrewForm
from jobs.models import HistoryEntry
from jobs.views.crews import JUST_TAKEN
from tests.office import signed_in

pytestmark = pytest.mark.django_db


class TestCrews:
    """People, skills, weeks and days off, changed in the office."""

    FACTS = {"name": "Path crew", "people": "Ada\nBo", "skill_paving": "2"} | {
        f"day_{day}": "all day" for day in ("monday", "tuesday", "wednesday", "thursday")
    } | {"day_friday": "morning", "day_saturday": "off", "day_sunday": "off"}  # fmt: skip

    def test_a_crew_is_made(self, job):
        """Two people who pave, Fridays only till lunch."""
        assert signed_in().post(reverse("new-crew"), self.FACTS).status_code == 302
        crew = Crew.objects.get(slug="path-crew")
        assert [member.name for member in crew.members.all()] == ["Ada", "Bo"]
        assert [(row.skill, row.people) for row in crew.skills.all()] == [("paving", 2)]
        assert crew.week.masks == (15, 15, 15, 15, 3, 0, 0)

    def test_skills_are_read_as_a_contractor_writes_them(self, job):
        """Labor on the page, whatever job files and tables call it."""
        office = signed_in()
        pages = [office.get(reverse(name)).content.decode() for name in ("crews", "new-crew")]
        assert ["labor <" in pages[0], ">labor" in pages[1]] == [True, True]
        assert not any("labour" in page.replace("skill_labour", "") for page in pages)

    def test_the_same_days_off_sent_twice_are_closed_once(self, job):
        """Other days, or somebody else's, are other ones."""
        client, days = signed_in(), {"first": "2026-07-03", "who": "everybody", "why": "fair"}
        ground = f"crew {Crew.objects.get(slug='ground-crew').pk}"
        for told in (days, days, days | {"who": ground}):
            assert client.post(reverse("add-days-off"), told).status_code == 302
        assert TimeOff.objects.filter(why="fair").count() == 2
        assert HistoryEntry.objects.filter(what="days closed").count() == 2

    def test_who_is_quicker_has_the_name(self, job, monkeypatch):
        """Taken between asking and keeping: told beside the field, no fault of the house."""
        monkeypatch.setattr(CrewForm, "_refuse_taken", lambda _form, _name: None)
        answer = signed_in().post(reverse("new-crew"), self.FACTS | {"name": "Ground crew"})
        assert answer.status_code == 422
        assert JUST_TAKEN in answer.content.decode()

    def test_weeks_alike_till_thursday_are_different_weeks(self, job):
        """Each has a name of its own, and the record says all its days."""
        client = signed_in()
        for number, (friday, saturday) in enumerate(
            [("all day", "off"), ("afternoon", "off"), ("all day", "morning"), ("off", "all day")]
        ):
            week = {"name": f"Crew {number}", "day_friday": friday, "day_saturday": saturday}
            assert client.post(reverse("new-crew"), self.FACTS | week).status_code == 302
        weeks = [entry.after["week"] for entry in HistoryEntry.objects.filter(what="crew made")]
        assert sorted(weeks) == [
            "Mon – Fri",
            "Mon, Tue, Wed, Thu, Fri afternoon",
            "Mon, Tue, Wed, Thu, Fri, Sat morning",
            "Mon, Tue, Wed, Thu, Sat",
        ]

    @pytest.mark.parametrize(
        ("changes", "told"),
        [
            ({"name": ""}, "missing"),
            ({"name": "Ground crew"}, "Another crew has this name"),
            ({"people": "Ada\nAda"}, "stands twice"),
            ({"skill_paving": "7"}, "how many of the 2"),
            ({"skill_paving": ""}, "at least one thing"),
        ],
    )
    def test_what_is_wrong_is_told(self, job, changes, told):
        """Beside the field, with 422 and nothing stored."""
        answer = signed_in().post(reverse("new-crew"), self.FACTS | changes)
        assert answer.status_code == 422
        assert told in answer.content.decode()
        assert Crew.objects.count() == 3

    def test_a_crew_is_changed_once(self, job):
        """The second of two editors is told."""
        client, crew = signed_in(), Crew.objects.get(slug="ground-crew")
        address = reverse("edit-crew", args=[crew.slug])
        facts = self.FACTS | {"name": "Earth crew", "revision": str(crew.revision)}
        client.post(address, facts)
        page = client.post(address, facts | {"name": "Mud crew"}).content.decode()
        assert ("nothing was overwritten" in page, 'value="Mud crew"' in page) == (True, True)
        assert Crew.objects.get(pk=crew.pk).name == "Earth crew"

    def test_days_off_are_kept_and_opened_again(self, job):
        """For a crew from Monday to Wednesday."""
        client, crew = signed_in(), Crew.objects.get(slug="ground-crew")
        told = {"who": f"crew {crew.pk}", "first": "2026-07-06", "last": "2026-07-08"}
        client.post(reverse("add-days-off"), told)
        off = TimeOff.objects.get(crew=crew)
        assert "Mon 6 – Wed 8 Jul" in client.get(reverse("crews")).content.decode()
        client.post(reverse("remove-days-off", args=[off.pk]))
        assert not TimeOff.objects.filter(crew=crew).exists()

    def test_days_off_the_wrong_way_round_are_told(self, job):
        """Nothing stored."""
        told = {"who": "everybody", "first": "2026-07-08", "last": "2026-07-06"}
        answer = signed_in().post(reverse("add-days-off"), told)
        assert answer.status_code == 422
        assert "swap the two" in answer.content.decode()

    def test_a_machine_is_changed(self, job):
        """Two of them now, 36 inches wide; nonsense for a width is told."""
        machine = Machine.objects.get(slug="plate-compactor")
        address = reverse("edit-machine", args=[machine.slug])
        facts = {"name": machine.name, "kind": machine.kind, "count": "2", "revision": "1"}
        facts |= {"least_days": "1", "lead_days": "2"}
        wrong = signed_in().post(address, facts | {"width": "wide"})
        assert wrong.status_code == 422
        signed_in().post(address, facts | {"width": "3 ft"})
        machine.refresh_from_db()
        assert (machine.count, machine.width) == (2, 36 * 254)
