"""The page of what was measured on site: in the office and on a crew's phone."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from crews.models import Crew, Role
from crews.services.crew_phone import give_out
from crews.services.today import wall_now
from jobs.forms.on_site import QUESTIONS
from jobs.services.pages.on_site import answers
from jobs.services.telling.words import LANGUAGES
from tests.office import open_office, signed_in

pytestmark = pytest.mark.django_db
PIT = {"ask": "pit", "depth": "5 ft", "ladder": "30 ft", "back": "1 ft"}
FILLED = {
    "pit": PIT,
    "wire": {"how": "pvc", "outside": "1.315 in"},
    "water": {"edge": "2 ft"},
    "saw": {"hours": "5"},
    "truck": {"concrete": "96", "minutes": "100"},
    "drying": {"concrete": "85", "air": "80", "humidity": "30", "wind": "15"},
    "mortar": {"mortar": "121"},
    "slab": {"days": "7", "kept": "50", "cement": "type-i", "tested": "70"},
    "barrow": {"yards": "8", "load": "4", "feet": "50", "soft": "on"},
    "corner": {"first": "48 in", "second": "48 in", "width": "36 in"},
}


def test_a_deep_pit_is_answered(django_assert_num_queries):
    """Its sides, its way out, its heap; the question stays open with what was typed."""
    open_office()
    browser = signed_in(Role.LEAD)
    page = browser.get(reverse("on-site"), PIT).content.decode()
    for words in ("sides are shored", "The way out is too far", "The heap is too near"):
        assert words in page
    assert 'value="30 ft"' in page
    assert page.count(" open>") == 1


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"ask": "pit", "depth": "deep"}, {"depth": "A length with its unit, like 4 ft 6 in."}),
        (
            {"ask": "slab", "days": "a week", "kept": "900", "cement": "mud"},
            {
                "days": "A number from 0 to 1,000.",
                "kept": "A number from -40 to 250.",
                "cement": "Choose one of the list.",
            },
        ),
        ({"ask": "saw"}, {"hours": "This is needed for an answer."}),
    ],
)
def test_nonsense_is_told_beside_its_field(asked, said):
    """A depth of nothing, an age that is no number, a slab kept in an oven, no hours at all."""
    open_office()
    page = signed_in().get(reverse("on-site"), asked).content.decode()
    for name, words in said.items():
        assert f'<p class="wrong" id="{asked["ask"]}_{name}_error">{words}</p>' in page
    assert page.count('class="wrong"') == len(said)


def test_a_question_nobody_asks_opens_nothing():
    """The address is anybody's to type."""
    open_office()
    page = signed_in().get(reverse("on-site"), {"ask": "the moon"}).content.decode()
    assert " open>" not in page


def test_a_stranger_is_sent_away():
    """The office signs in, a phone nobody knows gets nothing."""
    open_office()
    assert Client().get(reverse("on-site")).status_code == 302
    assert Client().get(reverse("crew-on-site")).status_code == 404


def test_a_crew_s_phone_asks_in_its_own_language():
    """In Spanish, without signing in; the crew's page leads there."""
    open_office()
    crew = Crew.objects.order_by("pk")[0]
    Crew.objects.filter(pk=crew.pk).update(language="es")
    _, token = give_out(crew, "Ines", wall_now())
    phone = Client()
    phone.post(reverse("crew-set-up", args=[token]))
    assert reverse("crew-on-site") in phone.get(reverse("crew-page")).content.decode()
    page = phone.get(reverse("crew-on-site"), PIT).content.decode()
    assert '<html lang="es">' in page
    assert "La salida está demasiado lejos" in page
    assert "Sign in" not in page


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("form", QUESTIONS, ids=lambda form: form.kind)
def test_every_question_is_answered_in_every_language(form, language):
    """Ten questions filled in: each says something."""
    asked = form(FILLED[form.kind] | {"ask": form.kind}, language)
    assert asked.is_valid(), asked.errors
    assert answers(form.kind, asked.cleaned_data, language)
