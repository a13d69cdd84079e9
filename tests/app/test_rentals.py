"""Rented machines end to end: terms, stretches of the plan, orders, money.

Today is Tuesday 16 June 2026; the small yard is planned from Monday 22 June.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import Machine, TimeOff
from jobs.models import Activity, HistoryEntry, Job, Plan, PlanRow
from jobs.services.planning.rentals import rentals_of, total
from jobs.services.storm.money import say_money
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    """The small yard published; whatever machine it uses first is rented, 200 dollars a day, two at least."""
    open_office()
    small_job()
    made = published_plan()
    slug = made.rows.exclude(machines=[]).order_by("start").first().machines[0][2]
    Machine.objects.filter(slug=slug).update(rented=True, day_price=200, least_days=2, lead_days=3)
    return made


def rented() -> Machine:
    """The one that is rented."""
    return Machine.objects.get(rented=True)


def test_stretches_follow_from_the_plan(plan):
    """From the first to the last day a work holds it, two days paid at least, and nothing else."""
    days = {
        row.start.date() + timedelta(days=n)
        for row in plan.rows.all()
        if any(slug == rented().slug for _, _, slug in row.machines)
        for n in range((row.finish.date() - row.start.date()).days + 1)
    }
    rentals = rentals_of(plan)
    covered = {
        one.hire.first + timedelta(days=n)
        for one in rentals
        for n in range((one.hire.last - one.hire.first).days + 1)
    }
    assert days <= covered
    assert all(one.hire.first in days and one.hire.last in days for one in rentals)
    assert total(rentals) == sum(200 * one.hire.paid for one in rentals)


def test_order_by_goes_back_working_days_only(plan):
    """Three working days before a Wednesday is the Friday before; before a Monday the Wednesday."""
    first = rentals_of(plan)[0]
    day, left = first.hire.first, 3
    while left:
        day -= timedelta(days=1)
        if day.weekday() < 5:
            left -= 1
    assert first.order_by == day


def test_nobody_orders_on_a_day_off_of_the_house(plan):
    """With the day to order by off for everybody, it is the working day before."""
    day = rentals_of(plan)[0].order_by
    TimeOff.objects.create(first=day, last=day, why="fair")
    before = day - timedelta(days=3 if day.weekday() == 0 else 1)
    assert rentals_of(plan)[0].order_by == before


def test_it_goes_off_hire_on_the_day_the_last_work_with_it_is_over(plan):
    """Not on the day that was planned, where that work is done sooner."""
    last = rentals_of(plan)[-1].hire
    rows = [row for row in plan.rows.all() if rented().slug in row.own_machines]
    row = max(rows, key=lambda row: row.finish)
    Activity.objects.filter(pk=row.activity_id).update(
        started_at=NOW - timedelta(hours=4), finished_at=NOW
    )
    others = {it.finish.date() for it in rows if it != row}
    assert {it.hire.last for it in rentals_of(plan)} <= others
    assert last.last == row.finish.date()


def test_told_on_three_pages(plan):
    """The machine's own, the plan's with all of it, and what the office has to do."""
    rental = rentals_of(plan)[0]
    client = signed_in()
    page = client.get(reverse("machines")).content.decode()
    assert rental.words in page
    assert f"about ${200 * rental.hire.paid:,}" in page
    told = client.get(reverse("plan")).content.decode()
    assert f"about ${total(rentals_of(plan)):,.0f} in all" in told
    PlanRow.objects.filter(plan=plan).exclude(machines=[]).update(
        start=NOW + timedelta(days=6), finish=NOW + timedelta(days=6, hours=2)
    )
    needs = client.get(reverse("tomorrow")).content.decode()
    assert f"Order {rental.machine.name}, needed from Mon 22 Jun" in needs
    assert "by Wed 17 Jun" in needs
    assert f"{rental.machine.name} goes back" in needs
    assert "on Mon 22 Jun" in needs


def test_what_is_owned_costs_nothing_a_day(plan):
    """And is nowhere ordered."""
    Machine.objects.update(rented=False)
    assert rentals_of(plan) == ()
    assert "Rented machines" not in signed_in().get(reverse("plan")).content.decode()


def test_a_yard_that_is_over_needs_none(plan):
    """Handed over, its machines are not on hire any more."""
    Job.objects.update(state="handed-over")
    assert rentals_of(plan) == ()


def test_three_queries(plan, django_assert_num_queries):
    """Machines, days off of the house, rows."""
    with django_assert_num_queries(3):
        rentals_of(plan)


class TestTerms:
    """Price, least period and lead, told with the machine."""

    def keep(self, **told):
        """Post the machine's form."""
        machine = Machine.objects.order_by("pk").first()
        facts = {
            "name": machine.name, "kind": machine.kind, "count": "1", "rented": "on",
            "day_price": "245.50", "least_days": "7", "lead_days": "1",
            "revision": str(machine.revision),
        } | told  # fmt: skip
        return signed_in().post(reverse("edit-machine", args=[machine.slug]), facts)

    def test_kept_with_a_line_in_the_record(self, plan):
        """Before and after."""
        assert self.keep().status_code == 302
        machine = Machine.objects.order_by("pk").first()
        assert (machine.day_price, machine.least_days, machine.lead_days) == (
            Decimal("245.50"), 7, 1,
        )  # fmt: skip
        entry = HistoryEntry.objects.get(what="machine changed")
        assert entry.after["rent a day"] == "245.50"

    @pytest.mark.parametrize(
        ("told", "field"),
        [
            ({"day_price": "-1"}, "id_day_price"),
            ({"day_price": "cheap"}, "id_day_price"),
            ({"day_price": "9" * 20}, "id_day_price"),
            ({"least_days": "0"}, "id_least_days"),
            ({"least_days": ""}, "id_least_days"),
            ({"least_days": "91"}, "id_least_days"),
            ({"lead_days": "-1"}, "id_lead_days"),
            ({"lead_days": "61"}, "id_lead_days"),
        ],
    )
    def test_what_is_wrong_is_told_beside_its_field(self, plan, told, field):
        """And nothing is kept."""
        answer = self.keep(**told)
        assert answer.status_code == 422
        assert f'id="{field}_wrong"' in answer.content.decode()
        assert not HistoryEntry.objects.filter(what="machine changed").exists()


def test_nothing_on_hire_before_a_plan():
    """No plan, no stretch; the pages stand."""
    open_office()
    Machine.objects.update(rented=True)
    assert rentals_of(None) == ()
    assert signed_in().get(reverse("machines")).status_code == 200


def test_a_way_out_says_about_how_much_more_it_costs(plan):
    """Rained out on the day before the machine comes: the page tells the difference in dollars."""
    rental = rentals_of(plan)[0]
    day = (rental.hire.first - timedelta(days=1)).isoformat()
    client = signed_in()
    lost = {"when": "range", "first": day, "last": day, "whom": "all", "cause": "rain"}
    client.post(reverse("storm-lose"), lost)
    page = client.get(reverse("storm")).content.decode()
    assert "no prices to reckon with" not in page
    assert "about the same" in page or "about $" in page
    machine = rented()
    machine.day_price = None
    machine.save()
    client.post(reverse("storm-ask"))
    assert "no prices to reckon with" in client.get(reverse("storm")).content.decode()


@pytest.mark.parametrize(
    ("dollars", "words"),
    [
        (None, "no prices to reckon with"),
        (0, "about the same"),
        (1225, "about $1,225 more"),
        (-400, "about $400 less"),
    ],
)
def test_a_difference_in_words(dollars, words):
    """More, less, the same, or unknown."""
    assert say_money(dollars) == words
