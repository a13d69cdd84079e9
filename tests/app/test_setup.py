"""A job is set up, and its yard changed by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.models import Activity, Job, Zone
from jobs.services.sky.climate import climate_of
from jobs.services.sky.climate_choice import places_by_state
from jobs.services.sky.outlook import say_outlook
from tests.office import NOW, published_plan, signed_in, small_job
from tests.page_tree import page_of, sent_by

from .test_import_job import upload

pytestmark = pytest.mark.django_db
ONCE = "0123456789abcdef" * 2
ASHEVILLE = next(p.station for p in places_by_state() if p.name == "Asheville")
FACTS = {
    "once": ONCE,
    "name": "9 Wren Close",
    "address": "9 Wren Close, Asheville, NC",
    "us_state": "NC",
    "zone": "America/New_York",
    "soil": "clay",
    "starts_on": "2026-06-29",
    "promised_on": "2026-08-28",
    "access_notes": "",
    "station": ASHEVILLE,
}


def zones(*rows: dict[str, str], initial: int = 0) -> dict[str, str]:
    """Rows of zones as the page posts them."""
    told = {"zone-TOTAL_FORMS": str(len(rows)), "zone-INITIAL_FORMS": str(initial)}
    return told | {
        f"zone-{n}-{key}": value for n, row in enumerate(rows) for key, value in row.items()
    }


PATIO = {
    "name": "Patio",
    "area": "420",
    "reached_from": "side yard",
    "way": "Corner",
    "width": "5 ft",
}
SIDE = {
    "name": "Side yard",
    "area": "",
    "reached_from": "",
    "way": "Gate",
    "width": "3'6\"",
    "length": "40",
}


class TestNewJob:
    """Told on one page; the takeoff comes next."""

    def make(self, owner, *rows, **facts):
        """Post a new job."""
        return owner.post(reverse("new-job"), FACTS | facts | zones(*rows))

    def test_a_yard_of_two_zones_behind_a_gate(self, owner):
        """Zones in any order, widths in feet and inches, and what comes with every job."""
        answer = self.make(owner, PATIO, SIDE, {})
        job = Job.objects.get()
        assert answer.url == reverse("job", args=["9-wren-close"])
        assert [zone.name for zone in job.zones.all()] == ["Whole yard", "Patio", "Side yard"]
        ways = [
            (w.name, str(w.start), str(w.end), w.width, w.length_ft) for w in job.passages.all()
        ]
        assert ways == [
            ("Corner", "Side yard", "Patio", 60 * 254, 0),
            ("Gate", "None", "Side yard", 42 * 254, 40),
        ]
        assert job.activities.filter(template="walk-through").count() == 1

    @pytest.mark.parametrize(
        ("told", "place"),
        [
            ({}, "Asheville"),
            ({"station": "", "position": "30.33, -81.66"}, "Jacksonville"),
            ({"position": "(30.33°, -81.66°)"}, "Asheville"),
        ],
    )
    def test_odds_go_by_the_place_that_was_told(self, owner, told, place):
        """A choice by hand wins over the nearest; one of both must be told."""
        self.make(owner, SIDE, **told)
        assert climate_of(Job.objects.get()).near.climate.name == place

    def test_the_next_yard_is_thought_to_be_near_the_last(self, owner):
        """Its place stands in the form; given a place on the map, the nearest holds after all."""
        self.make(owner, SIDE)
        page = owner.get(reverse("new-job")).content.decode()
        assert f'<option value="{ASHEVILLE}" selected>' in page
        self.make(owner, SIDE, name="2 Heron Way", once="", position="30.33, -81.66")
        found = climate_of(Job.objects.get(name="2 Heron Way")).near.climate.name
        assert found == "Jacksonville"

    def test_one_zone_is_asked_for_and_the_others_wait_folded(self, owner):
        """Those that were filled in stay open where something is to be put right."""
        fold, opened = '<details class="another"', '<details class="another" open>'
        page = owner.get(reverse("new-job")).content.decode()
        assert (page.count(fold), page.count(opened)) == (5, 0)
        page = self.make(owner, SIDE, PATIO, {"name": "Bed"}, {}, name="").content.decode()
        assert (page.count(fold), page.count(opened)) == (3, 2)

    def test_what_lies_behind_a_gate_does_whether_measured_or_not(self, owner):
        """A bed reached from the side yard hangs on its gate; a front bed on nothing."""
        bed = {"name": "Bed", "area": "200", "reached_from": "Side yard"}
        self.make(owner, SIDE, bed, {"name": "Front bed"})
        job = Job.objects.get()
        ways = [(way.name, str(way.start), way.width) for way in job.passages.all()]
        assert ways == [("Gate", "None", 42 * 254), ("Way to Bed", "Side yard", None)]
        page = owner.get(reverse("job", args=[job.slug])).content.decode()
        assert page.count("not measured") == 1
        again = owner.get(reverse("export-job", args=[job.slug])).content.decode()
        assert again.count("width = ") == 1
        assert upload(owner, again, replace="on").status_code == 302
        assert [way.width for way in Job.objects.get().passages.all()] == [42 * 254, None]

    def test_sent_twice_is_one_job(self, owner):
        """The second click leads to the first one's job."""
        first, second = self.make(owner, SIDE), self.make(owner, SIDE)
        assert (first.url, second.url) == (second.url, first.url)
        assert Job.objects.count() == 1

    @pytest.mark.parametrize(
        ("told", "field", "words"),
        [
            ({"name": ""}, "id_name", "missing"),
            ({"name": "x" * 121}, "id_name", "At most 120"),
            ({"us_state": "ZZ"}, "id_us_state", "none of the choices"),
            ({"soil": "cheese"}, "id_soil", "none of the choices"),
            ({"starts_on": "soon"}, "id_starts_on", "A date such as"),
            ({"starts_on": "2026-06-15"}, "id_starts_on", "This day is over"),
            ({"starts_on": "9999-12-31", "promised_on": ""}, "id_starts_on", "three years"),
            ({"promised_on": "2026-06-28"}, "id_promised_on", "before the start"),
            ({"station": ""}, "id_station", "Odds and seasons go by it"),
            ({"station": "Atlantis"}, "id_station", "none of the choices"),
            ({"position": "35.6"}, "id_position", "no place on the map"),
            ({"position": "35.6, -200"}, "id_position", "longitude 180"),
            ({"zone-0-name": ""}, "id_zone-0-name", "missing"),
            ({"zone-0-name": "Street"}, "id_zone-0-name", "there by itself"),
            ({"zone-0-area": "-4"}, "id_zone-0-area", "zero or more"),
            ({"zone-0-area": "1e99"}, "id_zone-0-area", "not a unit known here"),
            ({"zone-0-width": "42"}, "id_zone-0-width", "no unit"),
            ({"zone-0-width": "<b>wide</b>"}, "id_zone-0-width", "not a length"),
            ({"zone-0-length": "99999"}, "id_zone-0-length", "more than a yard holds"),
            ({"zone-0-reached_from": "the moon"}, "id_zone-0-reached_from", "No other zone"),
            ({"zone-0-reached_from": "side yard"}, "id_zone-0-reached_from", "No other zone"),
        ],
    )
    def test_what_is_wrong_is_told_beside_its_field(self, owner, told, field, words):
        """Nothing stored, nothing typed is lost, nothing hostile is run."""
        answer = owner.post(reverse("new-job"), FACTS | zones(SIDE) | told)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert words in page.partition(f'id="{field}_wrong">')[2].partition("</p>")[0]
        assert 'value="9 Wren Close, Asheville, NC"' in page
        assert "<b>wide" not in page
        assert Job.objects.count() == 0

    def test_names_that_stand_twice_and_rings_are_told(self, owner):
        """Of zones, and of the ways between them."""
        twice = self.make(owner, SIDE, SIDE | {"name": "side YARD"}).content.decode()
        assert twice.count("This name stands twice") == 2
        one = {"name": "One", "reached_from": "Two", "width": "4 ft"}
        two = {"name": "Two", "reached_from": "One", "width": "4 ft"}
        assert "from each other only" in self.make(owner, one, two).content.decode()
        assert Job.objects.count() == 0

    def test_a_name_that_is_taken_is_told(self, owner):
        """Two jobs of one name could not be told apart."""
        self.make(owner, SIDE)
        answer = self.make(owner, SIDE, name="9 WREN close", once="")
        assert (answer.status_code, Job.objects.count()) == (422, 1)
        assert "There is a job of this name already" in answer.content.decode()

    def test_more_rows_than_a_yard_has_are_refused(self, owner):
        """A form of a thousand rows is no yard."""
        answer = owner.post(reverse("new-job"), FACTS | zones(SIDE) | {"zone-TOTAL_FORMS": "1000"})
        assert (answer.status_code, Job.objects.count()) == (422, 0)

    def test_names_in_any_letters(self, owner):
        """An address of its own for each, whatever the letters."""
        self.make(owner, {"name": "庭"}, {"name": "池"}, name="美しい庭")
        job = Job.objects.get()
        assert job.slug == "job"
        assert [zone.slug for zone in job.zones.all()] == ["whole-yard", "zone", "zone-2"]

    def test_like_an_earlier_one(self, owner):
        """Its zones stand in the form; what is built in those that are kept comes along."""
        old = small_job()
        page = owner.get(reverse("new-job"), {"like": old.slug}).content.decode()
        assert 'value="Front path"' in page
        rows = [{"name": "Front path", "area": "150", "way": "Gate", "width": "4 ft"}]
        owner.post(reverse("new-job"), FACTS | zones(*rows) | {"like": old.slug})
        job = Job.objects.get(slug="9-wren-close")
        assert [(item.assembly, item.zone.name) for item in job.items.all()] == [
            ("stone-path", "Front path")
        ]
        assert job.activities.get(template="dg-path").quantity == 150

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    @pytest.mark.parametrize("name", ["new-job", "import-job"])
    def test_others_may_not(self, owner, role, name):
        """To look is all they may."""
        assert signed_in(role).post(reverse(name), FACTS).status_code == 403


