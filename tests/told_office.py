"""What the office's pages tell, read from what is served: who is where when, finishes, hires."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from django.urls import reverse

from tests.page_tree import day_in, days_in, hours_in, print_of
from tests.told_job import activity

if TYPE_CHECKING:
    from datetime import date, time


class Stand(NamedTuple):
    """A work of a crew on the first page: when it begins, its machines in words."""

    crew: str
    uid: str
    begins: time
    machines: str


class Tomorrow(NamedTuple):
    """The first page: its day, who is where, the finish of each yard, machines to order with both days."""

    day: date
    stands: list[Stand]
    finishes: dict[str, date]
    orders: list[tuple[str, date, date]]


class Held(NamedTuple):
    """A crew or machine at a work on a day of the look-ahead; both hours are None for a whole day."""

    who: str
    day: date
    uid: str
    begins: time | None
    ends: time | None


class Listed(NamedTuple):
    """A yard in the list of jobs: its finish, what is promised, what runs, and the day of what is next."""

    finish: date
    promised: date | None
    running: str
    upcoming: date | None


class Hire(NamedTuple):
    """A stretch of a rented machine, and the last day to order it."""

    machine: str
    first: date
    last: date
    order_by: date | None = None


def tomorrow(office, today):
    """Read the first page."""
    page, stands = print_of(office.get(reverse("tomorrow")), today), []
    for box in page.one("section").children:
        if (head := box.one("h3")) is None:
            continue
        crew, starts = head.one("a").attrs["href"].partition("#")[2], box.one("span").text
        for line in box.all("p"):
            if (link := activity(line)) is None:
                continue
            soft = [one.text for one in line.all("span", class_="soft")]
            told = next((words for words in soft if words.startswith("then")), starts)
            machines = next((words for words in soft if words.startswith("·")), "")
            stands.append(Stand(crew, link[1], hours_in(told)[0], machines.strip("· ")))
    finishes = {
        line.one("a").text: day_in(line.one("strong").text, today)
        for line in page.all("p", class_="pair")
        if "planned" in line.text
    }
    day = day_in(page.one("h1").text, today)
    return Tomorrow(day, stands, finishes, list(_orders(page, today)))


def _orders(page, today):
    for line in page.all("div", class_="tight"):
        told = re.match(r"Order (.+), needed from (.+)", line.one("span").text)
        if told:
            first = day_in(told[2], today)
            yield told[1], first, day_in(line.one("strong").text, today)


def look_ahead(office, today, monday):
    """Three weeks from a Monday: of crews, and of machines."""
    page = print_of(office.get(reverse("look-ahead"), {"from": monday.isoformat()}), today)
    table = page.one("table")
    days = [day_in(one.text, today) for one in list(table.one("thead").all("th"))[1:]]
    found = {"Crews": [], "Machines": []}
    for body in table.all("tbody"):
        told = found[body.one("th", scope="rowgroup").text]
        for row in body.all("tr"):
            head = row.one("th", scope="row")
            if head is not None:
                told += _held(str(head.inside[0]).strip(), row, days)
    return found["Crews"], found["Machines"]


def _held(who, row, days):
    """Cells follow each other; one may span several days."""
    left = iter(days)
    for cell in row.all("td"):
        span = [next(left) for _ in range(int(cell.attrs.get("colspan", 1)))]
        yield from (Held(who, day, *stand) for day in span for stand in _in(cell))
    assert not list(left), who


def _in(cell):
    for line in cell.all("p"):
        link = activity(line)
        if link is None:
            continue
        when = line.one("span")
        words = when.text if when is not None else ""
        hours = hours_in(words)
        begins = hours[0] if words.startswith("from") else None
        yield link[1], begins, hours[-1] if words.startswith("to") else None


def ahead(office, today, route):
    """Crews' and machines' pages: the first and last day of each work in the next two weeks, by whose it is."""
    page = print_of(office.get(reverse(route)), today)
    return [
        (box.attrs["id"], link[1], *days_in(line.children[-1].text, today))
        for box in page.all("article")
        for line in box.all("li")
        if (link := activity(line)) is not None
    ]


def hires(office, today):
    """What the machines' page tells of each stretch on hire."""
    page, found = print_of(office.get(reverse("machines")), today), []
    for box in page.all("article"):
        for line in box.all("li"):
            told = re.search(r"Order by (.+), back on", line.text)
            if told:
                span = days_in(line.text.partition(":")[0], today)
                found.append(Hire(box.one("h2").text, *span, day_in(told[1], today)))
    return found


def plan(office, today):
    """The plan page: the published finish of each job, and the stretches on hire where nothing is proposed."""
    page = print_of(office.get(reverse("plan")), today)
    table = next(
        one for one in page.all("table") if one.one("caption").text == "Finish of each job"
    )
    rows = [row for row in table.one("tbody").all("tr") if row.one("a") is not None]
    finishes = {
        row.one("a").text: day_in(row.one("td", **{"data-word": "Published"}).text, today)
        for row in rows
        if row.one("td", **{"data-word": "Published"}).text != "new"
    }
    rented = next((one for one in page.all("section") if "Rented machines" in one.text), None)
    told = [line.one("span").text for line in rented.all("li")] if rented is not None else []
    spans = (re.match(r"(.+), (\w{3} \d.*?): \d+ days? paid", line) for line in told)
    return finishes, [Hire(one[1], *days_in(one[2], today)) for one in spans]


def jobs(office, today):
    """The list of jobs, those that are planned."""
    page, found = print_of(office.get(reverse("jobs")), today), {}
    for box in page.all("article"):
        told = box.facts()
        if (finish := told["Finish"].one("strong")) is not None:
            coming = told["Next"].text.rpartition(",")[2] if "Next" in told else ""
            day = day_in(coming, today) if coming else None
            said = re.search(r"planned, (.+?) promised", told["Finish"].text)
            promised = day_in(said[1], today) if said else None
            running = told["Now"].text if "Now" in told else ""
            found[box.one("h2").text] = Listed(day_in(finish.text, today), promised, running, day)
    return found
