"""What crews and owners are told, read from what is served: phones, calendars, mails and the owner's page."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from django.test import Client
from django.urls import reverse

from crews.models import CalendarEvent
from tests.page_tree import day_in, days_in, hours_in, page_of
from tests.readers import by_icalendar, by_vobject

if TYPE_CHECKING:
    from datetime import time

EASTERN = ZoneInfo("America/New_York")
LINE = re.compile(r"^(\d+:\d\d [ap]\.?\s?m\.?)\s+(.+?): (.+)$")
"""A work in a mail: hour, yard, work."""


def phone(client, today):
    """A crew's own page: both its days, and (day, yard, work, begins, ends, machines) of each work."""
    page = page_of(client.get(reverse("crew-page")))
    days, works = [], []
    for section in page.all("section", class_="day"):
        day = day_in(section.one("h2").text, today)
        days.append(day)
        for visit in section.all("article"):
            for work in visit.all("div", class_="work"):
                line = work.one("p", class_="soft").text
                hours, *more = line.split(" · ")
                told = (work.one("h4").text, *hours_in(hours), tuple(more))
                works.append((day, visit.one("h3").text, *told))
    return days, works


def feed(address):
    """A calendar as two parsers that share no code read it; events by UID, cancelled ones left out."""
    body = Client().get(address).content
    told = by_icalendar(body)
    assert told == by_vobject(body)
    return {uid: event for uid, event in told.items() if event[5] == "CONFIRMED"}


def works_in(events, kind="work"):
    """(day, title, begins, ends) of each day of work, or of another kind, in a calendar; hours None for a whole day."""
    kinds = dict(CalendarEvent.objects.filter(uid__in=events).values_list("uid", "kind"))
    return {
        told for uid, event in events.items() if kinds.get(uid) == kind for told in _days_of(event)
    }


def milestones_in(events):
    """(title, day) of each milestone in an owner's calendar."""
    kinds = dict(CalendarEvent.objects.filter(uid__in=events).values_list("uid", "kind"))
    return {(event[2], event[0]) for uid, event in events.items() if kinds.get(uid) == "milestone"}


def _days_of(event):
    start, end, title = event[:3]
    if isinstance(start, datetime):
        begins, ends = (at.astimezone(EASTERN) for at in (start, end))
        yield begins.date(), title, begins.time(), ends.time()
        return
    for n in range((end - start).days):
        yield start + timedelta(days=n), title, None, None


def mails(office, route):
    """Every draft on a page: to whom, and its lines."""
    page = page_of(office.get(reverse(route)))
    return {
        box.one("h2").text: box.one("pre").raw.splitlines()
        for box in page.all("section", class_="draft")
    }


def mailed(lines):
    """(begins, yard, work) of the works of one day in a mail, machines left out."""
    found = []
    for line in lines:
        told = LINE.match(line)
        if told:
            work = re.split(r", (?:with|con) ", told[3])[0]
            found.append((hours_in(told[1])[0], told[2], work))
    return found


def changed(lines, today):
    """What a mail tells of each changed day: its works as above, none where nothing is planned."""
    found = {}
    for line in lines:
        told = re.match(r"^- (\w{3} \d+ \w{3}(?: \d{4})?): (.+)$", line)
        if told:
            found[day_in(told[1], today)] = mailed(told[2].split("; "))
    return found


def needs_in(lines, today):
    """(by or on, day) of each thing that a mail says is to be called, ordered or decided."""
    after = lines[lines.index("To call, order or decide") + 1 :]
    told = (re.match(r"^- \S.*[^ ,]: (by|on) (.+)$", line) for line in after[: after.index("")])
    return [(one[1], day_in(one[2], today)) for one in told if one]


def by_crew(lines, names):
    """(begins, yard, work) of each crew's works, by its name, in the mail to the house's owner."""
    found, crew = {}, None
    for line in lines:
        if line in names:
            crew = line
            found[crew] = []
        elif crew is not None and line:
            found[crew] += mailed([line])
        elif not line:
            crew = None
    return found


class Stone(NamedTuple):
    """A milestone on an owner's page: done, next or to come, and between which days."""

    words: str
    state: str
    days: tuple[date, ...]


class Coming(NamedTuple):
    """A day in an owner's yard: (begins, ends, work) of what is planned, or the next day with a crew."""

    day: date
    works: list[tuple[time, time, str]]
    following: date | None


class Owner(NamedTuple):
    """What an owner's page tells: milestones, the window of the next one, days, finish, promise, as of when."""

    stones: list[Stone]
    window: tuple[date, ...]
    days: list[Coming]
    finish: date | None
    promised: date | None
    sent: date


def owner(address, today):
    """Read an owner's page."""
    page, stones = page_of(Client().get(address)), []
    for line in page.one("ol").all("li"):
        when = line.one("small").text
        words = line.one("div").text.removesuffix(when).strip()
        stones.append(Stone(words, line.one("svg").attrs["aria-label"], _span(when, today)))
    window = page.one("p", class_="when")
    boxes = [one.text for one in page.all("p", class_="box")]
    said = next((it for it in boxes if re.match(r"(?:Planned to be|Likely) finished ", it)), "")
    promised = said.partition("promised by ")[2]
    return Owner(
        stones,
        _span(window.text, today) if window is not None else (),
        list(_days_ahead(page.one("section", **{"aria-labelledby": "here"}), today)),
        day_in(said, today) if said else None,
        day_in(promised, today) if promised else None,
        day_in(page.one("footer").one("p").text.rpartition("as of")[2], today),
    )


def _days_ahead(box, today):
    """The days told of a yard, none where nothing is planned any more."""
    day, told, works = None, "", []
    for one in [*(box.children if box is not None else ()), None]:
        if day and (one is None or one.tag == "h3"):
            following = day_in(told, today) if "next day with a crew" in told else None
            yield Coming(day, works, following)
        if one is not None and one.tag == "h3":
            day, told, works = day_in(one.text, today), "", []
        elif one is not None and one.tag == "p":
            told = told or one.text
        elif one is not None and one.tag == "ul":
            lines = [line.text.split(": ", 1) for line in one.all("li")]
            works = [(*hours_in(hours), work) for hours, work in lines]


def _span(words, today):
    """Days told in some words; none where none are."""
    return days_in(words, today) if re.search(r"\d", words) else ()


def owner_mail(lines, today):
    """The finish a mail tells an owner, and the milestones with their days."""
    finish = re.search(r"finished (\w{3} \d+ \w{3}(?: \d{4})?)", lines[0])
    told = (re.match(r"^- (.+): about (.+)$", line) for line in lines)
    return (
        day_in(finish[1], today) if finish else None,
        [(one[1], day_in(one[2], today)) for one in told if one],
    )