class TestYard:
    """Changed later, on one page."""

    @pytest.fixture
    def job(self, owner):
        """A front path and a bed."""
        return small_job()

    def told(self, owner, job, **changes):
        """What the page posts, unchanged but for what is told."""
        page = owner.get(reverse("yard", args=[job.slug])).context
        told = {"seen": page["seen"]}
        for form in (page["form"], page["asks"], *page["zones"], *page["ways"]):
            told |= {form.add_prefix(name): _posted(form[name].value()) for name in form.fields}
        for rows in (page["zones"], page["ways"]):
            told |= {f"{rows.prefix}-{k}": v for k, v in rows.management_form.initial.items()}
        return {key: value for key, value in told.items() if value is not None} | changes

    def change(self, owner, job, **changes):
        """Post the page."""
        return owner.post(reverse("yard", args=[job.slug]), self.told(owner, job, **changes))

    def test_nothing_changed_changes_nothing(self, owner, job):
        """Every activity is what it was, at the revision it was."""
        before = list(job.activities.values_list("uid", "revision", "days"))
        assert self.change(owner, job).status_code == 302
        assert list(job.activities.values_list("uid", "revision", "days")) == before

    def test_rows_nobody_filled_in_are_folded(self, owner, job):
        """A row that something was typed into stays open where the page comes back with a slip."""
        address = reverse("yard", args=[job.slug])
        shown = owner.get(address)
        assert 'class="another" open' not in shown.content.decode()
        [told] = [
            sent
            for sent in map(sent_by, page_of(shown).all("form", method="post"))
            if "seen" in sent
        ]
        wrong = owner.post(address, told | {"way-2-name": "Alley", "way-2-width": "wide"})
        assert wrong.content.decode().count('class="another" open') == 1

    def test_a_browser_that_changes_the_address_keeps_it(self, owner, job):
        """Lists in the rows nobody filled in choose something all the same: no way in is missing its name."""
        address = reverse("yard", args=[job.slug])
        forms = page_of(owner.get(address)).all("form", method="post")
        [told] = [sent for sent in map(sent_by, forms) if "seen" in sent]
        assert told["way-2-start"] == "street"
        assert owner.post(address, told | {"address": "5 Finch Street"}).status_code == 302
        job.refresh_from_db()
        assert (job.address, job.passages.count()) == ("5 Finch Street", 2)

    def test_a_promise_sooner_than_even_odds_is_warned_of(self, owner, job):
        """Beside its field and when it is kept; the safe day is named, and a later promise warns of nothing."""
        published_plan()
        likely = say_outlook(now=NOW, runs=20).outlooks[0].p50.date()
        kept = []
        for day in (likely - timedelta(days=1), likely + timedelta(days=40)):
            answer = owner.post(
                reverse("yard", args=[job.slug]),
                self.told(owner, job, promised_on=day.isoformat()),
                follow=True,
            )
            page = owner.get(reverse("yard", args=[job.slug])).context
            beside = page["form"]["promised_on"].help_text
            assert "8 times in 10" in beside
            kept.append(
                ("more often than kept" in answer.content.decode(), beside.startswith("sooner"))
            )
        assert kept == [(True, True), (False, False)]

    def test_a_larger_zone_takes_longer_and_stays_itself(self, owner, job):
        """The path's quantity follows the zone's area."""
        path = job.activities.get(template="dg-path")
        self.change(owner, job, **{"zone-0-area": "240", "zone-0-name": "Front walk"})
        after = Activity.objects.get(pk=path.pk)
        assert (after.uid, after.quantity, after.name) == (
            path.uid,
            240,
            "Lay crushed-stone path, front walk",
        )

    def test_zones_and_ways_are_added_and_taken_out(self, owner, job):
        """A side yard comes, the way to the bed goes."""
        added = {"zone-2-name": "Side yard", "zone-2-area": "90 sq ft", "way-1-gone": "on"}
        self.change(owner, job, **added)
        assert job.zones.get(slug="side-yard").area_ft2 == 90
        assert [way.name for way in job.passages.all()] == ["Front gate"]

    def test_a_zone_that_is_built_in_stays(self, owner, job):
        """And the page says what to do first."""
        answer = self.change(owner, job, **{"zone-1-gone": "on"})
        assert answer.status_code == 422
        assert "something is built in Bed: take it out first" in answer.content.decode()
        assert job.zones.filter(name="Bed").exists()

    @pytest.mark.parametrize(
        ("told", "field", "words"),
        [
            ({"way-0-slope": "300"}, "id_way-0-slope", "more than a yard holds"),
            ({"position": "99, 0"}, "id_position", "Latitude is 90 at most"),
            ({"position": "5 Elm St"}, "id_position", "no place on the map"),
            ({"weight": "0"}, "id_weight", "At least 1."),
            ({"area": "lots"}, "id_area", "not an amount"),
            ({"starts_on": "2026-06-01"}, "id_starts_on", "This day is over"),
        ],
    )
    def test_what_is_wrong_is_told_beside_its_field(self, owner, job, told, field, words):
        """And nothing is stored."""
        answer = self.change(owner, job, **told)
        wrong = answer.content.decode().partition(f'id="{field}_wrong">')[2].partition("</p>")[0]
        assert (answer.status_code, words in wrong) == (422, True)
        assert Job.objects.get().revision == job.revision

    def test_the_second_of_two_editors_is_told(self, owner, job):
        """Even if the first only renamed a zone."""
        stale = self.told(owner, job)
        self.change(owner, job, **{"zone-0-name": "Walk"})
        answer = owner.post(reverse("yard", args=[job.slug]), stale, follow=True)
        assert "nothing was overwritten" in answer.content.decode()
        assert Zone.objects.filter(name="Walk").exists()

    def test_questions_about_the_yard_change_what_comes_with_it(self, owner, job):
        """A permit is applied for once somebody says so."""
        assert not job.activities.filter(template="permit-submit").exists()
        self.change(owner, job, permit="yes")
        assert job.activities.get(template="permit-submit").retired is False

    def test_everybody_may_look_at_takeoff_but_not_change_the_yard(self, job):
        """The page of changes is for those who may change."""
        assert signed_in(Role.VIEWER).get(reverse("yard", args=[job.slug])).status_code == 403


def _posted(value):
    """A value as a browser posts it; nothing for a box that is not ticked."""
    if value in (None, False):
        return None
    return value.isoformat() if isinstance(value, date) else str(value)


def test_every_empty_list_says_the_next_step(db):
    """No job yet: set one up, or promise roughly first."""
    page = signed_in().get(reverse("jobs")).content.decode()
    assert reverse("new-job") in page
    assert reverse("rough") in page
