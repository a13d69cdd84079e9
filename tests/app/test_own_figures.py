"""Figures of one's own: set by whom and when, shown beside ours, proposed to jobs, taken by a button."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils.html import escape

from crews.models import Role
from jobs.models import HistoryEntry, LibraryVersion, Override
from jobs.scheduling.sky.limits import MS_PER_MPH
from jobs.services.files.load_job import load_job
from jobs.services.numbers import library as libraries
from jobs.services.numbers.library import current_library, has_newer, library_for
from jobs.services.scope.take_numbers import propose
from jobs.services.sky.hazards import dryout_of, limits_by_work
from jobs.services.world.read_world import read_world
from jobs.trade.own_rows import figures_for
from jobs.weather.limits import Measure
from tests.office import NOW, SMALL_YARD, signed_in

pytestmark = pytest.mark.django_db
PATH = "dg-path"
"""Laying the crushed-stone path: 120 ft2 at 450 a day are 0.267 days; at 30 a day, 4."""
OURS, MINE = Decimal("0.267"), Decimal(4)


def keep(client, key=PATH, **told):
    """Post figures of one's own for a kind of work."""
    told = {"whose": "company", "low": "", "usual": "", "high": "", "least": "", **told}
    rows = Override.objects.filter(path__startswith=f"template {key} ").order_by("pk")
    told.setdefault("seen", " ".join(f"{row.pk}.{row.revision}" for row in rows))
    return client.post(reverse("own-template", args=[key]), told)


def typical(job):
    """The typical days of the path as stored."""
    return job.activities.get(template=PATH, retired=False).days


class TestSetting:
    """On the page of the kind of work."""

    def test_it_is_kept_with_who_when_and_why(self, job):
        """And shown beside ours."""
        client = signed_in()
        answer = keep(client, low="20", usual="30", high="40", why="our stone is angular")
        assert answer.status_code == 302
        row = Override.objects.get()
        assert (row.path, row.value, row.by) == (
            f"template {PATH} rate",
            ["20", "30", "40"],
            "Owner",
        )
        page = client.get(reverse("template", args=[PATH])).content.decode()
        assert "20 · 30 · 40" in page
        assert "our stone is angular" in page
        assert HistoryEntry.objects.latest("pk").what == "own figure set"

    @pytest.mark.parametrize(
        ("told", "field", "words"),
        [
            ({"low": "3", "usual": "2", "high": "1"}, "usual", "do not rise"),
            ({"low": "", "usual": "300", "high": "400"}, "low", "Give all three"),
            ({"low": "a", "usual": "b", "high": "c"}, "usual", "not a number"),
            ({"low": "1e9", "usual": "1e9", "high": "1e9"}, "usual", "20 times off"),
            ({"low": "1" * 50, "usual": "2", "high": "3"}, "low", "At most 12"),
            ({"low": "inf", "usual": "inf", "high": "inf"}, "usual", "not a number"),
            ({"least": "0"}, "least", "at least one person"),
            ({"least": "99"}, "least", "people at least, but"),
            ({"least": "<b>"}, "least", "not a number"),
            ({"whose": "the-moon", "least": "2"}, "whose", "none of the choices"),
        ],
    )
    def test_nonsense_is_told_beside_its_field(self, job, told, field, words):
        """With 422, and nothing is kept."""
        answer = keep(signed_in(), **told)
        page = answer.content.decode()
        assert answer.status_code == 422
        wrong = page.partition(f'id="id_{field}_wrong">')[2].partition("</p>")[0]
        assert words in wrong
        assert Override.objects.count() == 0

    def test_nothing_at_all_is_told(self, job):
        """An empty form is no figure."""
        answer = keep(signed_in())
        assert answer.status_code == 422
        assert "Write three figures, or the least people, or both." in answer.content.decode()

    def test_fewer_people_than_is_sound_need_a_reason(self, job):
        """Somebody must stand for it."""
        client = signed_in()
        assert keep(client, "pour-slab", least="2").status_code == 422
        assert keep(client, "pour-slab", least="2", why="power trowel").status_code == 302

    def test_a_shorter_wait_than_is_sound_needs_a_reason(self, job):
        """Half a day for the joints instead of a day at the least."""
        client, address = signed_in(), reverse("own-wait", args=["W-joint"])
        told = {"whose": "company", "low": "12", "usual": "24", "high": "72", "seen": ""}
        refused = client.post(address, told)
        assert "say who allows it" in refused.content.decode()
        assert client.post(address, told | {"why": "the maker's data"}).status_code == 302
        assert Override.objects.get().path == "wait W-joint figures"

    def test_below_a_published_least_of_concrete_no_reason_helps(self, job):
        """Only an engineer may, for one pour."""
        told = {"whose": "company", "low": "5", "usual": "7", "high": "9", "seen": "", "why": "me"}
        answer = signed_in().post(reverse("own-wait", args=["W-cure"]), told)
        assert answer.status_code == 422
        assert "recorded with that pour" in answer.content.decode()
        assert Override.objects.count() == 0

    def test_twice_is_once(self, job):
        """A double click changes nothing the second time."""
        client = signed_in()
        told = {"low": "20", "usual": "30", "high": "40", "seen": ""}
        assert keep(client, **told).status_code == 302
        assert keep(client, **told).status_code == 302
        assert Override.objects.get().revision == 1

    def test_the_second_of_two_editors_is_told(self, job):
        """Nothing is overwritten."""
        client = signed_in()
        keep(client, low="20", usual="30", high="40", seen="")
        page = keep(client, low="50", usual="60", high="70", seen="").content.decode()
        assert "nothing was overwritten" in page
        assert Override.objects.get().value == ["20", "30", "40"]

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_who_may_not_change_is_refused(self, job, role):
        """To set, to reset, to take."""
        keep(signed_in(), least="1", why="one is enough")
        client, pk = signed_in(role), Override.objects.get().pk
        assert keep(client, least="2").status_code == 403
        assert client.post(reverse("reset-own", args=[pk])).status_code == 403
        assert client.post(reverse("take-numbers", args=[job.slug])).status_code == 403
        assert (
            "Keep these as mine"
            not in client.get(reverse("template", args=[PATH])).content.decode()
        )


