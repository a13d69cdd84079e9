"""Reads a served page as a tree of elements, so that tests take facts from what stands where, and words of days and hours."""

from __future__ import annotations

import re
from datetime import date, time, timedelta
from html.parser import HTMLParser

VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}
MONTHS = {
    word: number
    for words in (
        "jan feb mar apr may jun jul aug sep oct nov dec",
        "ene feb mar abr may jun jul ago sep oct nov dic",
    )
    for number, word in enumerate(words.split(), 1)
}
DAY = re.compile(r"\b(\d{1,2})\s+([A-Za-z]{3})[a-z]*(?:\s+(\d{4}))?")
HOUR = re.compile(r"\b(\d{1,2}):(\d\d)\s*([ap])")
SPAN = re.compile(r"\b(\d{1,2})(?:\s+([A-Z][a-z]{2})(?:\s+(\d{4}))?)?\s+(?:–|and|or)\s+(?:[A-Z][a-z]{2}\s+)?(\d{1,2}\s.*)")  # fmt: skip


class Element:
    """An element with what is inside it, text as plain strings."""

    def __init__(self, tag, attrs):
        self.tag, self.attrs, self.inside = tag, attrs, []

    def walk(self):
        """Every element below this one, in order."""
        for one in self.children:
            yield one
            yield from one.walk()

    def all(self, tag, **attrs):
        """Every element of a tag below this one, in order; ``class_`` is one of its classes."""
        wanted = attrs.pop("class_", None)
        for one in self.walk():
            fits = one.tag == tag and all(one.attrs.get(key) == it for key, it in attrs.items())
            if fits and (wanted is None or wanted in one.attrs.get("class", "").split()):
                yield one

    def facts(self):
        """What terms below it mean, by the terms' words."""
        return {key.text: value for key, value in zip(self.all("dt"), self.all("dd"), strict=True)}

    def one(self, tag, **attrs):
        """The first of them; None if there is none."""
        return next(self.all(tag, **attrs), None)

    @property
    def children(self):
        """Elements right below it."""
        return [one for one in self.inside if not isinstance(one, str)]

    @property
    def raw(self):
        """All words as they stand."""
        return "".join(one if isinstance(one, str) else one.raw for one in self.inside)

    @property
    def text(self):
        """All words on one line."""
        return " ".join(self.raw.split())


def sent_by(form):
    """What a browser sends of a form in which nobody touched anything: of a list its first choice, if none is chosen."""
    told = {}
    for field in form.walk():
        name, kind = field.attrs.get("name"), field.attrs.get("type", "")
        if not name or (kind in {"checkbox", "radio"} and "checked" not in field.attrs):
            continue
        if field.tag == "select":
            choices = list(field.all("option"))
            chosen = [one for one in choices if "selected" in one.attrs] or choices[:1]
            told[name] = chosen[0].attrs["value"]
        elif field.tag == "textarea":
            told[name] = field.raw
        elif field.tag == "input" and kind != "submit":
            told[name] = field.attrs.get("value", "on" if kind == "checkbox" else "")
    return told


class _Builder(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open = [Element("page", {})]

    def handle_starttag(self, tag, attrs):
        made = Element(tag, dict(attrs))
        self.open[-1].inside.append(made)
        if tag not in VOID:
            self.open.append(made)

    def handle_startendtag(self, tag, attrs):
        self.open[-1].inside.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag):
        if any(one.tag == tag for one in self.open[1:]):
            while self.open.pop().tag != tag:
                pass

    def handle_data(self, data):
        self.open[-1].inside.append(data)


class Reading:
    """A browser that asks for each page once, and reads it again from what it was served."""

    def __init__(self, client):
        self.client, self.served = client, {}

    def get(self, address, query=None):
        """The answer to the first such question."""
        key = address, str(query)
        if key not in self.served:
            self.served[key] = self.client.get(address, query)
        return self.served[key]


def page_of(answer):
    """The tree of a served page; what is not served well is no page."""
    assert answer.status_code == 200, answer
    if not hasattr(answer, "tree"):
        builder = _Builder()
        builder.feed(answer.content.decode())
        answer.tree = builder.open[0]
    return answer.tree


def print_of(answer, today):
    """The tree of a page of the office, which says on paper as of when it tells."""
    page = page_of(answer)
    (told,) = (one.text for one in page.all("p", class_="only-print") if "As of" in one.text)
    assert re.search(rf"\b{today.day} {today:%b} {today.year}\b", told), told
    return page


def day_in(words, today):
    """The first day told in some words; without a year it is of today's."""
    found = DAY.search(words)
    return _day(*found.groups(), today)


def days_in(words, today):
    """The first and the last day of ``Thu 12 – Mon 16 Jun`` and its like; twice the same of a single day."""
    found = SPAN.search(words)
    if found is None:
        return day_in(words, today), day_in(words, today)
    number, month, year, rest = found.groups()
    last = day_in(rest, today)
    if month is None:
        return date(last.year, last.month, int(number)), last
    first = _day(number, month, year or str(last.year), today)
    return first if first <= last else first.replace(year=last.year - 1), last


def _day(number, month, year, today):
    return date(int(year or today.year), MONTHS[month[:3].lower()], int(number))


def hours_in(words):
    """Every hour told in some words, in either language."""
    return [
        time(int(hour) % 12 + (12 if half == "p" else 0), int(minute))
        for hour, minute, half in HOUR.findall(words)
    ]


def days_from(first, last):
    """Every day of a span, both included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]
