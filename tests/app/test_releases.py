"""An engineer's release: never without a name, honoured by plan, futures and cure, told with its date."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from crews.models import Role
from jobs.forms.release import ReleaseForm
from jobs.models import HistoryEntry, Link, Release
from jobs.scheduling.sky.cure_dates import cure_dates
from jobs.services.files.load_job import load_job
from jobs.services.numbers.library import current_library
from jobs.services.pages.releases import read_releases
from jobs.services.scope.releases import released_by
from jobs.services.sky.cure import NAMES, tell_cure
from jobs.services.sky.hazards import read_hazards
from jobs.services.sky.outlook import say_outlook
from jobs.services.world.read_world import read_world
from jobs.services.world.revision import world_revision
from jobs.trade.releases import READY, SHORTENS, Allows, shortened
from tests.office import NOW, SMALL_YARD, open_office, published_plan, signed_in

pytestmark = pytest.mark.django_db
DAY = 24 * 60
SLAB = """
[[build]]
what = "flagstone-on-slab"
where = "Front path"
area = "120 ft2"
"""
LETTER = {
    "allows": "build",
    "amount": "4",
    "unit": "days",
    "engineer": "J. Moss",
    "licence": "NC PE 20417",
    "signed_on": "2026-06-15",
    "note": "cylinders at 3,100 psi",
}


@pytest.fixture
def job():
    """A path of flagstone on a slab, near Asheville, not planned."""
    open_office()
    made = load_job(SMALL_YARD + SLAB, by="test", now=NOW)
    made.latitude, made.longitude = "35.57000", "-82.55000"
    made.save()
    return made


def pour_of(job):
    """The pour of the slab."""
    return job.activities.get(template="pour-slab", retired=False)


def keep(client, job, **changes):
    """Post a release of the pour, as seen now."""
    told = {"seen": read_releases(pour_of(job)).seen} | LETTER | changes
    return client.post(reverse("release", args=[job.slug, pour_of(job).uid]), told)


def waits(job):
    """Minutes of each wait after the pour in the world as planned, the ground's included."""
    planning, pour = read_world(NOW), pour_of(job).uid
    ties = {
        t.lag.wait: t.lag.amount for t in planning.world.ties if t.before == pour and t.lag.wait
    }
    holds = {hold.minutes for hold in planning.world.works[pour].keepouts}
    return ties, holds


class TestKeeping:
    """On the page of the pour's releases."""

    def test_it_is_kept_by_name_and_told_on_the_story(self, job):
        """With who entered it, in the record too."""
        client = signed_in()
        assert keep(client, job).status_code == 302
        row = Release.objects.get()
        assert (row.hours, row.engineer, row.by) == (96, "J. Moss", "Owner")
        story = client.get(reverse("activity", args=[job.slug, pour_of(job).uid])).content.decode()
        words = "Bed stone or build on it 4 days after the pour, released by J. Moss, NC PE 20417, Mon 15 Jun: cylinders at 3,100 psi"
        assert words in story
        entry = HistoryEntry.objects.latest("pk")
        assert (entry.what, entry.by) == ("engineer's release", "Owner")
        assert entry.after["engineer"] == "J. Moss, NC PE 20417, signed 2026-06-15"

    @pytest.mark.parametrize(
        ("told", "field", "words"),
        [
            ({"engineer": ""}, "engineer", "missing"),
            ({"engineer": "  "}, "engineer", "missing"),
            ({"engineer": "1 2 3"}, "engineer", "no name, no release"),
            ({"engineer": "J" * 121}, "engineer", "At most 120"),
            ({"licence": ""}, "licence", "missing"),
            ({"licence": "<script>"}, "licence", "number of the license"),
            ({"signed_on": ""}, "signed_on", "missing"),
            ({"signed_on": "2026-06-17"}, "signed_on", "still to come"),
            ({"signed_on": "2019-06-17"}, "signed_on", "years ago"),
            ({"signed_on": "yesterday"}, "signed_on", "A date such as"),
            ({"amount": "0"}, "amount", "At least 1."),
            ({"amount": "29"}, "amount", "no release is needed"),
            ({"amount": "9" * 30}, "amount", "At most"),
            ({"amount": "soon"}, "amount", "whole number"),
            ({"unit": "weeks"}, "unit", "none of the choices"),
            ({"allows": "fly"}, "allows", "none of the choices"),
            ({"note": "n" * 201}, "note", "At most 200"),
        ],
    )
    def test_nonsense_is_told_beside_its_field(self, told, field, words):
        """In a plain sentence."""
        form = ReleaseForm(NOW.date(), LETTER | told)
        assert not form.is_valid()
        assert words in " ".join(form.errors[field])

    def test_what_was_typed_stays_on_the_page(self, job):
        """With 422, and nothing is kept."""
        answer = keep(signed_in(), job, engineer="1 2 3")
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "no name, no release" in page.partition('id="id_engineer_wrong">')[2]
        assert 'value="cylinders at 3,100 psi"' in page
        assert Release.objects.count() == 0

    def test_the_table_itself_refuses_a_nameless_one(self, job):
        """Whatever way it comes."""
        with pytest.raises(IntegrityError), transaction.atomic():
            Release.objects.create(
                activity=pour_of(job), allows="walk", hours=12, engineer="", licence="1",
                signed_on=NOW.date(), by="x",
            )  # fmt: skip

    def test_twice_is_once_and_another_figure_replaces_it(self, job):
        """The record keeps both."""
        client = signed_in()
        keep(client, job)
        assert keep(client, job, seen="").status_code == 302
        assert Release.objects.get().revision == 1
        keep(client, job, amount="5")
        assert Release.objects.get().hours == 120
        entry = HistoryEntry.objects.latest("pk")
        assert (entry.before["allows"], entry.after["allows"]) == (
            "bed stone or build on it, 4 days after the pour",
            "bed stone or build on it, 5 days after the pour",
        )

    def test_the_second_of_two_editors_is_told(self, job):
        """Nothing is overwritten."""
        client = signed_in()
        keep(client, job)
        answer = keep(client, job, amount="6", seen="")
        assert answer.status_code == 422
        assert "nothing was overwritten" in answer.content.decode()
        assert Release.objects.get().hours == 96

    def test_it_can_be_taken_back(self, job):
        """And the record says so."""
        client = signed_in()
        keep(client, job)
        client.post(reverse("take-back-release", args=[job.slug, Release.objects.get().pk]))
        assert Release.objects.count() == 0
        assert HistoryEntry.objects.latest("pk").what == "engineer's release taken back"

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_who_may_not_change_is_refused(self, job, role):
        """To record and to take back."""
        keep(signed_in(), job)
        client, pk = signed_in(role), Release.objects.get().pk
        assert keep(client, job, allows="walk").status_code == 403
        assert client.post(reverse("take-back-release", args=[job.slug, pk])).status_code == 403

    def test_only_a_pour_of_concrete_has_one(self, job):
        """Mortar waits as published."""
        stone = job.activities.get(template="set-stone", retired=False)
        assert signed_in().get(reverse("release", args=[job.slug, stone.uid])).status_code == 404