def entry(client, section, key, figure, typed, **told):
    """Post one figure of another row of the library by its name."""
    names = [one.name for one in figures_for(current_library(), section, key)]
    told = {"whose": "company", "seen": "", f"own_{names.index(figure)}": typed, **told}
    return client.post(reverse("own-entry", args=[section, key]), told)


class TestOtherRows:
    """Weather limits, machines, carrying, rules, notices, drying ground."""

    @pytest.mark.parametrize(
        ("section", "key"),
        [
            ("weather", "W4"),
            ("weather-of", "set-stone"),
            ("machine", "loader-stand-on"),
            ("carrier", "wheelbarrow"),
            ("rule", "saw-in-time"),
            ("notice", "SC"),
            ("dryout", "clay"),
        ],
    )
    def test_each_has_a_page_with_its_figures_and_sources(self, job, section, key):
        """In two queries beside who is signed in, and a form for who may change."""
        page = signed_in().get(reverse("entry", args=[section, key])).content.decode()
        for figure in figures_for(current_library(), section, key):
            assert escape(figure.words) in page
        assert "Keep these as mine" in page
        assert "Where this comes from" in page
        viewer = signed_in(Role.VIEWER)
        assert (
            "Keep these as mine"
            not in viewer.get(reverse("entry", args=[section, key])).content.decode()
        )
        assert entry(viewer, section, key, figure.name, "1").status_code == 403

    def test_what_is_not_there_is_not_found(self, job):
        """Neither a section nor a key."""
        client = signed_in()
        for args in (["weather", "W99"], ["gold", "W1"], ["rule", "none"]):
            assert client.get(reverse("entry", args=args)).status_code == 404
            assert client.post(reverse("own-entry", args=args), {}).status_code == 404

    def test_a_looser_limit_of_a_label_needs_the_product(self, job):
        """Wind to 12 mph where labels usually say 10."""
        client = signed_in()
        refused = entry(client, "weather", "W3", "wind_mph", "12")
        assert refused.status_code == 422
        assert "name the product" in refused.content.decode()
        assert entry(client, "weather", "W3", "wind_mph", "12", why="Product X").status_code == 302
        row = Override.objects.get()
        assert (row.path, row.value, row.why) == ("weather W3 wind_mph", "12", "Product X")
        page = client.get(reverse("entry", args=["weather", "W3"])).content.decode()
        assert "12 mph" in page
        assert "10 mph" in page

    @pytest.mark.parametrize(
        ("section", "key", "figure", "typed", "words"),
        [
            ("weather", "W4", "air_min_f", "30", "published limit"),
            ("notice", "SC", "least", "1", "the state&#x27;s law"),
            ("weather", "W1", "wind_mph", "<b>60</b>", "not a number"),
            ("weather", "W1", "wind_mph", "9" * 30, "At most 24"),
            ("dryout", "clay", "0.5", "3 2 1", "do not rise"),
        ],
    )
    def test_nonsense_and_what_the_law_forbids_is_told(
        self, job, section, key, figure, typed, words
    ):
        """Beside its field, with 422, nothing kept, what was typed still there."""
        answer = entry(signed_in(), section, key, figure, typed)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert words in page
        assert f'value="{escape(typed)}"' in page
        assert Override.objects.count() == 0

    def test_an_empty_form_is_told(self, job):
        """Nothing is no figure."""
        answer = entry(signed_in(), "weather", "W1", "wind_mph", "")
        assert "Write a figure, at least one." in answer.content.decode()

    def test_it_is_proposed_told_and_taken_by_the_job_alone(self, job):
        """Spraying stops at 8 mph instead of 10, once the job takes it."""
        client = signed_in()
        shrubs = job.activities.get(template="plant-shrubs").uid
        entry(client, "weather-of", "plant-shrubs", "wind_mph", "15", whose=job.slug)
        limits = limits_by_work(read_world(NOW))[shrubs]
        assert min(it.figure for it in limits if it.measure is Measure.WIND) == 25 * MS_PER_MPH
        job.refresh_from_db()
        [change] = propose(job).figures
        assert change == ("Plant shrubs, wind, at most", "25 mph", "15 mph")
        page = client.get(reverse("numbers", args=[job.slug])).content.decode()
        assert "Plant shrubs, wind, at most" in page
        client.post(reverse("take-numbers", args=[job.slug]), {"seen": propose(job).seen})
        limits = limits_by_work(read_world(NOW))[shrubs]
        assert min(it.figure for it in limits if it.measure is Measure.WIND) == 15 * MS_PER_MPH
        job.refresh_from_db()
        assert propose(job) is None

    def test_a_drying_table_of_ones_own_is_gone_by(self, job):
        """Loam that needs four days after half an inch."""
        client = signed_in()
        entry(client, "dryout", "loam", "0.5", "2, 4, 5")
        entry(client, "dryout", "loam", "1", "3 5 6", seen=seen_of("dryout loam"))
        job.refresh_from_db()
        client.post(reverse("take-numbers", args=[job.slug]), {"seen": propose(job).seen})
        job.refresh_from_db()
        usual = {band.rain_in: band.usual for band in dryout_of(job).bands}
        assert (usual[Decimal("0.5")], usual[Decimal(1)]) == (4, 5)

    def test_a_longer_notice_moves_the_call(self, job):
        """Four business days instead of three: the wait after the call is longer."""
        client = signed_in()
        entry(client, "notice", "NC", "least", "5")
        job.refresh_from_db()
        told = propose(job)
        assert any("3 business days" in c.was and "5 business days" in c.now for c in told.waits)


