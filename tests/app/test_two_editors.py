"""Two people edit the same thing: the second is told, keeps what was typed, and decides. Today is Tuesday 16 June 2026."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from jobs.models import Company, Job, Override, Release
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from jobs.services.storm.answer_order import Signature, decline
from jobs.services.storm.change_orders import Wording, ask
from jobs.views.errors import TYPED_BELOW
from tests.office import NOW, SLAB, SLUG, SMALL_YARD, open_office, signed_in

pytestmark = pytest.mark.django_db
WHO = Who("test", NOW)
SEEN = re.compile(r'type="hidden" name="(?:revision|seen)" value="([^"]*)"')
"""On top of what a form is filled in."""


@pytest.fixture
def yard() -> Job:
    """A front path and a bed with a slab, not planned."""
    open_office()
    return load_job(SMALL_YARD + SLAB, by="test", now=NOW)


def seen_on(page) -> str:
    """What the first form of a page is filled in on top of."""
    return SEEN.search(page.content.decode()).group(1)


def check_second_is_told(address, name, theirs, mine, typed, *, shown=None):
    """Mine is refused once and stands on the page as typed; kept again, it is in place of theirs."""
    client = signed_in()
    seen = {name: seen_on(client.get(shown or address))}
    assert client.post(address, theirs | seen).status_code == 302
    refused = client.post(address, mine | seen)
    page = refused.content.decode()
    assert (refused.status_code, TYPED_BELOW in page, typed in page) == (422, True, True)
    assert client.post(address, mine | {name: seen_on(refused)}).status_code == 302


def check_mistyped_sees_nothing(address, name, theirs, wrong, mine, *, shown=None):
    """Who mistyped something while it was changed is told of that change at the next sending."""
    client = signed_in()
    seen = {name: seen_on(client.get(shown or address))}
    assert client.post(address, theirs | seen).status_code == 302
    mistyped = client.post(address, wrong | seen)
    assert (mistyped.status_code, TYPED_BELOW in mistyped.content.decode()) == (422, False)
    told = client.post(address, mine | {name: seen_on(mistyped)})
    assert (told.status_code, TYPED_BELOW in told.content.decode()) == (422, True)


class TestCompany:
    """Name, place and the hours of most days."""

    FACTS = {
        "name": "Quillback Yards", "state": "OR", "zone": "America/Los_Angeles", "phone": "555-0110",
        "units": "metric", "starts": "06:30", "lunch": "45", "finding_days": "5",
    }  # fmt: skip

    def test_the_second_keeps_what_was_typed(self, owner):
        """The name of the second stands there and wins when kept again."""
        mine = self.FACTS | {"name": "Second Yards"}
        check_second_is_told(
            reverse("settings"), "revision", self.FACTS, mine, 'value="Second Yards"'
        )
        assert Company.objects.get().name == "Second Yards"

    def test_mistyping_overwrites_nobody(self, owner):
        """A wrong lunch first, then told of the other name."""
        check_mistyped_sees_nothing(
            reverse("settings"), "revision", self.FACTS,
            self.FACTS | {"lunch": "-1"}, self.FACTS | {"name": "Second Yards"},
        )  # fmt: skip
        assert Company.objects.get().name == "Quillback Yards"


class TestStage:
    """Where a job stands."""

    PAUSE = {"state": "paused", "paused_from": "2026-06-29", "paused_until": "2026-07-13"}
    MINE = PAUSE | {"paused_until": "2026-07-20"}

    def test_the_second_keeps_what_was_typed(self, yard):
        """The later end of the pause."""
        check_second_is_told(
            reverse("stage", args=[SLUG]), "revision", self.PAUSE, self.MINE, 'value="2026-07-20"'
        )

    def test_mistyping_overwrites_nobody(self, yard):
        """A pause without an end first."""
        check_mistyped_sees_nothing(
            reverse("stage", args=[SLUG]), "revision", self.PAUSE,
            self.PAUSE | {"paused_until": ""}, self.MINE,
        )  # fmt: skip


class TestYard:
    """The job's facts, its zones and its ways in, all on one page."""

    def told(self, page, **changes):
        """What the page posts, unchanged but for what is told."""
        forms = (page["form"], page["asks"], *page["zones"], *page["ways"])
        told = {form.add_prefix(name): form[name].value() for form in forms for name in form.fields}
        for rows in (page["zones"], page["ways"]):
            told |= {f"{rows.prefix}-{k}": v for k, v in rows.management_form.initial.items()}
        return {key: value for key, value in told.items() if value is not None} | changes

    def test_the_second_keeps_what_was_typed(self, yard):
        """A zone's new name and a wider gate."""
        address = reverse("yard", args=[SLUG])
        told = self.told(signed_in().get(address).context)
        theirs = told | {"zone-0-name": "Front walk"}
        mine = told | {"zone-0-name": "Entry walk", "way-0-width": "4 ft"}
        check_second_is_told(address, "seen", theirs, mine, 'value="Entry walk"')
        assert yard.zones.filter(name="Entry walk").exists()

    def test_mistyping_overwrites_nobody(self, yard):
        """A slope no cart climbs first."""
        address = reverse("yard", args=[SLUG])
        told = self.told(signed_in().get(address).context)
        theirs = told | {"zone-0-name": "Front walk"}
        check_mistyped_sees_nothing(address, "seen", theirs, told | {"way-0-slope": "300"}, told)
        assert yard.zones.filter(name="Front walk").exists()


