"""Whatever page, mail or calendar tells a day of another year says which, in both languages; none says its own."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

import pytest
from django.urls import reverse

from crews.models import Crew, Role
from crews.services.drafts import Run
from crews.services.events import publish_events
from jobs import clock
from jobs.models import HistoryEntry, Job
from jobs.services.causes.late import out
from jobs.services.company.share import homeowner_link
from jobs.services.mail.evening import evening_drafts
from jobs.services.pages.crew_page import read_crew_page
from jobs.services.pages.moved import read_moved
from jobs.services.storm.accept_storm import accept_answer
from tests.app.test_events import draft, rows
from tests.calendars import NEW_YORK, new_york
from tests.factories import CrewFactory, PersonFactory
from tests.office import NOW, SLUG, published_yard, signed_in
from tests.storms import BY, first_day, rain, steady

pytestmark = pytest.mark.django_db
WEEKDAY = "Mon|Tue|Wed|Thu|Fri|Sat|Sun"
MONTH = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
TOLD_DAY = re.compile(rf"(?:{WEEKDAY}) \d+ (?:{MONTH})\b(?! (?:–|and|or) )( \d{{4}})?")
"""A day as people say it, and its year; of a span its end, which has it for both."""
THIS_YEAR, NEXT_YEAR, YEAR_BEFORE = "2026-06-16T18:00", "2027-01-20T18:00", "2025-12-29T18:00"
NEW_YEARS_EVE = NOW.replace(month=12, day=31)
"""A Thursday."""


@pytest.fixture
def job() -> Job:
    """A small yard, published on Tuesday 16 June 2026, rained out and published again."""
    made = published_yard()
    rain(2)
    accept_answer(steady(), by=BY, now=NOW)
    return made


def pages_of(job: Job) -> dict[str, str]:
    """Return what the office and the owner read, as text, by page."""
    sheet = reverse("sheet", args=[SLUG])
    token = homeowner_link(job, by=BY, now=NOW)
    addresses = {
        name: reverse(name, args=[SLUG]) for name in ("activities", "moved", "record", "yard")
    }
    addresses |= {name: reverse(name) for name in ("jobs", "plan", "storm", "told", "crews")}
    addresses |= {"sheet": sheet, "homeowner": reverse("homeowner", args=[token])}
    browser = signed_in()
    return {name: browser.get(address).content.decode() for name, address in addresses.items()}


def years_told(text: str) -> set[str]:
    """Return the years that days carry in a text, empty for a day without one."""
    return {found[1].strip() if found[1] else "" for found in TOLD_DAY.finditer(text)}


@pytest.mark.parametrize("today", [NEXT_YEAR, YEAR_BEFORE])
def test_no_page_tells_a_day_of_another_year_without_it(job, settings, today):
    """Read in January or the December before, every day of the yard's June and July says 2026; today and tomorrow need no year."""
    settings.TODAY = today
    near = re.compile(r"(Today|Tomorrow), [^<]+")
    told = {name: years_told(near.sub("", text)) for name, text in pages_of(job).items()}
    assert {name for name, years in told.items() if "" in years} == set()
    for name in ("jobs", "plan", "sheet", "activities", "moved", "record", "homeowner"):
        assert "2026" in told[name], name


def test_no_page_of_the_same_year_is_cluttered(job, settings):
    """The same pages in June 2026: only a letter, words that are kept and the moment of telling say the year."""
    settings.TODAY = THIS_YEAR
    told = {}
    for name, text in pages_of(job).items():
        plain = re.sub(r"(This shows|As of|as of) [^<,]+", "", text)
        told[name] = years_told(plain)
    assert (told.pop("moved"), told.pop("record")) == ({"", "2026"}, {"", "2026"})
    assert set().union(*told.values()) == {""}


def test_each_request_is_told_on_its_own_day(job, settings):
    """A server's thread that outlives new year's night forgets the day it told on."""
    browser, address = signed_in(), reverse("sheet", args=[SLUG])
    settings.TODAY = NEXT_YEAR
    assert years_told(browser.get(address).content.decode()) == {"2026", "2027"}
    settings.TODAY = THIS_YEAR
    assert "" in years_told(browser.get(address).content.decode())


def test_last_years_ledger_is_a_letter_of_last_year(job):
    """Each line says when it was accepted and which finish was said then."""
    with clock.telling_on(NOW.date() + timedelta(days=365)):
        page = read_moved(job, NOW.date() + timedelta(days=365))
    assert {line.on for line in page.lines} == {"Tue 16 Jun 2026"}
    assert all(years_told(line.finish) == {"2026"} for line in page.lines)


def test_what_is_kept_says_its_year_at_once(job):
    """The record of a loss and why a finish moved, read in whichever year."""
    crew, day = Crew.objects.get(slug="green-crew"), first_day()
    assert years_told(out(crew, day, day, why="", by=BY, now=NOW).why) == {"2026"}
    [lost] = HistoryEntry.objects.filter(what="time lost").values_list("after", flat=True)
    assert years_told(lost["lost"]) == {"2026"}


@pytest.mark.parametrize(
    ("language", "today", "tomorrow"),
    [("en", "Thu 31 Dec", "Fri 1 Jan 2027"), ("es", "jue 31 dic", "vie 1 ene 2027")],
)
def test_a_crew_reads_on_new_years_eve_which_friday_is_next(db, language, today, tomorrow):
    """On its phone, in its language."""
    crew = CrewFactory(name="Ground", slug="ground", language=language)
    with clock.telling_on(NEW_YEARS_EVE.date()):
        days = read_crew_page(crew, "", NEW_YEARS_EVE).days
    assert [day.day for day in days] == [today, tomorrow]


def test_the_mail_of_new_years_eve_says_the_year_of_its_morning(job):
    """In every subject, to crews and owners; in June it says none."""
    PersonFactory(username="ana@example.com", role=Role.OWNER)
    with clock.telling_on(NEW_YEARS_EVE.date()):
        drafts = evening_drafts(NEW_YEARS_EVE)
    assert all(years_told(one.subject) == {"2027"} for one in drafts)
    assert {years for one in evening_drafts(NOW) for years in years_told(one.subject)} == {""}


@pytest.mark.parametrize(
    ("language", "to_january", "to_december"),
    [
        ("en", "Changed Wed 30 Dec 2026: was Thu 31 Dec 2026.", "Changed Wed 30 Dec: was Mon 4 Jan 2027."),
        ("es", "Cambió mié 30 dic 2026: antes jue 31 dic 2026.", "Cambió mié 30 dic: antes lun 4 ene 2027."),
    ],
)  # fmt: skip
def test_a_calendar_tells_a_year_beside_its_own_event(db, language, to_january, to_december):
    """What moved over new year says the other year from where it stands now, whenever a phone shows it."""
    CrewFactory(name="Ground", slug="ground", language=language)
    december, january = (
        draft(Run(day, day + timedelta(days=1), all_day=True))
        for day in (new_york(12, 31), datetime(2027, 1, 4, tzinfo=NEW_YORK))
    )
    before, then = new_york(12, 29, 18), new_york(12, 30, 18)
    publish_events([december], "maple", before)
    publish_events([january], "maple", then)
    assert rows()[0].changed == to_january
    publish_events([december], "maple", then)
    assert rows()[0].changed == to_december