def seen_of(prefix):
    """What an editor sees now below a path."""
    rows = Override.objects.filter(path__startswith=prefix).order_by("path")
    return " ".join(f"{row.pk}.{row.revision}" for row in rows)


class TestTaking:
    """A job keeps its numbers until somebody takes the new ones."""

    def test_a_new_figure_is_proposed_and_not_applied(self, job):
        """Ten times slower: the page says what would change, the job stands."""
        before = typical(job)
        client = signed_in()
        keep(client, low="20", usual="30", high="40")
        job.refresh_from_db()
        assert (typical(job), has_newer(job)) == (before, True)
        takeoff = client.get(reverse("job", args=[job.slug])).content.decode()
        assert "There are newer numbers" in takeoff
        [change] = propose(job).works
        assert change.what == "Lay crushed-stone path, front path"

    def test_it_is_taken_by_a_button_and_can_be_taken_back(self, job):
        """Ours again after a reset, on the job's word too; the activity stays the same one."""
        client = signed_in()
        uid = job.activities.get(template=PATH).uid
        keep(client, low="20", usual="30", high="40")
        seen = propose(job).seen
        client.post(reverse("take-numbers", args=[job.slug]), {"seen": seen})
        job.refresh_from_db()
        assert (typical(job), propose(job)) == (MINE, None)
        client.post(reverse("reset-own", args=[Override.objects.get().pk]))
        job.refresh_from_db()
        assert typical(job) == MINE
        client.post(reverse("take-numbers", args=[job.slug]), {"seen": propose(job).seen})
        assert typical(job) == OURS
        assert job.activities.get(template=PATH).uid == uid

    def test_a_changed_scope_keeps_the_numbers_of_the_job(self, job):
        """Expanding again, for whatever reason, brings no new figure in."""
        client = signed_in()
        keep(client, low="20", usual="30", high="40")
        item = job.items.get(assembly="stone-path")
        address = reverse("item", args=[job.slug, item.uid])
        client.post(address, {"area": "120 ft2", "revision": item.revision})
        job.refresh_from_db()
        assert library_for(job).templates[PATH].rate == current_library().templates[PATH].rate
        assert has_newer(job) is True

    def test_a_new_job_has_the_newest_at_once(self, job):
        """There is nothing to propose where nothing was promised."""
        keep(signed_in(), low="20", usual="30", high="40")
        other = load_job(SMALL_YARD.replace("3 Finch", "5 Finch"), by="test", now=NOW)
        assert (typical(other), typical(job)) == (MINE, OURS)
        assert has_newer(other) is False

    def test_a_figure_for_one_job_is_for_that_one(self, job):
        """And wins over the company's."""
        other = load_job(SMALL_YARD.replace("3 Finch", "5 Finch"), by="test", now=NOW)
        client = signed_in()
        keep(client, low="100", usual="150", high="200")
        keep(client, low="20", usual="30", high="40", whose=job.slug)
        for one in (job, other):
            client.post(reverse("take-numbers", args=[one.slug]), {"seen": propose(one).seen})
        job.refresh_from_db()
        other.refresh_from_db()
        rates = [library_for(one).templates[PATH].rate for one in (job, other)]
        assert rates == [(20, 30, 40), (100, 150, 200)]

    def test_numbers_that_changed_while_one_looked_are_not_taken(self, job):
        """What is taken is what was seen."""
        client, before = signed_in(), typical(job)
        keep(client, low="20", usual="30", high="40")
        seen = propose(job).seen
        keep(client, low="100", usual="150", high="200")
        answer = client.post(reverse("take-numbers", args=[job.slug]), {"seen": seen}, follow=True)
        assert "changed again while you looked" in answer.content.decode()
        assert typical(job) == before