class TestHonoured:
    """In the plan, the futures and the dates of the cure."""

    def test_the_plan_waits_no_longer_than_the_engineer_asks(self, job):
        """Stone 14 days and cure 7 become 4, ground and all; the machine's 8.28 days stand."""
        before, ground = waits(job)
        assert {w: before[w] / DAY for w in ("W-stone", "W-cure")} == {"W-stone": 14, "W-cure": 7}
        keep(signed_in(), job)
        after, fresh = waits(job)
        assert {w: after[w] / DAY for w in ("W-stone", "W-cure")} == {"W-stone": 4, "W-cure": 4}
        assert after["W-strip"] == before["W-strip"] == DAY
        assert 7 * DAY in ground
        assert 7 * DAY not in fresh
        assert max(ground) == max(fresh)

    def test_a_release_later_than_the_wait_changes_nothing(self, job):
        """Twenty days for stone where fourteen are usual."""
        before = waits(job)
        keep(signed_in(), job, amount="20")
        assert waits(job) == before

    def test_stone_is_planned_sooner_and_the_date_says_by_whose_word(self, job):
        """The stone lies there already; the follower's story, the sheet and its table name the engineer."""
        Link.objects.filter(job=job, wait="W-lead").update(lag=0)
        client, stone = signed_in(), job.activities.get(template="set-stone", retired=False)
        after = {}
        for when in ("before", "with"):
            plan = published_plan()
            rows = [plan.rows.get(activity=row) for row in (pour_of(job), stone)]
            after[when] = rows[1].start - rows[0].finish
            keep(client, job)
        assert after["with"] < timedelta(days=14) <= after["before"]
        told = released_by(Release.objects.get())
        story = client.get(reverse("activity", args=[job.slug, stone.uid])).content.decode()
        assert f"4 days later, {told}" in story
        sheet = client.get(reverse("sheet", args=[job.slug])).content.decode()
        assert told in sheet

    def test_a_plan_made_before_is_stale(self, job):
        """The world's revision moves with it."""
        before = world_revision()
        keep(signed_in(), job)
        assert world_revision() != before

    def test_every_future_takes_the_engineers_time(self, job):
        """Neither cold nor luck stretches a wait that an engineer has set."""
        keep(signed_in(), job)
        hazards, _, _ = read_hazards(read_world(NOW), NOW)
        pour = pour_of(job).uid
        assert hazards.fixed == {(pour, wait) for wait in SHORTENS[Allows.BUILD]}
        published_plan()
        assert say_outlook(now=NOW, runs=20).outlooks

    def test_the_cure_says_from_when_and_by_whom(self, job):
        """A January pour cures for weeks; released it is built on after four days."""
        keep(signed_in(), job)
        poured = datetime(2027, 1, 13, 14, tzinfo=ZoneInfo("America/New_York"))
        told = tell_cure(job, poured, NOW, cement="Type I", releases=Release.objects.all())
        cured = next(row for row in told.dates if row.key == "cured")
        assert (cured.at, cured.by) == (poured + timedelta(days=4), "release")
        assert cured.released == "released by J. Moss, NC PE 20417, Mon 15 Jun"
        others = [row for row in told.dates if row.key != "cured"]
        assert all(row.by != "release" for row in others)


def test_of_two_releases_for_one_wait_the_earlier_counts():
    """Loads from day 5, building from day 4: the cure ends with day 4 for both."""
    told = shortened([(Allows.LOAD, 5), (Allows.BUILD, 4)])
    assert (told["W-cure"], told["W-machine"], told["W-stone"]) == (4, 5, 4)


def test_every_wait_and_date_a_release_names_is_in_the_library():
    """None would be honoured in vain."""
    library = current_library()
    assert set().union(*SHORTENS.values()) <= set(library.waits)
    assert set().union(*READY.values()) <= {*library.loads, *NAMES}


def test_what_is_allowed_later_changes_no_date():
    """30 h for stripping where 24 warm hours are enough."""
    loads = current_library().loads
    plain = cure_dates([70.0] * 24 * 30, loads, "Type I")
    assert cure_dates([70.0] * 24 * 30, loads, "Type I", released={"strip-forms": 30.0}) == plain
    sooner = cure_dates([70.0] * 24 * 30, loads, "Type I", released={"strip-forms": 12.0})
    assert next(row for row in sooner if row.key == "strip-forms").hours == 12
