"""Where everybody is, three weeks on one page."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from crews.models import Crew, Machine, TimeOff
from jobs.services.files.load_job import load_job
from jobs.services.pages.look_ahead import read_look_ahead
from tests.office import NOW, SMALL_YARD, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
URL = reverse("look-ahead")


@pytest.fixture
def page():
    """The look-ahead of a small yard, from the Monday on which its work begins."""
    open_office()
    small_job()
    plan = published_plan()
    first = plan.rows.filter(crew__isnull=False).order_by("start")[0].start.date()
    return read_look_ahead(NOW, date.fromordinal(first.toordinal() - first.weekday()))


def told(row):
    """Return what a row says, days and works, without times."""
    return [
        (cell.days, [stand.what for yard in cell.yards for stand in yard.stands])
        for cell in row.cells
        if cell.yards
    ]


def test_every_published_day_of_a_crew_is_there_once(page):
    """Each segment of each work stands in its crew's row on its day, and nothing else does."""
    planned = {}
    for row in page.plan.rows.filter(crew__isnull=False).select_related("activity", "crew"):
        for start, _, _ in row.segments:
            day = date.fromisoformat(start[:10])
            planned.setdefault((row.crew.name, day), []).append(row.activity.name)
    shown = {}
    days = [date(2026, *_month_and_day(day.number)) for day in page.days]
    for row in page.crews:
        n = 0
        for cell in row.cells:
            for day in days[n : n + cell.span]:
                for yard in cell.yards:
                    for stand in yard.stands:
                        shown.setdefault((row.name, day), []).append(stand.what)
            n += cell.span
    inside = {key: works for key, works in planned.items() if key[1] in days}
    assert {key: sorted(works) for key, works in shown.items()} == {
        key: sorted(works) for key, works in inside.items()
    }


def _month_and_day(number):
    day, month = number.split()
    return ["Jun", "Jul", "Aug"].index(month) + 6, int(day)


def test_each_row_fills_all_columns(page):
    """Spans add up to the days shown, so that the table is square."""
    rows = page.crews + page.machines
    assert {sum(cell.span for cell in row.cells) for row in rows} == {len(page.days)}


def test_weekends_are_folded():
    """Fifteen columns; the first after a weekend says that days are left out."""
    open_office()
    page = read_look_ahead(NOW, date(2026, 6, 15))
    assert [day.number for day in page.days if day.fold] == ["22 Jun", "29 Jun"]
    assert len(page.days) == 15


def test_a_day_off_is_told():
    """In the crew's own row only."""
    open_office()
    crew = Crew.objects.order_by("name")[0]
    TimeOff.objects.create(crew=crew, first=date(2026, 6, 18), last=date(2026, 6, 18))
    page = read_look_ahead(NOW, date(2026, 6, 15))
    off = {row.name: [cell.days for cell in row.cells if cell.note == "off"] for row in page.crews}
    assert [name for name, days in off.items() if "Thu 18 Jun" in days] == [crew.name]


def test_who_is_gone_is_told_until_another_plan_is_published(page):
    """The published plan still has work for them in these weeks, and calendars tell it; who has none is left out."""
    before = [(row.name, told(row)) for row in (*page.crews, *page.machines) if told(row)]
    monday = date.fromordinal(page.later.toordinal() - 21)
    since = date.fromordinal(monday.toordinal() - 3)
    Crew.objects.update(gone_from=since)
    for machine in Machine.objects.all():
        machine.gone = [[since.isoformat(), machine.count]]
        machine.save()
    gone = read_look_ahead(NOW, monday)
    assert [(row.name, told(row)) for row in gone.crews] == before[: len(gone.crews)]
    assert sorted((row.name, told(row)) for row in gone.machines) == sorted(
        before[len(gone.crews) :]
    )
    cells = [cell for row in (*gone.crews, *gone.machines) for cell in row.cells]
    assert {cell.note for cell in cells} == {"gone"}


def test_only_who_is_signed_in_sees_it(client):
    """Others are sent to the door."""
    assert client.get(URL).status_code == 302


def test_an_empty_company_is_told_what_to_do():
    """No crew yet: add one."""
    open_office()
    Crew.objects.update(active=False, gone_from=date(2026, 6, 1))
    assert "Add the first one" in signed_in().get(URL).content.decode()


@pytest.mark.parametrize("told", ["yesterday", "2026-13-01", "0001-01-01", "9999-12-31"])
def test_a_week_that_is_none_is_not_found(told):
    """Nonsense in the address is no server error."""
    open_office()
    assert signed_in().get(URL, {"from": told}).status_code == 404


def test_questions_do_not_grow_with_the_yards():
    """As many for three yards as for one."""
    open_office()
    small_job()
    published_plan()
    office = signed_in()
    with CaptureQueriesContext(connection) as one:
        office.get(URL)
    for n in (2, 3):
        load_job(SMALL_YARD.replace("3 Finch", f"{n}3 Finch"), by="test", now=NOW)
    published_plan()
    with CaptureQueriesContext(connection) as three:
        office.get(URL)
    assert (len(one), len(three)) == (13, 13)
