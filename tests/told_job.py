"""What the pages of one yard tell, read from what is served: its sequence, its works, its day, why its finish moved."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from django.urls import reverse

from tests.page_tree import day_in, days_in, hours_in, print_of

if TYPE_CHECKING:
    from datetime import date, time

    from tests.page_tree import Element

ACTIVITY = re.compile(r"^/jobs/([^/]+)/activities/([^/]+)/$")
WAIT = re.compile(r"(?:until|from) (\w{3} \d+ \w{3}(?: \d{4})?)")
"""When a wait is over, as the table of a sequence tells it."""


class Planned(NamedTuple):
    """A work in the table of a sequence: when it begins and ends, who does it with what, until when is waited then."""

    start: tuple[date, time]
    finish: tuple[date, time]
    who: str
    wait: date | None


class Sheet(NamedTuple):
    """A sequence: its works, what the phone's list has on which day, finishes, odds and promise of its foot."""

    works: dict[str, Planned]
    listed: list[tuple[str, date, date]]
    finishes: list[date]
    likely: date | None
    safe: date | None
    promised: date | None


class Ledger(NamedTuple):
    """Why a finish moved: first and today's, the days in all, by cause and by line, and where the last line ends."""

    first: date
    today: date
    days: int
    causes: int
    lines: tuple[int, ...]
    ends: date | None


class Story(NamedTuple):
    """A work's own page: from which to which day and hour, who, with what."""

    days: tuple[date, date]
    hours: tuple[time, ...]
    who: str
    machines: str


def activity(element) -> tuple[str, str] | None:
    """Return yard and uid of the first work that an element links to."""
    links = (ACTIVITY.match(link.attrs.get("href", "")) for link in element.all("a"))
    return next((link.groups() for link in links if link), None)


def sheet(office, today, job) -> Sheet:
    """Read a job's own page: the table, the list a phone shows instead, head and foot."""
    page = print_of(office.get(reverse("sheet", args=[job.slug])), today)
    table = next(one for one in page.all("table") if one.one("th").text == "Work")
    works = {}
    for row in table.one("tbody").all("tr"):
        cells = {cell.attrs.get("data-word"): cell.text for cell in row.all("td")}
        start, finish = (
            (day_in(cells[word], today), *hours_in(cells[word])) for word in ("Start", "Finish")
        )
        wait = WAIT.search(cells["Then waits"])
        assert bool(wait) is bool(cells["Then waits"]), cells
        until = day_in(wait[1], today) if wait else None
        works[activity(row)[1]] = Planned(start, finish, cells["Who, with what"], until)
    head = next(one for one in page.all("p") if one.text.startswith("Planned finish"))
    foot = page.one("dl", class_="title-block").facts()
    return Sheet(
        works,
        list(_listed(page.one("div", class_="sheet-list"), today)),
        [day_in(head.one("strong").text, today), day_in(foot["Planned finish"].text, today)],
        *(_day(foot.get(word), today) for word in ("Likely, with weather", "Safe to promise")),
        _day(foot["Promised"], today),
    )


def _listed(box: Element, today):
    """Uid, first and last day of each work under its day."""
    day = None
    for one in box.walk():
        if one.tag == "h3":
            day = one.text
        elif one.tag == "li" and (link := activity(one)) is not None:
            first, told = day_in(day, today), one.one("span", class_="soft").text
            yield link[1], first, day_in(told, today) if told.startswith("to ") else first


def _day(element, today):
    """A day told by itself; none where none is."""
    return day_in(element.text, today) if element and re.search(r"\d", element.text) else None


def activities(office, today, job) -> dict[str, tuple[str, date, date] | None]:
    """Read the list of a job's works: who does each, from which to which day; none that stands in no plan."""
    page = print_of(office.get(reverse("activities", args=[job.slug])), today)
    found = {}
    for row in page.one("table").one("tbody").all("tr"):
        who, when = (row.one("td", **{"data-word": word}).text for word in ("Crew", "When"))
        found[activity(row)[1]] = (who, *days_in(when, today)) if when else None
    return found


def day(office, today, job, on):
    """Read a yard's day: (uid, who, begins, ends) of each work on it, and (uid, who, day) of what was planned before."""
    told = office.get(reverse("day", args=[job.slug]), {"on": on.isoformat()})
    page, works, overdue = print_of(told, today), [], []
    assert day_in(page.one("section", class_="stack").one("h2").text, today) == on
    for box in page.all("article"):
        uid, when = box.attrs["aria-labelledby"].removeprefix("work-"), box.one("span").text
        who = box.one("p", class_="soft").text.partition(" · ")[0]
        if when.startswith("planned"):
            overdue.append((uid, who, day_in(when, today)))
        else:
            works.append((uid, who, *hours_in(when)))
    return works, overdue


def story(office, today, job, uid) -> Story:
    """Read a work's own page."""
    page = print_of(office.get(reverse("activity", args=[job.slug, uid])), today)
    told = page.one("div", class_="story").one("dl").facts()
    when, machines = told["When"], told["With"].text if "With" in told else ""
    days = days_in(when.one("strong").text, today)
    return Story(days, (*hours_in(when.one("small").text),), told["Who"].text, machines)


def ledger(office, today, job) -> Ledger | None:
    """Read the letter that says why a finish moved."""
    page = print_of(office.get(reverse("moved", args=[job.slug])), today)
    told = next((one for one in page.all("p") if one.text.startswith("First published")), None)
    if told is None:
        return None
    first, finish = (day_in(one.text, today) for one in list(told.all("strong"))[:2])
    causes = [_days(line.one("span", class_="number").text) for line in page.all("li", class_="pair")
              if line.one("span", class_="number") is not None]  # fmt: skip
    table = next((one for one in page.all("table") if "Each change in turn" in one.text), None)
    rows = list(table.one("tbody").all("tr")) if table is not None else []
    lines = tuple(_days(list(row.all("td"))[3].text) for row in rows)
    ends = day_in(list(rows[-1].all("td"))[4].text, today) if rows else None
    whole = _days(re.search(r"([+−]?\d+) days? in all", told.text)[0])
    return Ledger(first, finish, whole, sum(causes), lines, ends)


def _days(words):
    return int(re.search(r"[+−]?\d+", words)[0].replace("−", "-"))