class TestVersions:
    """A job goes on with the library it was made with."""

    @pytest.fixture
    def newer(self, job, tmp_path, monkeypatch):
        """A library in which the path takes three times as long, as if the program had been updated."""
        for file in libraries.FOLDER.glob("*.toml"):
            text = file.read_text("utf-8")
            head, found, tail = text.partition("[template.dg-path]")
            if found:
                old = tail.partition("rate = [")[2].partition("]")[0]
                slower = ", ".join(str(int(figure) // 2) for figure in old.split(","))
                text = head + found + tail.replace(old, slower, 1)
            (tmp_path / file.name).write_text(text, "utf-8")
        old_folder = libraries.FOLDER
        monkeypatch.setattr(libraries, "FOLDER", tmp_path)
        libraries.current_library.cache_clear()
        yield current_library()
        monkeypatch.setattr(libraries, "FOLDER", old_folder)
        libraries.current_library.cache_clear()

    def test_the_version_is_kept_with_its_text(self, job):
        """Once, by the first job that is reckoned with it."""
        row = LibraryVersion.objects.get(version=job.library)
        assert sorted(row.files) == sorted(f.name for f in libraries.FOLDER.glob("*.toml"))

    def test_an_update_is_proposed_and_the_job_stands(self, job, newer):
        """The old figures go on being used until the new ones are taken."""
        job.refresh_from_db()
        assert job.library != newer.version
        assert library_for(job).version == job.library
        assert library_for(job).templates[PATH].rate != newer.templates[PATH].rate
        proposal = propose(job)
        assert proposal.newer_library is True
        assert [change.what for change in proposal.works] == ["Lay crushed-stone path, front path"]

    def test_the_update_is_taken_by_the_button(self, job, newer):
        """From then on the job is of the new version: 120 ft2 at 225 a day."""
        signed_in().post(reverse("take-numbers", args=[job.slug]), {"seen": propose(job).seen})
        job.refresh_from_db()
        assert job.library == newer.version
        assert typical(job) == Decimal("0.533")


def test_the_numbers_page_says_what_would_change(job):
    """Before and after, and a button only for those who may."""
    keep(signed_in(), low="20", usual="30", high="40")
    address = reverse("numbers", args=[job.slug])
    page = signed_in().get(address).content.decode()
    assert "Lay crushed-stone path, front path" in page
    assert "Take these numbers" in page
    looker = signed_in(Role.VIEWER).get(address).content.decode()
    assert "Take these numbers" not in looker