class TestClimate:
    """The place a yard's odds go by."""

    def test_the_second_keeps_what_was_chosen(self, yard):
        """The place chosen stays chosen in the list."""
        page = signed_in().get(reverse("climate", args=[SLUG]))
        first, second = (key for key, _ in page.context["place"]["station"].field.choices[1:3])
        check_second_is_told(
            reverse("set-climate-place", args=[SLUG]), "seen",
            {"station": first}, {"station": second}, f'value="{second}" selected',
            shown=reverse("climate", args=[SLUG]),
        )  # fmt: skip

    def test_mistyping_overwrites_nobody(self, yard):
        """A place that is none first."""
        page = signed_in().get(reverse("climate", args=[SLUG]))
        first, second = (key for key, _ in page.context["place"]["station"].field.choices[1:3])
        check_mistyped_sees_nothing(
            reverse("set-climate-place", args=[SLUG]), "seen",
            {"station": first}, {"station": "the moon"}, {"station": second},
            shown=reverse("climate", args=[SLUG]),
        )  # fmt: skip


class TestChangeOrder:
    """The paper and its answer."""

    MINE = {"does": "reword", "title": "A curved path", "scope": "Nine feet wide", "amount": "900"}

    @pytest.fixture
    def order(self, yard):
        """On paper."""
        return ask(yard, Wording("A wider path"), WHO)

    def test_the_second_keeps_what_was_typed(self, order):
        """The words of the second, and his signature below theirs."""
        address = reverse("change-order", args=[SLUG, 1])
        theirs = {"does": "reword", "title": "A much wider path", "scope": "", "amount": ""}
        check_second_is_told(address, "revision", theirs, self.MINE, "Nine feet wide")
        signed = {"does": "decline", "signed-by": "R. Vale", "signed-on": "2026-06-16"}
        check_second_is_told(address, "revision", theirs, signed, 'value="R. Vale"')

    def test_mistyping_overwrites_nobody(self, order):
        """An amount in words first."""
        theirs = {"does": "reword", "title": "A much wider path", "scope": "", "amount": ""}
        check_mistyped_sees_nothing(
            reverse("change-order", args=[SLUG, 1]), "revision", theirs,
            self.MINE | {"amount": "plenty"}, self.MINE,
        )  # fmt: skip

    def test_words_for_an_answered_one_stay_to_be_copied(self, order):
        """It cannot be kept any more: why, and what was typed."""
        decline(order, Signature("R. Vale", NOW.date()), WHO, revision=1)
        answer = signed_in().post(
            reverse("change-order", args=[SLUG, 1]), self.MINE | {"revision": "1"}
        )
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "change order 1 was declined on 2026-06-16: write another one" in page
        assert "Nine feet wide" in page


class TestOwnFigures:
    """Of a kind of work and of a wait; other rows have the same form."""

    def test_the_second_keeps_the_paces_typed(self, owner):
        """Of a kind of work."""
        theirs = {"whose": "company", "low": "20", "usual": "30", "high": "40"}
        mine = theirs | {"high": "41.5"}
        check_second_is_told(
            reverse("own-template", args=["dg-path"]), "seen", theirs, mine, 'value="41.5"',
            shown=reverse("template", args=["dg-path"]),
        )  # fmt: skip
        assert Override.objects.get().value == ["20", "30", "41.5"]

    def test_the_second_keeps_the_hours_typed(self, owner):
        """Of a wait."""
        theirs = {"whose": "company", "low": "24", "usual": "36", "high": "72"}
        mine = theirs | {"high": "71.5"}
        check_second_is_told(
            reverse("own-wait", args=["W-joint"]), "seen", theirs, mine, 'value="71.5"',
            shown=reverse("wait", args=["W-joint"]),
        )  # fmt: skip

    def test_mistyping_overwrites_nobody(self, owner):
        """Two figures of three first."""
        theirs = {"whose": "company", "low": "20", "usual": "30", "high": "40"}
        check_mistyped_sees_nothing(
            reverse("own-template", args=["dg-path"]), "seen", theirs,
            theirs | {"high": ""}, theirs | {"high": "41.5"},
            shown=reverse("template", args=["dg-path"]),
        )  # fmt: skip


class TestRelease:
    """An engineer's letter for one pour."""

    LETTER = {
        "allows": "build", "amount": "4", "unit": "days", "engineer": "J. Moss",
        "licence": "NC PE 20417", "signed_on": "2026-06-15", "note": "cylinders at 3,100 psi",
    }  # fmt: skip

    def address(self, yard):
        """The page of the pour's releases."""
        pour = yard.activities.get(template="pour-slab", retired=False)
        return reverse("release", args=[SLUG, pour.uid])

    def test_the_second_keeps_what_was_typed(self, yard):
        """A letter is long to type."""
        mine = self.LETTER | {"note": "rebound hammer"}
        check_second_is_told(
            self.address(yard), "seen", self.LETTER, mine, 'value="rebound hammer"'
        )
        assert Release.objects.get().note == "rebound hammer"

    def test_mistyping_overwrites_nobody(self, yard):
        """A letter of tomorrow first."""
        mine = self.LETTER | {"note": "rebound hammer"}
        wrong = mine | {"signed_on": "2026-06-17"}
        check_mistyped_sees_nothing(self.address(yard), "seen", self.LETTER, wrong, mine)
