"""Content lines: RFC 5545 3.1 and 3.3.11, in numbers of octets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crews.ical import feed_body
from crews.ical.fold import fold, fold_lines
from crews.ical.text import one_line, plain_text
from tests.calendars import event, unfolded

LETTERS = st.text(st.characters(blacklist_categories=["Cs", "Cc"]))


def octets(line: str) -> list[int]:
    """Lengths in octets of the parts of a folded line."""
    return [len(part.encode()) for part in fold(line).split("\r\n")]


@pytest.mark.parametrize(
    ("line", "lengths"),
    [
        ("SUMMARY:" + "A" * 100, [75, 34]),
        ("A" * 75, [75]),
        ("A" * 76, [75, 2]),
        ("SUMMARY:" + "é" * 40, [74, 15]),
        ("DESCRIPTION:" + "€" * 30, [75, 28]),
    ],
    ids=["I03 filled", "I04 at the edge", "I04 over it", "I05 two octets", "I06 three octets"],
)
def test_lines_are_filled_to_75_octets_and_letters_stay_whole(line, lengths):
    """A line break counts for nothing, the blank that begins a further line for one (3.1)."""
    assert octets(line) == lengths


def test_an_escape_is_not_torn_apart():
    """Some readers undo escapes before folds: the backslash moves on with what it escapes."""
    assert fold("A" * 74 + "\\,B") == "A" * 74 + "\r\n \\,B"


def test_a_doubled_backslash_is_one_escape():
    """The second of two backslashes begins nothing."""
    assert fold("A" * 73 + "\\\\,B") == "A" * 73 + "\\\\\r\n ,B"


@given(LETTERS)
def test_unfolding_gives_the_line_back(letters):
    """I07, RFC 5545 3.1: taking out each line break with its blank gives the original."""
    line = "SUMMARY:" + letters
    assert unfolded(fold_lines([line])) == [line]


def test_every_line_of_a_feed_ends_in_crlf():
    """I08, RFC 5545 3.1: the last line too."""
    body = feed_body("Ground crew", [event()])
    assert body.endswith(b"END:VCALENDAR\r\n")
    assert body.count(b"\n") == body.count(b"\r") == body.count(b"\r\n")


def test_text_loses_control_characters_and_keeps_its_lines():
    """RFC 5545 3.1 has no control characters in text; line breaks of any kind become one."""
    assert plain_text("\ufeffBring:\t2 ladders\x07 \r\nGate\x00 open\u2028Last\x85 ") == (
        "Bring: 2 ladders\nGate open\nLast"
    )


def test_a_title_is_one_trimmed_line():
    """A line break in a title makes some calendars refuse the event."""
    assert one_line("  Grade\n the\t yard  ") == "Grade the yard"


def test_a_long_title_says_that_it_was_cut():
    """Never longer than asked for, and no blank before the mark."""
    assert one_line("Grade the yard", most=7) == "Grade…"
