"""Change orders: only a signed one touches the plan, and what was signed stays as it was."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import IntegrityError
from django.urls import reverse

from crews.models import CalendarEvent
from crews.services.setup import ChangedMeanwhileError
from jobs.models import (
    Activity,
    Change,
    ChangeLine,
    ChangeOrder,
    FinishChange,
    HistoryEntry,
    Job,
    Link,
    Plan,
    ScopeItem,
)
from jobs.services.by_hand.works import HandWork, add_work
from jobs.services.causes.late import take_back_change
from jobs.services.files.export_job import export_job
from jobs.services.files.job_file import JobFileError
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from jobs.services.pages.change_orders import read_orders
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.moved import read_moved
from jobs.services.pages.storm import read_storm_page
from jobs.services.scope.items import remove_item
from jobs.services.storm.accept_storm import accept_answer, undo
from jobs.services.storm.answer_order import Signature, decline, sign
from jobs.services.storm.change_orders import (
    Wording,
    add_line,
    ask,
    ask_for_item,
    drop_line,
    reword,
)
from jobs.services.storm.offer import answer_at_once, read_storm
from jobs.trade.errors import TradeError
from tests.office import NOW, open_office, published_plan, signed_in, small_job
from tests.shared_state import shared_by_module

pytestmark = pytest.mark.django_db
WHO = Who("Ana", NOW)
OWNER = Signature("R. Vale", NOW.date())
Does = ChangeLine.Does


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


def works(job: Job) -> set[str]:
    """Names of all that is to be done."""
    return set(job.activities.filter(retired=False).values_list("name", flat=True))


def path(job: Job) -> Activity:
    """The work that the path itself is."""
    return job.activities.get(template="dg-path", extra="")


def signed(order: ChangeOrder) -> Change:
    """The order, signed as it stands."""
    order.refresh_from_db()
    return sign(order, OWNER, WHO, revision=order.revision)


def more_days(order: ChangeOrder, days: str = "2") -> ChangeLine:
    """Days more for the path."""
    line = ChangeLine(does=Does.DAYS, activity=path(order.job), days=Decimal(days))
    return add_line(order, line, WHO)


class TestAsking:
    """Written down, it is only paper."""

    def test_it_is_counted_within_its_job(self, job, order):
        """The second one is number two."""
        assert (order.number, ask(job, Wording("A seat wall"), WHO).number) == (1, 2)

    def test_sent_twice_it_is_written_once(self, job):
        """A form sent again finds what it made."""
        uid = "0" * 31 + "a"
        first, again = (ask(job, Wording("A gate"), WHO, uid=uid) for _ in range(2))
        assert first == again

    def test_nothing_that_is_only_asked_for_is_planned(self, job, order):
        """Neither an item, nor days, nor a work, whatever else expands the job meanwhile."""
        before = works(job)
        ask_for_item(order, "shrubs", job.zones.get(name="Bed"), {"five-gallon": "6"}, WHO)
        more_days(order)
        add_work(job, HandWork("Hang the gate", job.zones.first(), "labour", Decimal(1), 2), WHO)
        assert works(job) == before | {"Hang the gate"}

    def test_it_is_worded_otherwise_until_somebody_answers(self, order):
        """The record keeps both wordings."""
        reword(order, Wording("A much wider path"), WHO, revision=1)
        entry = HistoryEntry.objects.get(what="change order worded otherwise")
        assert entry.before["order"] == "1, A wider path"
        assert entry.after["order"] == "1, A much wider path"
        with pytest.raises(ChangedMeanwhileError):
            reword(order, Wording("Or not"), WHO, revision=1)


class TestSigning:
    """From then on it is to be done."""

    def test_what_is_built_more_comes_with_its_works(self, job, order):
        """The item is expanded like any other, and stays when the job is expanded again."""
        before = job.activities.filter(retired=False).count()
        item = ask_for_item(order, "stone-path", job.zones.get(name="Bed"), {}, WHO)
        signed(order)
        assert job.activities.filter(key__startswith=f"{item.uid}/", retired=False).exists()
        assert job.activities.filter(retired=False).count() > before

    def test_more_days_make_whatever_waited_wait(self, job, order):
        """A part of its own after the path, before the clean-up: two days."""
        more_days(order)
        signed(order)
        part = job.activities.get(part_of=path(job))
        assert (part.name, part.days, part.extra) == (f"{path(job).name}, more of it", 2, "more")
        followers = Link.objects.filter(before=path(job)).exclude(after=part)
        assert not followers.filter(relation="finish-to-start").exists()
        assert Link.objects.filter(before=part, relation="finish-to-start").exists()

    def test_a_work_more_comes_after_the_one_it_is_tied_to(self, job, order):
        """With its people and its zone."""
        zone = job.zones.get(name="Front path")
        line = ChangeLine(
            does=Does.WORK, activity=path(job), name="Hang the gate", zone=zone, skill="labour",
            days=Decimal("0.5"), people=2,
        )  # fmt: skip
        add_line(order, line, WHO)
        signed(order)
        made = job.activities.get(name="Hang the gate")
        assert (made.days, made.people, made.zone) == (Decimal("0.5"), 2, zone)
        assert Link.objects.get(before=path(job), after=made).rule == ""

    def test_what_is_left_out_is_not_done(self, job, order):
        """All works of the shrubs go; the paper keeps the item."""
        shrubs = job.items.get(assembly="shrubs")
        add_line(order, ChangeLine(does=Does.ITEM_OUT, item=shrubs), WHO)
        assert job.activities.filter(key__startswith=f"{shrubs.uid}/").exists()
        signed(order)
        left = job.activities.filter(key__startswith=f"{shrubs.uid}/", retired=False)
        assert not left.exists()
        assert ScopeItem.objects.filter(pk=shrubs.pk).exists()

    def test_where_only_money_changes_no_way_out_is_asked_for(self, job, order):
        """Signed, it stands on its paper and on the homeowner's page."""
        answer = {"does": "sign", "signed-by": "R. Vale", "signed-on": "2026-06-16", "revision": 1}
        paper = reverse("change-order", args=[job.slug, 1])
        assert signed_in().post(paper, answer)["Location"] == paper
        assert Change.objects.count() == 0
        assert read_homeowner(job, NOW).signed == ("A wider path, signed Tue 16 Jun",)

    def test_declined_it_changes_nothing(self, job, order):
        """And stays in the list as declined."""
        before = works(job)
        more_days(order)
        order.refresh_from_db()
        decline(order, OWNER, WHO, revision=order.revision)
        assert works(job) == before
        assert [row.answered for row in read_orders(job).rows] == [
            "declined by R. Vale, Tue 16 Jun 2026"
        ]

    def test_what_was_answered_is_not_touched_any_more(self, order):
        """Not worded, not signed again, nothing added, nothing dropped."""
        line = more_days(order)
        signed(order)
        order.refresh_from_db()
        for attempt in (
            lambda: reword(order, Wording("Less"), WHO, revision=order.revision),
            lambda: decline(order, OWNER, WHO, revision=order.revision),
            lambda: more_days(order),
            lambda: drop_line(line, WHO),
        ):
            with pytest.raises(TradeError, match="change order 1 was signed on 2026-06-16"):
                attempt()

    def test_nobody_signs_words_that_changed(self, order):
        """The editor saw revision 1; somebody raised the amount since."""
        reword(order, Wording("A wider path", amount=Decimal(9000)), WHO, revision=1)
        with pytest.raises(ChangedMeanwhileError):
            sign(order, OWNER, WHO, revision=1)
        order.refresh_from_db()
        assert order.state == "asked"

    def test_an_item_that_has_begun_cannot_be_left_out(self, job, order):
        """The signature fails whole: nothing of it holds."""
        shrubs = job.items.get(assembly="shrubs")
        add_line(order, ChangeLine(does=Does.ITEM_OUT, item=shrubs), WHO)
        begun = job.activities.filter(key__startswith=f"{shrubs.uid}/").first()
        begun.started_at = NOW
        begun.save()
        with pytest.raises(TradeError, match=f"{begun.name} has begun"):
            signed(order)
        order.refresh_from_db()
        assert (order.state, Change.objects.count()) == ("asked", 0)

    def test_an_item_that_a_change_order_speaks_of_is_not_just_taken_out(self, job, order):
        """The paper would lose what was signed."""
        item = ask_for_item(order, "shrubs", job.zones.get(name="Bed"), {}, WHO)
        with pytest.raises(TradeError, match="change order 1 speaks of it"):
            remove_item(item, by="Ana", now=NOW)


