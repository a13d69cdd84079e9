"""Items of a takeoff added, changed and taken out; quantities follow while one types."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from jobs.models import Activity, HistoryEntry, ScopeItem
from tests.office import SLUG, signed_in

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db


class TestTakeoff:
    """Add, change and take out what is built; quantities follow while one types."""

    def add(self, client: Client, **answers: str):
        """Post the form of a stone path on the bed."""
        told = {"what": "stone-path", "where": "bed", "area": "80", **answers}
        return client.post(reverse("new-item", args=[SLUG]), told)

    def test_an_item_is_added_with_its_activities(self, job):
        """One more path, and its work in the bed."""
        answer = self.add(signed_in())
        assert answer.status_code == 302
        assert job.items.count() == 3
        assert job.activities.filter(template="dg-path", retired=False).count() == 2

    def test_a_form_sent_twice_adds_one(self, job):
        """By the number minted with it; the next form has another one."""
        client, once = signed_in(), "0" * 31 + "1"
        for number in (once, once, "0" * 31 + "2"):
            assert self.add(client, once=number).status_code == 302
        assert job.items.count() == 4
        assert HistoryEntry.objects.filter(what="item added").count() == 2

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ("0", "zero"),
            ("-3", "-3"),
            ("", "missing"),
            ("9999999", "more than a yard holds"),
            ("80 acres", "acres"),
            ("<script>", "script"),
        ],
    )
    def test_nonsense_is_told_beside_its_field_and_nothing_is_lost(self, job, typed, told):
        """What was typed stays, nothing is stored, and the fault stands at the field."""
        zone = job.zones.get(slug="bed")
        zone.area_ft2 = None
        zone.save()
        answer = self.add(signed_in(), area=typed)
        page = answer.content.decode()
        assert answer.status_code == 422
        wrong = page.partition('id="id_area_wrong">')[2].partition("</p>")[0]
        assert told in wrong
        assert "<script>" not in page.partition("<main")[2]
        assert job.items.count() == 2

    def test_measuring_stores_nothing_and_answers_only_its_part(self, job):
        """htmx asks while one types."""
        answer = signed_in().post(
            reverse("new-item", args=[SLUG]),
            {"what": "stone-path", "where": "bed", "area": "450", "measure": "yes"},
            headers={"HX-Request": "true", "HX-Target": "measures"},
        )
        page = answer.content.decode()
        assert page.strip().startswith('<section class="box" id="measures"')
        assert "450 ft²" in page
        assert job.items.count() == 2

    def test_a_change_keeps_activities_what_they_were(self, job):
        """More area, same uids."""
        item = job.items.get(assembly="stone-path")
        before = set(job.activities.values_list("uid", flat=True))
        answer = signed_in().post(
            reverse("item", args=[SLUG, item.uid]), {"area": "200", "revision": item.revision}
        )
        assert answer.status_code == 302
        path = Activity.objects.get(template="dg-path", retired=False)
        assert path.quantity == 200
        assert set(job.activities.values_list("uid", flat=True)) == before

    def test_the_second_of_two_editors_is_told(self, job):
        """Nothing of the first one's change is overwritten."""
        item = job.items.get(assembly="stone-path")
        stale = item.revision
        client = signed_in()
        address = reverse("item", args=[SLUG, item.uid])
        client.post(address, {"area": "200", "revision": stale})
        answer = client.post(address, {"area": "300", "revision": stale})
        assert (answer.status_code, "nothing was overwritten" in answer.content.decode()) == (
            422,
            True,
        )
        assert ScopeItem.objects.get(pk=item.pk).answers["area"] == "200"

    def test_what_the_second_editor_typed_stands_and_can_be_kept(self, job):
        """The page has it, with the revision it now goes on top of; no revision at all is an old one too."""
        item = job.items.get(assembly="stone-path")
        client, address = signed_in(), reverse("item", args=[SLUG, item.uid])
        page = client.post(address, {"area": "300", "revision": "nan"}).content.decode()
        assert 'name="area" value="300"' in page
        assert f'name="revision" value="{item.revision}"' in page
        assert client.post(address, {"area": "300", "revision": item.revision}).status_code == 302

    def test_published_work_that_is_taken_out_is_retired(self, published_job):
        """Its row stays for the record, and phones are told by the next plan."""
        item = published_job.items.get(assembly="shrubs")
        signed_in().post(reverse("remove-item", args=[SLUG, item.uid]))
        assert published_job.activities.get(template="plant-shrubs").retired is True
