"""A machine that is no longer with us from a day on: one of several units, or all."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Machine
from crews.services.hours import working_hours
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from tests.factories import MachineFactory
from tests.leaving import keep
from tests.office import NOW

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 6, 8)


def test_units_leave_one_after_the_other():
    """Two of three on Tuesday, the last a day later."""
    machine = MachineFactory(count=3, gone=[["2026-06-09", 2], ["2026-06-10", 1]])
    told = working_hours(MONDAY, date(2026, 6, 10)).machines[machine.slug]
    assert (told.units, told.gone) == ([3, 1, 0], 2)
    assert machine.gone_from == date(2026, 6, 10)
    assert MachineFactory(count=3, gone=[["2026-06-09", 2]]).gone_from is None


def test_a_kind_nobody_has_any_more_is_hired(published_job):
    """Before the day its own unit digs; after it one that belongs to none of ours."""
    machine = Machine.objects.get(slug="mini-excavator-17-ton")
    keep(machine, since="2026-06-20")
    plan = plan_jobs(now=NOW, by="test").plan
    row = plan.rows.get(activity__template="dig-out")
    assert row.machines == [["mini-excavator", 1, ""]]
    assert row.own_machines == ()
    accept_plan(plan, by="test", now=NOW)
    subjects = CalendarEvent.objects.filter(status="CONFIRMED", start__gt=NOW)
    assert not subjects.filter(subject__startswith="machine:mini").exists()


def test_its_page_tells_how_many_are_left(owner):
    """One of three is gone since yesterday."""
    Machine.objects.filter(slug="plate-compactor").update(count=3, gone=[["2026-06-15", 1]])
    page = owner.get(reverse("machines")).content.decode()
    assert ("2 of them" in page, "1 of 3 gone from Mon 15 Jun 2026" in page) == (True, True)


def test_how_many_is_told_and_changed_without_those_that_are_gone(owner):
    """Two of three are left: the form says two, and two typed again change nothing."""
    Machine.objects.filter(slug="plate-compactor").update(count=3, gone=[["2026-06-15", 1]])
    machine, address = Machine.objects.get(slug="plate-compactor"), "plate-compactor"
    form = owner.get(reverse("edit-machine", args=[address])).context["form"]
    assert form["count"].value() == 2
    told = {name: form[name].value() or "" for name in form.fields}
    for count, whole in ((2, 3), (4, 5)):
        revision = Machine.objects.get(pk=machine.pk).revision
        answer = owner.post(
            reverse("edit-machine", args=[address]),
            told | {"count": count, "rented": "", "revision": revision},
        )
        assert (answer.status_code, Machine.objects.get(pk=machine.pk).count) == (302, whole)
