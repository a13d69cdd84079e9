"""A day carries its year where it is told in another one, and only there."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crews.services.feed_words import said_day, said_when
from jobs import clock
from jobs.drawing.text import day_text, month_text
from jobs.services.telling.speech import say_day, say_number, say_room, say_span
from jobs.services.telling.words import LANGUAGES, WEEKDAYS, spoken

NOVEMBER = date(2026, 11, 24)
"""A Tuesday, on which plans reach over the new year and ledgers back over the old one."""
DAYS = st.dates(date(2020, 1, 1), date(2035, 12, 31))


@pytest.mark.parametrize(
    ("day", "english", "spanish"),
    [
        (date(2026, 1, 14), "Wed 14 Jan", "mié 14 ene"),
        (date(2026, 12, 31), "Thu 31 Dec", "jue 31 dic"),
        (date(2027, 1, 1), "Fri 1 Jan 2027", "vie 1 ene 2027"),
        (date(2027, 1, 14), "Thu 14 Jan 2027", "jue 14 ene 2027"),
        (date(2025, 12, 31), "Wed 31 Dec 2025", "mié 31 dic 2025"),
    ],
)
def test_a_day_of_another_year_carries_it(day, english, spanish):
    """In November 2026 a Thursday in January is the next one's, and says so, wherever and in whichever language."""
    with clock.telling_on(NOVEMBER):
        assert [say_day(day), spoken(day.isoformat(), "en")] == [english, english]
        assert spoken(day.isoformat(), "es") == spanish
    assert [day_text(day, NOVEMBER), said_day(day, NOVEMBER)] == [english, english]
    assert said_day(day, NOVEMBER, "es") == spanish


@given(day=DAYS, told_on=DAYS)
def test_what_is_told_is_one_day_and_no_other(day, told_on):
    """Whoever knows when he was told reads the very day back: without a year it is that year's."""
    with clock.telling_on(told_on):
        says = {say_day(day), spoken(day.isoformat(), "en")}
    [told] = {*says, day_text(day, told_on), said_day(day, told_on)}
    words = told.split()
    year = int(words[3]) if len(words) == 4 else told_on.year
    assert datetime.strptime(f"{words[1]} {words[2]} {year}", "%d %b %Y").date() == day  # noqa: DTZ007
    assert (len(words) == 4) == (day.year != told_on.year)
    assert WEEKDAYS["en"][day.weekday()] == words[0]


@pytest.mark.parametrize(
    ("first", "last", "told"),
    [
        (date(2026, 12, 7), date(2026, 12, 11), "Mon 7 – Fri 11 Dec"),
        (date(2026, 12, 30), date(2027, 1, 4), "Wed 30 Dec – Mon 4 Jan 2027"),
        (date(2025, 12, 30), date(2026, 1, 5), "Tue 30 Dec 2025 – Mon 5 Jan"),
        (date(2025, 12, 30), date(2027, 1, 4), "Tue 30 Dec 2025 – Mon 4 Jan 2027"),
        (date(2027, 1, 11), date(2027, 1, 14), "Mon 11 – Thu 14 Jan 2027"),
        (date(2025, 6, 30), date(2025, 7, 2), "Mon 30 Jun – Wed 2 Jul 2025"),
        (date(2025, 6, 30), date(2025, 6, 30), "Mon 30 Jun 2025"),
    ],
)
def test_a_span_within_one_year_says_it_once(first, last, told):
    """At its end, where it holds for both days; a span over the new year says it of each day that needs it."""
    with clock.telling_on(NOVEMBER):
        assert say_span(first, last) == told


def test_short_forms_carry_it_too():
    """A column of the look-ahead, the room of a work, the months over a sheet."""
    with clock.telling_on(NOVEMBER):
        assert [say_number(date(2026, 12, 31)), say_number(date(2027, 1, 4))] == [
            "31 Dec",
            "4 Jan 2027",
        ]
        finish = datetime(2026, 12, 30, 15, 30)  # noqa: DTZ001 (of no zone)
        assert say_room(60, finish, finish + timedelta(days=1)) == "can slip to Thu 31"
        assert say_room(60, finish, finish + timedelta(days=5)) == "can slip to Mon 4 Jan 2027"
    assert [month_text(date(y, 1, 1), NOVEMBER) for y in (2026, 2027)] == ["January", "Jan 2027"]


def test_what_is_kept_carries_every_year():
    """Words in the record are read in any year; and where no day is known to tell on, none goes without saying."""
    with clock.telling_on(clock.EVER):
        assert say_span(date(2026, 12, 7), date(2026, 12, 11)) == "Mon 7 – Fri 11 Dec 2026"
        assert spoken("2026-12-07", "es") == "lun 7 dic 2026"
    assert [day_text(NOVEMBER, None), month_text(NOVEMBER, None)] == ["Tue 24 Nov 2026", "Nov 2026"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_beside_an_event_its_own_year_goes_without_saying(language):
    """Whatever day a phone shows it on: an event of January was in December of the year before."""
    was = (datetime.fromisoformat(f"2026-12-{day}T05:00+00:00") for day in (30, 31))
    told = {
        "en": ["Wed 30 Dec 2026", "Wed 30 Dec"],
        "es": ["mié 30 dic 2026", "mié 30 dic"],
    }
    first, last = was
    said = [
        said_when(first, last, all_day=True, zone="America/New_York", beside=day, language=language)
        for day in (date(2027, 1, 4), date(2026, 12, 29))
    ]
    assert said == told[language]
