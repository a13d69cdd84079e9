"""Names of works, machines and cautions in the languages crews read: complete, and their figures exact."""

from __future__ import annotations

import re
from collections import Counter
from types import SimpleNamespace

import pytest

from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import (
    alert_name,
    caution_text,
    machine_name,
    names_in,
    work_name,
)

FIGURE = re.compile(r"\d+(?:\.\d+)?")
SPANISH = names_in("es")


def english() -> dict[str, dict[str, str]]:
    """What the library calls things, by kind and key."""
    library = current_library()
    return {
        "work": {key: one.name for key, one in library.templates.items()},
        "machine": {key: one.name for key, one in library.machines.items()},
        "caution": {key: one.text for key, one in library.cautions.items()},
    }


@pytest.mark.parametrize("kind", ["work", "machine", "caution"])
def test_everything_a_crew_reads_has_a_spanish_name(kind):
    """Nothing is left out, and nothing is named that the library has no more."""
    assert sorted(SPANISH[kind]) == sorted(english()[kind])


@pytest.mark.parametrize("kind", ["work", "machine", "caution"])
def test_figures_are_the_same_in_both_languages(kind):
    """A distance, a temperature, a weight: a caution with another one would be a danger."""
    told = english()[kind]
    differing = {
        key: (FIGURE.findall(text), FIGURE.findall(SPANISH[kind][key]))
        for key, text in told.items()
        if Counter(FIGURE.findall(text)) != Counter(FIGURE.findall(SPANISH[kind][key]))
    }
    assert differing == {}


def test_a_work_keeps_its_place_and_a_name_of_its_own():
    """Only what the library named is put into another language."""

    def said(template: str, name: str, language: str = "es") -> str:
        return work_name(SimpleNamespace(template=template, name=name), language)  # type: ignore[arg-type]

    assert said("set-stone", "Set stone, upper patio") == "Asentar la piedra, upper patio"
    assert said("set-stone", "Set stone, upper patio", "en") == "Set stone, upper patio"
    assert said("set-stone", "The big slab") == "The big slab"
    assert said("", "Fetch the fountain") == "Fetch the fountain"


def test_machines_and_cautions_are_said_in_english_unless_asked_otherwise():
    """What the library does not know is said as it is, or not at all."""
    assert (machine_name("mixer"), machine_name("mixer", "es")) == (
        "Mortar mixer",
        "Mezcladora de mortero",
    )
    assert (machine_name("hovercraft", "es"), caution_text("dragons", "es")) == ("hovercraft", "")
    assert caution_text("falls", "es") == "Desde 6 pies de altura hay protección contra caídas."


def test_an_alert_is_named_in_the_language_of_the_crew():
    """As the weather service names it; one nobody has put into Spanish stays as it came."""
    assert alert_name("Tornado Warning") == "Tornado Warning"
    assert alert_name("Tornado Warning", "es") == "Aviso de tornado"
    assert alert_name("Dust Advisory", "es") == "Dust Advisory"
