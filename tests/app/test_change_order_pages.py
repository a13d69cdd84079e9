"""Pages of change orders: from paper to ways out, and what is refused to whom."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.models import (
    Activity,
    ChangeLine,
    ChangeOrder,
    Job,
    Zone,
)
from jobs.services.history import Who
from jobs.services.pages.change_orders import read_orders
from jobs.services.storm.change_orders import (
    Wording,
    ask,
    reword,
    say_line,
)
from jobs.services.telling.speech import dollars
from tests.office import NOW, open_office, published_plan, signed_in, small_job
from tests.shared_state import shared_by_module

pytestmark = pytest.mark.django_db
WHO = Who("Ana", NOW)
Does = ChangeLine.Does
NONSENSE = [
    (
        {"does": "sign", "signed-by": "", "signed-on": "2026-06-16"},
        "This is missing: fill it in or choose one.",
    ),
    ({"does": "sign", "signed-by": "V", "signed-on": "2026-06-17"}, "yet to come"),
    ({"does": "sign", "signed-by": "V", "signed-on": "2020-01-01"}, "no earlier day"),
    ({"does": "days", "more-work": "nothing", "more-days": "2"}, "none of the choices"),
    ({"does": "days", "more-days": "1e9"}, "At most 60."),
    ({"does": "out", "out-what": "item x"}, "none of the choices"),
    ({"does": "reword", "title": "x" * 121}, "At most 120"),
    ({"does": "reword", "title": "x", "amount": "9" * 40}, "At most 10 figures"),
    ({"does": "anything"}, "A wider path"),
]
"""What is typed into a form, and what is said of it."""


def _published() -> None:
    """A front path and a bed of shrubs, planned and published."""
    open_office()
    small_job()
    published_plan()


published = shared_by_module(_published)


@pytest.fixture
def job(published, db) -> Job:
    """The yard that was published."""
    return Job.objects.get()


@pytest.fixture
def order(job) -> ChangeOrder:
    """Something asked for, with no effect yet."""
    return ask(job, Wording("A wider path", "Two feet more.", Decimal(1250)), WHO)


def path(job: Job) -> Activity:
    """The work that the path itself is."""
    return job.activities.get(template="dg-path", extra="")


class TestPages:
    """On the job's own page, for paper, and on the homeowner's."""

    def test_the_list_takes_as_many_queries_for_three(self, job, order, django_assert_num_queries):
        """Head and list, whatever there is."""
        with django_assert_num_queries(3):
            read_orders(job)
        for title in ("A seat wall", "A gate"):
            ask(job, Wording(title), WHO)
        with django_assert_num_queries(3):
            assert len(read_orders(job).rows) == 3

    def test_from_paper_to_ways_out(self, job):
        """Write it down, add days, sign: the ways out lie open."""
        client = signed_in()
        page = reverse("changes", args=[job.slug])
        told = client.post(page, {"title": "A wider path", "amount": "1,250"})
        assert told.status_code == 422
        assert "A number such as 2.5" in told.content.decode()
        told = client.post(page, {"title": "A wider path", "amount": "1250"})
        paper = reverse("change-order", args=[job.slug, 1])
        assert told["Location"] == paper
        told = client.post(paper, {"does": "days", "more-work": path(job).uid, "more-days": "2"})
        assert told["Location"] == paper
        seen = ChangeOrder.objects.get().revision
        answer = {"does": "sign", "signed-by": "R. Vale", "signed-on": "2026-06-16"}
        told = client.post(paper, answer | {"revision": seen})
        assert told["Location"] == reverse("storm")
        body = client.get(reverse("storm")).content.decode()
        assert "change order 1, A wider path" in body
        assert "Push right" in body

    def test_nonsense_is_told_beside_its_field(self, job, order):
        """And nothing changes."""
        client, paper = signed_in(), reverse("change-order", args=[job.slug, 1])
        for told, wrong in NONSENSE:
            answer = client.post(paper, told | {"revision": 1})
            assert (answer.status_code, wrong in answer.content.decode()) == (422, True), told
        order.refresh_from_db()
        assert (order.state, order.revision) == ("asked", 1)

    def test_the_second_editor_is_told(self, job, order):
        """Signed words are the words on the page."""
        reword(order, Wording("A much wider path"), WHO, revision=1)
        answer = {"does": "sign", "signed-by": "R. Vale", "signed-on": "2026-06-16", "revision": 1}
        told = signed_in().post(reverse("change-order", args=[job.slug, 1]), answer, follow=True)
        assert "nothing was overwritten" in told.content.decode()
        order.refresh_from_db()
        assert order.state == "asked"

    def test_words_of_others_are_only_words(self, job):
        """What looks like markup stands there as it was typed."""
        ask(job, Wording("<script>alert(1)</script>", "<b>x</b>"), WHO)
        body = signed_in().get(reverse("change-order", args=[job.slug, 1])).content.decode()
        assert "<script>alert" not in body
        assert "&lt;b&gt;x&lt;/b&gt;" in body

    def test_a_viewer_reads_and_changes_nothing(self, job, order):
        """Both pages open; every form is refused."""
        viewer = signed_in(Role.VIEWER)
        paper, page = (
            reverse("change-order", args=[job.slug, 1]),
            reverse("changes", args=[job.slug]),
        )
        assert [viewer.get(address).status_code for address in (page, paper)] == [200, 200]
        assert viewer.post(page, {"title": "x"}).status_code == 403
        assert viewer.post(paper, {"does": "sign"}).status_code == 403

    def test_a_change_order_of_another_job_is_not_found(self, job, order):
        """Numbers are the job's own."""
        client = signed_in()
        assert client.get(reverse("change-order", args=[job.slug, 2])).status_code == 404
        address = f"{reverse('new-item', args=[job.slug])}?order=99999999999"
        assert client.get(address).status_code == 404

    def test_an_item_is_measured_for_a_change_order(self, job, order):
        """The page of items puts it there, and tells so on the takeoff."""
        told = {"what": "shrubs", "where": "bed", "five-gallon": "6", "order": "1"}
        answer = signed_in().post(reverse("new-item", args=[job.slug]), told)
        assert answer["Location"] == reverse("change-order", args=[job.slug, 1])
        body = signed_in().get(reverse("job", args=[job.slug])).content.decode()
        assert "Built once change order 1 is signed" in body


@pytest.mark.parametrize(
    ("amount", "told"),
    [(None, ""), (Decimal(1250), "$1,250.00"), (Decimal(-300), "−$300.00")],
)
def test_amounts_are_said_in_dollars(amount, told):
    """With a minus for what is given back."""
    assert dollars(amount) == told


@pytest.mark.parametrize(
    ("does", "days", "people", "said"),
    [
        (Does.DAYS, "1.00", None, "Path: 1 day more"),
        (Does.DAYS, "2.5", None, "Path: 2.5 days more"),
        (Does.WORK, "1", 1, "Bench: 1 day of 1 person, Lawn, after path"),
        (Does.WORK, "2", 3, "Bench: 2 days of 3 people, Lawn, after path"),
    ],
)
def test_one_day_and_one_person_are_said_as_one(does, days, people, said):
    """The words the owner signs."""
    path, lawn = Activity(name="Path"), Zone(name="Lawn")
    line = ChangeLine(
        does=does, activity=path, days=Decimal(days), people=people, name="Bench", zone=lawn
    )
    assert say_line(line) == said
