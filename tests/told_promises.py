"""What is told of promises and of what is to be done for them: safe days, odds, what needs the office, health, the plan as JSON."""

from __future__ import annotations

import re
from datetime import datetime
from typing import TYPE_CHECKING, NamedTuple

from django.urls import reverse

from tests.page_tree import day_in, print_of
from tests.told_job import activity

if TYPE_CHECKING:
    from datetime import date

DAY = r"(\w{3} \d+ \w{3}(?: \d{4})?)"
FOUND = {
    "was to begin": "begun",
    "was to be done": "due",
    "may end no later than": "pinned",
    "is logged for": "logged",
}
"""What health finds of a work's day, by how it says so."""


class Need(NamedTuple):
    """What the office must see to: of which yard, by or on which day."""

    words: str
    word: str
    day: date


class Promise(NamedTuple):
    """How a promise stands: the planned finish, even odds, the safe day and what is promised, where each is told."""

    planned: date
    likely: date | None
    safe: date | None
    promised: date | None


def needs(office, today) -> list[Need]:
    """Read what the first page says is the office's to do."""
    page = print_of(office.get(reverse("tomorrow")), today)
    told = [
        (one.one("span").text, one.one("strong").text) for one in page.all("div", class_="tight")
    ]
    return [Need(words, when.split()[0], day_in(when, today)) for words, when in told]


def promises(office, today) -> dict[str, Promise]:
    """Read how the first page says promises stand, by yard; even odds stand elsewhere."""
    page, found = print_of(office.get(reverse("tomorrow")), today), {}
    for box in page.all("div"):
        lines = [one for one in box.children if one.tag == "p"]
        if len(lines) > 1 and "planned" in lines[0].text and lines[0].one("a") is not None:
            words = lines[1].text
            planned = day_in(lines[0].one("strong").text, today)
            told = (_after(start, words, today) for start in ("afe to promise ", "romise of "))
            found[lines[0].one("a").text] = Promise(planned, None, *told)
    return found


def safe(office, today) -> dict[str, Promise]:
    """Read what is safe to promise, by yard."""
    page, found = print_of(office.get(reverse("safe")), today), {}
    for row in page.one("section", id="safe").one("div", class_="lines").children:
        head, words = row.one("p"), row.one("p", class_="soft").text
        day = day_in(head.one("strong").text, today)
        planned, likely, promised = (
            _after(start, words, today) for start in ("Planned ", "even odds ", "promised ")
        )
        found[head.one("a").text] = Promise(planned, likely, day, promised)
    return found


def _after(start, words, today):
    """The day told after some words; none where they are not there."""
    told = re.search(re.escape(start) + DAY, words)
    return day_in(told[1], today) if told else None


def health(office, today) -> set[tuple[str, str, date]]:
    """Read which days health finds wrong: uid, what is wrong, the day; a work may be told under several checks."""
    page = print_of(office.get(reverse("health")), today)
    found = set()
    for line in page.all("li"):
        link = activity(line)
        told = [(kind, _after(f"{start} ", line.text, today)) for start, kind in FOUND.items()]
        found |= {(link[1], kind, day) for kind, day in told if link and day}
    return found


class Printed(NamedTuple):
    """A work in a plan as JSON: when, who with what, whether nobody is there for it."""

    start: datetime
    finish: datetime
    segments: tuple[tuple[datetime, datetime], ...]
    crew: str | None
    machines: tuple[str, ...]
    nobody: bool


def printed_works(told) -> dict[str, Printed]:
    """Read the works of a plan as JSON, by uid."""
    return {
        one["id"]: Printed(
            *(datetime.fromisoformat(one[word]) for word in ("start", "finish")),
            tuple(
                tuple(datetime.fromisoformat(it[word]) for word in ("start", "finish"))
                for it in one["segments"]
            ),
            one["crew"],
            tuple(one["machines"]),
            one["nobody"],
        )
        for one in told["activities"]
    }


def printed_jobs(told) -> dict[str, Promise]:
    """Read the yards of a plan as JSON, by slug, each day on the clock that stands beside it."""
    return {
        one["slug"]: Promise(*(_printed(one[word]) for word in ("finish", "p50", "p80", "promise")))
        for one in told["jobs"]
    }


def _printed(told):
    return datetime.fromisoformat(told).date() if told else None
