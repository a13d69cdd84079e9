"""What the office's pages tell, read from what is served: who is where when, finishes, hires, why a date moved."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from django.urls import reverse

from tests.page_tree import day_in, days_in, hours_in, page_of

if TYPE_CHECKING:
    from datetime import date, time

ACTIVITY = re.compile(r"^/jobs/([^/]+)/activities/([^/]+)/$")


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
    """A yard in the list of jobs: its finish, and the day of what is next."""

    finish: date
    upcoming: date | None


class Hire(NamedTuple):
    """A stretch of a rented machine, and the last day to order it."""

    machine: str
    first: date
    last: date
    order_by: date | None = None


class Ledger(NamedTuple):
    """Why a finish moved: first and today's, the days in all, by cause and by line, and where the last line ends."""

    first: date
    today: date
    days: int
    causes: int
    lines: tuple[int, ...]
    ends: date | None


def tomorrow(office, today):
    """Read the first page."""
    page, stands = page_of(office.get(reverse("tomorrow"))), []
    for box in page.one("section").children:
        if (head := box.one("h3")) is None:
            continue
        crew, starts = head.one("a").attrs["href"].partition("#")[2], box.one("span").text
        for line in box.all("p"):
            if (link := _activity(line)) is None:
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


def _activity(element):
    links = (ACTIVITY.match(link.attrs.get("href", "")) for link in element.all("a"))
    return next((link.groups() for link in links if link), None)


def look_ahead(office, today, monday):
    """Three weeks from a Monday: of crews, and of machines."""
    page = page_of(office.get(reverse("look-ahead"), {"from": monday.isoformat()}))
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
        link = _activity(line)
        if link is None:
            continue
        when = line.one("span")
        words = when.text if when is not None else ""
        hours = hours_in(words)
        begins = hours[0] if words.startswith("from") else None
        yield link[1], begins, hours[-1] if words.startswith("to") else None


def ahead(office, today, route):
    """Crews' and machines' pages: the first and last day of each work in the next two weeks, by whose it is."""
    page = page_of(office.get(reverse(route)))
    return [
        (box.attrs["id"], link[1], *days_in(line.children[-1].text, today))
        for box in page.all("article")
        for line in box.all("li")
        if (link := _activity(line)) is not None
    ]


def hires(office, today):
    """What the machines' page tells of each stretch on hire."""
    page, found = page_of(office.get(reverse("machines"))), []
    for box in page.all("article"):
        for line in box.all("li"):
            told = re.search(r"Order by (.+), back on", line.text)
            if told:
                span = days_in(line.text.partition(":")[0], today)
                found.append(Hire(box.one("h2").text, *span, day_in(told[1], today)))
    return found


def plan(office, today):
    """The plan page: the published finish of each job, and the stretches on hire where nothing is proposed."""
    page = page_of(office.get(reverse("plan")))
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


def sheet(office, today, job):
    """A job's own page: begin and end of each work by the table, the finish told in the head and at the foot."""
    page = page_of(office.get(reverse("sheet", args=[job.slug])))
    table = next(one for one in page.all("table") if one.one("th").text == "Work")
    works = {}
    for row in table.one("tbody").all("tr"):
        told = [row.one("td", **{"data-word": word}).text for word in ("Start", "Finish")]
        works[_activity(row)[1]] = tuple((day_in(it, today), *hours_in(it)) for it in told)
    head = next(one for one in page.all("p") if one.text.startswith("Planned finish"))
    foot = page.one("dl", class_="title-block").one("dd")
    return works, [day_in(head.one("strong").text, today), day_in(foot.text, today)]


def jobs(office, today):
    """The list of jobs, those that are planned."""
    page, found = page_of(office.get(reverse("jobs"))), {}
    for box in page.all("article"):
        facts = zip(box.all("dt"), box.all("dd"), strict=True)
        told = {key.text: value for key, value in facts}
        if (finish := told["Finish"].one("strong")) is not None:
            coming = told["Next"].text.rpartition(",")[2] if "Next" in told else ""
            day = day_in(coming, today) if coming else None
            found[box.one("h2").text] = Listed(day_in(finish.text, today), day)
    return found


def ledger(office, today, job):
    """The letter that says why a finish moved."""
    page = page_of(office.get(reverse("moved", args=[job.slug])))
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
    return Ledger(
        first,
        finish,
        _days(re.search(r"([+−]?\d+) days? in all", told.text)[0]),
        sum(causes),
        lines,
        ends,
    )


def _days(words):
    return int(re.search(r"[+−]?\d+", words)[0].replace("−", "-"))
