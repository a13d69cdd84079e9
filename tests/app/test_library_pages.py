"""The library's pages: everything it knows is told, and told where it is from."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from crews.models import Role
from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import rule_how, said_by, span_words, weather_limits
from jobs.services.pages.entry import read_entry
from jobs.services.pages.library import GROUPS, entry_keys, read_library_page
from jobs.trade.own_rows import row_of
from jobs.trade.work import Clock
from tests.office import open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
LIBRARY = current_library()


class TestAccess:
    """Everybody signed in may read."""

    PAGES = (
        reverse("library"),
        reverse("template", args=["pour-slab"]),
        reverse("wait", args=["W-cure"]),
    )

    def test_strangers_sign_in_first(self):
        """No page without a sign-in."""
        assert [Client().get(page).status_code for page in self.PAGES] == [302, 302, 302]

    @pytest.mark.parametrize("role", list(Role))
    def test_every_role_reads(self, role):
        """Owner, scheduler, lead and viewer."""
        client = signed_in(role)
        assert [client.get(page).status_code for page in self.PAGES] == [200, 200, 200]

    @pytest.mark.parametrize("name", ["template", "wait"])
    def test_what_is_not_known_is_not_found(self, name):
        """A page of nothing is no page."""
        assert signed_in().get(reverse(name, args=["moonwalk"])).status_code == 404


class TestTemplates:
    """Each kind of work tells its people, paces, weather, rules and sources."""

    @pytest.mark.parametrize("key", LIBRARY.templates)
    def test_nothing_known_is_left_unsaid(self, key):
        """Every reason of every rule, every caution, every source with its status."""
        page = signed_in().get(reverse("template", args=[key])).content.decode()
        one = LIBRARY.templates[key]
        rules = [rule for rule in LIBRARY.rules if key in (*rule.before, *rule.after)]
        told = [one.name, one.advice, LIBRARY.crews[one.crew].name]
        told += [rule.why for rule in rules]
        told += [LIBRARY.cautions[name].text for name in one.cautions]
        told += [LIBRARY.sources[code].title for code in one.source.split("; ")]
        assert [words for words in told if escape(words) not in page] == []

    def test_figures_of_a_pour(self):
        """600, 800 and 1,000 square feet a day for four, three at the least."""
        page = signed_in().get(reverse("template", args=["pour-slab"])).content.decode()
        row = '<td>usual</td><td class="number">600</td><td class="number">800</td><td class="number">1,000</td>'
        assert row in page
        assert "3 at the least, 4 usual" in page

    def test_rules_are_told_from_both_sides(self):
        """The pour says that joints come after it, the joints that they come after the pour."""
        rule = next(r for r in LIBRARY.rules if r.after == ("saw-joints",) and r.truth == 35)
        told = rule_how(rule, LIBRARY.waits)
        pour, joints = (
            signed_in().get(reverse("template", args=[key])).content.decode()
            for key in ("pour-slab", "saw-joints")
        )
        assert told == "in the same place, then 4 hours, at most 24 hours later"
        assert (told in pour, told in joints) == (True, True)


@pytest.mark.parametrize("key", LIBRARY.waits)
def test_every_wait_tells_its_three_figures_and_why(key):
    """Least, usual and most, with the reason and the source."""
    page = signed_in().get(reverse("wait", args=[key])).content.decode()
    one = LIBRARY.waits[key]
    figures = [span_words(n, one.unit, one.clock) for n in (one.least, one.usual, one.high)]
    told = [*figures, escape(one.why), escape(said_by(one.source))]
    assert [words for words in told if words not in page] == []


class TestWords:
    """Figures as people say them."""

    def test_limits_of_concrete(self):
        """Each limit of the class once, in order of rain, wind, heat."""
        assert weather_limits(LIBRARY.weather["W4"]) == (
            "No work in any rain.",
            "Dry for 12 hours after.",
            "No wind above 25 mph.",
            "Not below 40 °F.",
            "The concrete itself no hotter than 95 °F.",
            "No more than 0.2 lb of water a square foot and hour may dry off it.",
            "Base firm, no standing water, nothing frozen.",
        )

    @pytest.mark.parametrize(
        ("amount", "unit", "clock", "told"),
        [
            ("1", "h", Clock.ELAPSED, "1 hour"),
            ("7", "d", Clock.ELAPSED, "7 days"),
            ("8.28", "d", Clock.ELAPSED, "8.28 days"),
            ("2", "d", Clock.WORK, "2 working days"),
            ("3", "bd", Clock.BUSINESS, "3 business days"),
        ],
    )
    def test_spans(self, amount, unit, clock, told):
        """One is one, the others are several."""
        assert span_words(Decimal(amount), unit, clock) == told

    def test_custom_is_said_in_words(self):
        """No reader knows our codes for it."""
        assert said_by("ACI 308.1; CP") == "ACI 308.1; common practice"


class TestSearch:
    """By every word, in names, crews, machines, advice and what is built."""

    def test_nothing_looked_for_shows_everything(self):
        """All kinds of work and all waits."""
        page = read_library_page()
        assert (page.found, len(page.waits)) == (len(LIBRARY.templates), len(LIBRARY.waits))

    def test_every_word_must_be_there(self):
        """Boxed trees of 36 inches only."""
        rows = [row for group in read_library_page("  PLANT 36-in ").groups for row in group.rows]
        assert [row.key for row in rows] == ["plant-box-36"]

    def test_while_one_types_only_the_part_is_answered(self):
        """The form stays, so that nobody loses the place in the word."""
        answer = signed_in().get(
            reverse("library"), {"q": "sod"}, headers={"HX-Request": "true", "HX-Target": "found"}
        )
        page = answer.content.decode()
        assert page.strip().startswith('<div class="stack" id="found">')
        assert "Lay sod" in page

    @pytest.mark.parametrize(
        "query", ["xyzzy", "<script>alert(1)</script>", "x" * 5000, "' OR 1=1"]
    )
    def test_nonsense_is_answered_calmly(self, query):
        """Nothing found, the way back, and nothing typed is run."""
        page = signed_in().get(reverse("library"), {"q": query}).content.decode()
        assert "Nothing is called that" in page
        assert "<script>alert" not in page


def test_a_story_leads_to_what_the_library_knows():
    """From an activity of a yard to its kind of work."""
    open_office()
    job = small_job()
    published_plan()
    path = job.activities.get(template="dg-path")
    page = signed_in().get(reverse("activity", args=[job.slug, path.uid])).content.decode()
    assert f'href="{reverse("template", args=["dg-path"])}"' in page


def test_each_of_the_62_truths_is_found_by_what_it_says():
    """Looked for by the words of its reason, its rule is listed; each rule opens on a page of its own."""
    found = set()
    for rule in LIBRARY.rules:
        rows = [row for group in read_library_page(rule.why).others for row in group.rows]
        assert ("rule", rule.id) in {(row.section, row.key) for row in rows}
        found |= set(rule.truths)
    assert found == set(range(1, 63))


@pytest.mark.parametrize("section", list(GROUPS))
def test_every_other_row_tells_where_it_is_from(section):
    """Each source of each row has a title and says whether it was read."""
    for key in entry_keys(LIBRARY, section):
        page = read_entry(section, key)
        assert [row.code for row in page.sources] == source_codes(section, key)
        assert all(row.title and row.status for row in page.sources)
        assert page.name


def source_codes(section, key):
    """The codes of a row's source, each once."""
    return list(dict.fromkeys(row_of(LIBRARY, section, key).source.split("; ")))


def test_every_table_plans_look_things_up_in_is_shown_with_its_source():
    """Loads on slabs, trees, ways of pouring, soils, gates, wire: each row, and found by its words."""
    groups = {group.word: group.rows for group in read_library_page().facts}
    tables = (
        LIBRARY.loads, LIBRARY.trees, LIBRARY.placings, LIBRARY.soils, LIBRARY.gates, LIBRARY.covers,
    )  # fmt: skip
    assert [len(rows) for rows in groups.values()] == [len(table) for table in tables]
    assert all(row.told and row.source for rows in groups.values() for row in rows)
    [group] = read_library_page("foot 24 hours").facts
    assert group.rows == (
        ("People on foot", "not before 24 hours, 48 hours below 50 °F", "common practice"),
    )
    told = {row.name: row.told for row in groups["On a new slab"]}
    assert told["Stand-on loader on plywood"] == (
        "not before 7 days and 75% of its strength, both; up to 3,000 lb"
    )
