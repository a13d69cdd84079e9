"""What the trade's files say in words is spelt as American contractors write it; keys keep their own spelling."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PLACES = ("fixtures/trade/*.toml", "fixtures/words/*.en.toml", "fixtures/demo/*.toml")
FILES = [file for place in PLACES for file in sorted(ROOT.glob(place))]
OTHERWISE = re.compile(
    r"\b(?:colour|neighbour|labour|harbour|favour|behaviour|licence|centre|kerb|metre|"
    r"mould|tyre|grey|plough|programme)\w*",
    re.IGNORECASE,
)


def sentences(told):
    """Every text of more than a word, wherever it stands; names of keys are none."""
    if isinstance(told, dict):
        for value in told.values():
            yield from sentences(value)
    elif isinstance(told, list):
        for value in told:
            yield from sentences(value)
    elif isinstance(told, str) and " " in told:
        yield told


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_words_are_spelt_as_contractors_write_them(file):
    """Colors, labor, a license."""
    told = list(sentences(tomllib.loads(file.read_text("utf-8"))))
    assert [text for text in told if OTHERWISE.search(text)] == []