class TestPlanning:
    """Signed, it leads to ways out; phones learn when one is accepted."""

    def test_the_finish_moves_because_of_it(self, job, order):
        """Two days more of the path: the ledger names the change order, and it adds up."""
        more_days(order)
        signed(order)
        part = job.activities.get(extra="more")
        assert not CalendarEvent.objects.filter(activity=part.uid).exists()
        offered = answer_at_once(read_storm(NOW), NOW)
        accept_answer(offered[0].row, by="Ana", now=NOW)
        assert CalendarEvent.objects.filter(activity=part.uid).exists()
        moved = FinishChange.objects.get(job=job)
        assert [(s["cause"], s["why"]) for s in moved.shares][:1] == [
            ("change-order", "change order 1, A wider path")
        ]
        assert sum(s["days"] for s in moved.shares) == (moved.becomes - moved.was).days > 0

    def test_what_was_signed_for_is_owed_whichever_way_and_stands_beside_the_days(self, job, order):
        """No cost of a way: beside each of them alike, then in the letter, with what moved no date, too."""
        more_days(order)
        signed(order)
        lamp = ask(job, Wording("A lamp", amount=Decimal(-200)), WHO)
        sign(lamp, OWNER, WHO, revision=1)
        offered = answer_at_once(read_storm(NOW), NOW)
        told = "besides $1,250.00 signed for on a change order, whichever way is accepted"
        assert read_storm_page(NOW).owed == told
        page = signed_in().get(reverse("storm")).content.decode()
        assert page.count(told) == page.count("<dt>Money</dt>") == 2
        accept_answer(offered[0].row, by="Ana", now=NOW)
        assert read_storm_page(NOW).owed == ""
        letter = read_moved(job, NOW.date())
        line = next(line for line in letter.lines if line.cause == "a change order")
        assert (line.why, line.amount) == ("change order 1, A wider path", "$1,250.00")
        assert letter.agreed == "$1,050.00"
        assert (
            "$1,250.00 agreed"
            in signed_in().get(reverse("moved", args=[job.slug])).content.decode()
        )

    def test_taken_back_before_a_plan_rests_on_it_it_is_asked_for_again(self, job, order):
        """The works go, and signing once more brings the same ones back."""
        more_days(order)
        change = signed(order)
        part = job.activities.get(extra="more", retired=False)
        take_back_change(change, by="Ana", now=NOW)
        order.refresh_from_db()
        part.refresh_from_db()
        assert (order.state, part.retired) == ("asked", True)
        signed(order)
        assert list(job.activities.filter(extra="more", retired=False)) == [part]

    def test_undoing_a_plan_unsigns_nothing(self, job, order):
        """The earlier plan is mended with the work in it; the change order waits for a plan again."""
        more_days(order)
        change = signed(order)
        offered = answer_at_once(read_storm(NOW), NOW)
        accept_answer(offered[0].row, by="Ana", now=NOW)
        undo(by="Ana", now=NOW)
        order.refresh_from_db()
        assert order.state == "signed"
        assert Plan.objects.get(state="published").rows.filter(activity__extra="more").count() == 1
        change.refresh_from_db()
        assert change.plan == Plan.objects.get(state="published")

    def test_taken_out_as_a_file_and_read_in_again_more_days_stay(self, job, order):
        """Not planned yet: under their own id; the paper no file brings back, so it is not thrown away."""
        Plan.objects.all().delete()
        more_days(order)
        signed(order)
        part = job.activities.get(extra="more")
        with pytest.raises(JobFileError, match="has a day's log or change orders"):
            load_job(export_job(job), by="Ana", now=NOW, replace=True)
        job.change_orders.all().delete()
        again = load_job(export_job(job), by="Ana", now=NOW, replace=True)
        same = again.activities.get(extra="more")
        assert (same.uid, same.name, same.days, same.own_days) == (
            part.uid,
            part.name,
            part.days,
            part.own_days,
        )


def test_an_answer_of_nobody_is_refused_by_the_table(order):
    """Signed means by somebody, on a day."""
    with pytest.raises(IntegrityError, match="answered_by_somebody"):
        ChangeOrder.objects.filter(pk=order.pk).update(state="signed", signed_by="")
