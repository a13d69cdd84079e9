"""The word catalogue: complete in every language, and dates spoken as on a job site."""

from __future__ import annotations

import ast
import re
import tomllib
from collections import Counter
from pathlib import Path
from string import Formatter
from typing import TYPE_CHECKING

import pytest

from jobs.services.telling import words
from jobs.services.telling.words import BadWords, catalogue, say
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parents[2]


def placeholders(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def keys_of(language: str) -> list[str]:
    files = words.FOLDER.glob(f"*.{language}.toml")
    return [key for path in files for key in tomllib.loads(path.read_text("utf-8"))]


def test_every_key_is_worded_in_every_language():
    """Nobody is left without a sentence because of the language he reads."""
    assert keys_of("en")
    assert sorted(keys_of("es")) == sorted(keys_of("en"))


@pytest.mark.parametrize("language", words.LANGUAGES)
def test_no_key_stands_in_two_files(language):
    """A key has one wording, in one place."""
    assert [key for key, times in Counter(keys_of(language)).items() if times > 1] == []


def test_every_language_names_the_same_values():
    """A translation says all that the English sentence says, and nothing it is not given."""
    english, spanish = catalogue("en"), catalogue("es")
    differing = {
        key: (placeholders(text), placeholders(spanish[key]))
        for key, text in english.items()
        if placeholders(text) != placeholders(spanish[key])
    }
    assert differing == {}


def test_every_sentence_is_said_somewhere():
    """A key stands in the program or the library, or is put together of words that do."""
    texts, shapes = said_in_the_program()
    assert len(texts) > len(keys_of("en"))

    def stands(key: str, depth: int = 3) -> bool:
        if key in texts or key.isdigit():
            return True
        found = (shape.fullmatch(key) for shape in shapes) if depth else ()
        return any(all(stands(gap, depth - 1) for gap in it.groups()) for it in found if it)

    assert [key for key in keys_of("en") if not stands(key)] == []
    assert not stands("explain-what-nobody-says")


def said_in_the_program() -> tuple[set[str], list[re.Pattern[str]]]:
    """Return texts of our code, templates and trade library, and texts with gaps as patterns."""
    texts, shapes = {""}, set()
    for file in (*ROOT.glob("jobs/**/*.py"), *ROOT.glob("crews/**/*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                parts = [getattr(part, "value", None) for part in node.values]
                shape = "".join(
                    re.escape(it) if isinstance(it, str) else "([a-z0-9-]*)" for it in parts
                )
                if re.search(r"[a-z]\\-|\\-[a-z(]", shape):
                    shapes.add(shape)
    for file in ROOT.glob("fixtures/trade/*.toml"):
        texts.update(told_in(tomllib.loads(file.read_text("utf-8"))))
    for file in ROOT.glob("templates/**/*.html"):
        html = file.read_text("utf-8")
        texts.update(re.findall(r'"([^"]+)"', html) + re.findall(r'told "([^"]+)"', html))
    return texts, [re.compile(shape) for shape in sorted(shapes)]


def told_in(table: object) -> Iterator[str]:
    """Keys and texts of a table, at any depth."""
    if isinstance(table, dict):
        yield from table
        yield from (text for value in table.values() for text in told_in(value))
    elif isinstance(table, list):
        yield from (text for value in table for text in told_in(value))
    elif isinstance(table, str):
        yield table


def test_no_placeholder_is_without_a_name():
    """Values are named, never counted, so that a translation may turn them round."""
    for language in words.LANGUAGES:
        assert [k for k, text in catalogue(language).items() if "" in placeholders(text)] == []


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A catalogue of its own, forgotten afterwards."""
    monkeypatch.setattr(words, "FOLDER", tmp_path)
    catalogue.cache_clear()
    yield tmp_path
    catalogue.cache_clear()


@pytest.mark.parametrize(
    ("value", "english", "spanish"),
    [
        ("2026-06-11", "Thu 11 Jun", "jue 11 jun"),
        ("2026-06-11T06:30:00-05:00", "Thu 11 Jun, 6:30 am", "jue 11 jun, 6:30 a. m."),
        ("2026-01-03T00:05:00+00:00", "Sat 3 Jan, 12:05 am", "sáb 3 ene, 12:05 a. m."),
        ("2026-12-30T12:00", "Wed 30 Dec, 12:00 pm", "mié 30 dic, 12:00 p. m."),
        ("2026-08-02T23:59:00-04:00", "Sun 2 Aug, 11:59 pm", "dom 2 ago, 11:59 p. m."),
        ("berm 2026-06-11", "berm 2026-06-11", "berm 2026-06-11"),
        (7, "7", "7"),
    ],
)
def test_dates_are_spoken(folder, value, english, spanish):
    """ISO text comes out as weekday, day, month and clock time; nothing else is touched."""
    (folder / "a.en.toml").write_text('k = "{v}"', "utf-8")
    (folder / "a.es.toml").write_text('k = "{v}"', "utf-8")
    assert say(Sentence("k", {"v": value})) == english
    assert say(Sentence("k", {"v": value}), "es") == spanish


def test_regions_and_strange_languages_are_answered(folder):
    """A region is ignored; a language without a catalogue is answered in English."""
    (folder / "a.en.toml").write_text('k = "yes"', "utf-8")
    (folder / "a.es.toml").write_text('k = "sí"', "utf-8")
    assert say(Sentence("k"), "es-MX") == "sí"
    assert say(Sentence("k"), "EN-us") == "yes"
    assert say(Sentence("k"), "fr") == "yes"


def test_the_empty_sentence_says_nothing():
    """A link without a reason has nothing to say."""
    assert say(Sentence("")) == ""


def test_a_sentence_nobody_wrote_is_refused_by_name(folder):
    """The error names key, language and what to do."""
    (folder / "a.en.toml").write_text('k = "{v}"', "utf-8")
    with pytest.raises(BadWords, match=r"x cannot be said in en for want of 'x'; word it in"):
        say(Sentence("x"))
    with pytest.raises(BadWords, match=r"k cannot be said in en for want of 'v'"):
        say(Sentence("k"))


def test_a_key_worded_twice_is_refused(folder):
    """Two files may not quarrel about a sentence."""
    (folder / "a.en.toml").write_text('k = "one"', "utf-8")
    (folder / "b.en.toml").write_text('k = "two"', "utf-8")
    with pytest.raises(BadWords, match="k is worded twice in en"):
        say(Sentence("k"))
