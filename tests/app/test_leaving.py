"""A crew or a machine that is no longer with us from a day on: what that changes, said, kept, taken back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Crew, CrewPhone, CrewSkill, Loan, Machine, Role
from crews.services.crew_phone import give_out
from crews.services.hours import working_hours
from crews.services.leaving import let_go
from crews.services.links import find_link, make_link
from crews.services.today import wall_now
from jobs.models import Activity, Change, DayLog, HistoryEntry, Plan, PlanRow
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.storm.accept_storm import undo
from tests.factories import (
    CrewFactory,
    CrewMemberFactory,
    LoanFactory,
)
from tests.leaving import keep, look
from tests.office import NOW, signed_in

pytestmark = pytest.mark.django_db
GONE = date(2026, 7, 2)
"""Thursday: the ground crew digs on the day before and puts the way in right on this one."""
MONDAY, TUESDAY = date(2026, 6, 8), date(2026, 6, 9)


@pytest.fixture
def dug(published_job):
    """The published yard, in which the green crew could dig, too."""
    CrewSkill.objects.create(crew=Crew.objects.get(slug="green-crew"), skill="grading")
    return published_job


def parts(answer) -> list[tuple[str, list[tuple[str, str]], bool]]:
    """The parts of a page: title, works with who else can do them, whether something is lacking."""
    return [
        (part.title, [(left.work, left.others) for left in part.works], part.wrong)
        for part in answer.context["parts"]
    ]


def planned(crew: str) -> list[tuple[str, date]]:
    """Works of a crew in the newest plan, with their first days."""
    rows = PlanRow.objects.filter(plan=Plan.objects.order_by("-number")[0], crew__slug=crew)
    return [(row.activity.name, row.start.date()) for row in rows.order_by("start", "pk")]


class TestWhatItChanges:
    """Said before anything is kept."""

    def test_works_after_the_day_are_named_with_who_else_can_do_them(self, dug):
        """Those before it are not."""
        assert parts(look("crew", "ground-crew", since="2026-07-02")) == [
            (
                "4 works planned from that day on",
                [
                    ("Put the way in right", "Green crew, Stone crew"),
                    ("Clean up", "Green crew, Stone crew"),
                    ("Clear the site", "Green crew, Stone crew"),
                    ("Hand over the controller", "Green crew"),
                ],
                False,
            )
        ]

    def test_works_nobody_else_can_do_are_a_warning_not_a_refusal(self, published_job):
        """Only the stone crew paves: it is told, with the work's name, and may be kept all the same."""
        answer = look("crew", "stone-crew", since="2026-06-25")
        assert parts(answer) == [
            (
                "1 work from that day on has no crew",
                [("Lay crushed-stone path, front path", "")],
                True,
            )
        ]
        assert keep(Crew.objects.get(slug="stone-crew"), since="2026-06-25").status_code == 302

    def test_works_nobody_can_do_are_named_where_nothing_is_planned_yet(self, job):
        """A yard that no plan knows needs paving, too."""
        told = parts(look("crew", "stone-crew", since="2026-06-25"))
        assert told == [
            (
                "1 work from that day on has no crew",
                [("Lay crushed-stone path, front path", "")],
                True,
            )
        ]

    def test_what_was_fixed_for_it_by_hand_is_named(self, dug):
        """And what it helps with."""
        green = Crew.objects.get(slug="green-crew")
        Activity.objects.filter(template="clean-up").update(only_crew=green)
        Activity.objects.filter(name__startswith="Lay").update(lent=green)
        told = parts(look("crew", "green-crew", since="2026-07-20"))
        assert ("Fixed for it, or helped by it, by hand", 2) in [
            (title, len(works)) for title, works, _ in told
        ]

    def test_the_last_machine_of_a_kind_is_hired_from_then_on(self, published_job):
        """As works are planned that need what nobody owns."""
        answer = look("machine", "mini-excavator-17-ton", since="2026-06-25")
        assert parts(answer) == [
            ("1 work planned from that day on", [("Dig out, front path", "")], False)
        ]
        assert "None is left: planned as if a mini excavator" in answer.content.decode()

    def test_one_of_several_is_told_by_what_is_left(self, published_job):
        """Two works could do with one compactor, one needs both."""
        Machine.objects.filter(slug="plate-compactor").update(count=2)
        work = Activity.objects.get(template="spread-base")
        work.detail["machines"] = [["plate-compactor", 2]]
        work.save()
        told = parts(look("machine", "plate-compactor", since="2026-06-25", units="1"))
        assert [(title, len(works), wrong) for title, works, wrong in told] == [
            ("1 work from that day on has too few machines", 1, True),
            ("2 works planned from that day on", 2, False),
        ]

    def test_phones_that_end_are_counted(self, published_job):
        """One link of two still works; one phone."""
        crew = Crew.objects.get(slug="green-crew")
        make_link("crew:green-crew", now=NOW)
        make_link("crew:stone-crew", now=NOW)
        give_out(crew, "Nell", NOW)
        page = look("crew", "green-crew", since="2026-08-20").content.decode()
        assert "end on that day: 1. Phones with the crew&#x27;s own page that end: 1." in page

    def test_looking_keeps_nothing(self, dug):
        """Neither day nor line of the record."""
        before = HistoryEntry.objects.count()
        look("crew", "ground-crew", since="2026-07-02")
        assert Crew.objects.get(slug="ground-crew").gone_from is None
        assert HistoryEntry.objects.count() == before

    def test_few_queries(self, dug, django_assert_num_queries):
        """Sign-in, crew, company, hours, what was logged, plan, works, phones."""
        client, address = signed_in(), reverse("crew-leaves", args=["ground-crew"])
        client.get(address, {"gone-since": "2026-07-02"})
        with django_assert_num_queries(20):
            client.get(address, {"gone-since": "2026-07-02"})


class TestRefused:
    """Beside the field, with 422 and nothing kept."""

    @pytest.mark.parametrize(
        ("since", "words"),
        [
            ("", "missing"),
            ("soon", "A date such as"),
            ("2026-06-10", "logged to have worked on Wed 10 Jun 2026"),
            ("2036-06-10", "look at the year"),
        ],
    )
    def test_a_day_that_cannot_be(self, published_job, since, words):
        """Not a day; a day on which it is known to have worked; a slip of the year."""
        crew = Crew.objects.get(slug="ground-crew")
        DayLog.objects.create(
            job=published_job, crew=crew, day=date(2026, 6, 10), kind="present", by="Ines",
            device_at=NOW, server_at=NOW,
        )  # fmt: skip
        answer = keep(crew, since=since)
        assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["since"])
        assert words in answer.content.decode()
        assert look("crew", crew.slug, since=since or "never").status_code == 422
        assert Crew.objects.get(pk=crew.pk).gone_from is None

    def test_more_units_than_there_are(self, published_job):
        """Three of two."""
        Machine.objects.filter(slug="plate-compactor").update(count=2)
        machine = Machine.objects.get(slug="plate-compactor")
        answer = keep(machine, since="2026-07-02", units="3")
        assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["units"])

    def test_said_twice(self, published_job):
        """The second editor is told, nothing is kept twice."""
        crew = Crew.objects.get(slug="ground-crew")
        keep(crew, since="2026-07-02")
        answer = keep(crew, since="2026-07-03")
        assert (answer.status_code, Change.objects.count()) == (422, 1)
        assert "gone already" in answer.content.decode()

    def test_changed_meanwhile(self, published_job):
        """Somebody gave it another name while the page was open."""
        crew = Crew.objects.get(slug="ground-crew")
        Crew.objects.get(pk=crew.pk).save()
        answer = keep(crew, since="2026-07-02")
        assert (answer.status_code, Change.objects.count()) == (422, 0)
        assert "nothing was overwritten" in answer.content.decode()


class TestCrewGone:
    """Kept: plans do without from that day."""

    def test_nothing_is_planned_on_it_from_that_day_on(self, dug):
        """Before it the crew digs as it did; others put the way in right."""
        keep(Crew.objects.get(slug="ground-crew"), since="2026-07-02")
        made = plan_jobs(now=NOW, by="test")
        assert planned("ground-crew") == [
            ("Set up the site", date(2026, 6, 25)),
            ("Dig out, front path", date(2026, 7, 1)),
            ("Haul soil, front path", date(2026, 7, 1)),
        ]
        assert ("Put the way in right", GONE) in planned("stone-crew")
        published = accept_plan(made.plan, by="test", now=NOW).plan
        assert published.state == Plan.State.PUBLISHED

    def test_it_waits_among_what_was_said_until_a_plan_is_accepted(self, dug):
        """So its share in a moved date can be told; undoing the plan does not bring the crew back."""
        keep(Crew.objects.get(slug="ground-crew"), since="2026-07-02")
        page = signed_in().get(reverse("storm")).content.decode()
        assert "Ground crew, from Thu 2 Jul 2026" in page
        accept_plan(plan_jobs(now=NOW, by="test").plan, by="test", now=NOW)
        assert Change.objects.get().plan is not None
        undo(by="test", now=NOW)
        assert Crew.objects.get(slug="ground-crew").gone_from == GONE

    def test_a_work_under_way_that_it_cannot_end_goes_to_others(self, dug):
        """What is left of it, from the next slot on."""
        ground = Crew.objects.get(slug="ground-crew")
        work = Activity.objects.get(template="dig-out")
        work.started_at, work.done_share, work.done_crew = NOW - timedelta(hours=9), 50, ground
        work.save()
        plan_jobs(now=NOW, by="test")
        assert PlanRow.objects.get(plan__state="proposed", activity=work).crew == ground
        assert keep(ground, since="2026-06-17").status_code == 302
        plan_jobs(now=NOW, by="test")
        assert PlanRow.objects.get(plan__state="proposed", activity=work).crew.slug == "green-crew"

    def test_a_work_fixed_for_it_is_free_once_it_is_gone(self, dug):
        """Nobody need lift the wish by hand."""
        ground = Crew.objects.get(slug="ground-crew")
        Activity.objects.filter(template="clean-up").update(only_crew=ground)
        keep(ground, since="2026-06-17")
        plan_jobs(now=NOW, by="test")
        assert planned("ground-crew") == []

    def test_weeks_later_a_plan_that_still_names_it_can_be_mended(self, dug):
        """Nobody accepted another one meanwhile."""
        keep(Crew.objects.get(slug="ground-crew"), since="2026-07-02")
        later = NOW + timedelta(days=40)
        assert plan_jobs(now=later, by="test").plan is not None
        assert planned("ground-crew") == []

    def test_hours_end_and_loans_with_them(self):
        """Who was lent to it is back, who was lent by it is gone, on Tuesday."""
        leaves, stays = CrewFactory(gone_from=TUESDAY), CrewFactory()
        of_it, to_it = CrewMemberFactory(crew=leaves), CrewMemberFactory(crew=stays)
        LoanFactory(member=of_it, crew=stays, first=MONDAY, last=TUESDAY)
        LoanFactory(member=to_it, crew=leaves, first=MONDAY, last=TUESDAY)
        hours = working_hours(MONDAY, TUESDAY)
        assert hours.crews[leaves.slug].masks == [15, 0]
        assert (hours.crews[leaves.slug].people, hours.crews[stays.slug].people) == ([1, 0], [1, 1])
        assert [loan.until for loan in Loan.objects.all()] == [MONDAY, MONDAY]
        assert set(working_hours(TUESDAY, TUESDAY).crews) == {stays.slug}
        gone = working_hours(TUESDAY, TUESDAY, with_gone=True)
        assert gone.crews[leaves.slug].masks == [0]


class TestTheDayComes:
    """Links and phones end, lists hide it; what was published stays."""

    def test_links_and_phones_end_on_the_day_not_before(self, published_job):
        """Events before it stay; the link says that it was turned off, as any that was."""
        crew = Crew.objects.get(slug="ground-crew")
        _, token = make_link("crew:ground-crew", now=NOW)
        give_out(crew, "Marlo", NOW)
        keep(crew, since="2026-07-02")
        events = CalendarEvent.objects.filter(subject="crew:ground-crew").count()
        assert let_go(date(2026, 7, 1), wall_now()) == 0
        assert find_link(token).revoked is None
        noon = datetime(2026, 7, 2, 12, tzinfo=UTC)
        assert (let_go(GONE, noon), let_go(GONE, noon)) == (1, 0)
        assert find_link(token).revoked == CrewPhone.objects.get().revoked == noon
        assert CalendarEvent.objects.filter(subject="crew:ground-crew").count() == events > 0

    def test_said_on_the_day_or_later_they_end_at_once(self, published_job):
        """And the crew stands under a fold, out of the forms."""
        _, token = make_link("crew:ground-crew", now=NOW)
        keep(Crew.objects.get(slug="ground-crew"), since="2026-06-16")
        assert find_link(token).revoked is not None
        answer = signed_in(Role.VIEWER).get(reverse("crews"))
        assert [card.slug for card in answer.context["crews"]] == ["green-crew", "stone-crew"]
        assert [tuple(one) for one in answer.context["gone"]] == [
            ("Ground crew", "ground-crew", "Gone from Tue 16 Jun 2026")
        ]
        assert "No longer with us (1)" in answer.content.decode()

    def test_what_was_done_and_logged_stays(self, published_job):
        """The day page still names who did it."""
        crew = Crew.objects.get(slug="ground-crew")
        DayLog.objects.create(
            job=published_job, crew=crew, day=date(2026, 6, 15), kind="present", by="Ines",
            device_at=NOW, server_at=NOW,
        )  # fmt: skip
        keep(crew, since="2026-06-16")
        address = reverse("day", args=[published_job.slug])
        page = signed_in().get(address, {"on": "2026-06-15"}).content.decode()
        assert DayLog.objects.get(kind="present").crew == crew
        assert "Ground crew" in page


class TestTakenBack:
    """With us again."""

    def test_before_a_plan_was_accepted(self, published_job):
        """As if it was never said, but in the record."""
        crew = Crew.objects.get(slug="ground-crew")
        keep(crew, since="2026-06-16")
        signed_in().post(reverse("crew-stays", args=[crew.slug]))
        crew.refresh_from_db()
        assert (crew.gone_from, crew.active, Change.objects.count()) == (None, True, 0)

    def test_after_a_plan_was_accepted(self, dug):
        """What moved then stays told; from now on it is planned with."""
        crew = Crew.objects.get(slug="ground-crew")
        keep(crew, since="2026-06-17")
        accept_plan(plan_jobs(now=NOW, by="test").plan, by="test", now=NOW)
        signed_in().post(reverse("crew-stays", args=[crew.slug]))
        crew.refresh_from_db()
        assert (crew.gone_from, crew.active, Change.objects.count()) == (None, True, 1)
        assert HistoryEntry.objects.order_by("-pk")[0].what == "with us again"

    def test_a_machine_with_all_its_units(self, published_job):
        """Said in two steps, taken back in one."""
        Machine.objects.filter(slug="plate-compactor").update(count=2)
        for day in ("2026-06-15", "2026-06-16"):
            machine = Machine.objects.get(slug="plate-compactor")
            assert keep(machine, since=day, units="1").status_code == 302
        machine.refresh_from_db()
        assert machine.active is False
        signed_in().post(reverse("machine-stays", args=[machine.slug]))
        machine.refresh_from_db()
        assert (machine.gone, machine.active) == ([], True)

    def test_the_record_says_all_of_it(self, published_job):
        """Who, and from which day."""
        crew = Crew.objects.get(slug="ground-crew")
        keep(crew, since="2026-07-02")
        signed_in().post(reverse("crew-stays", args=[crew.slug]))
        lines = HistoryEntry.objects.order_by("-pk")[:2]
        assert [(line.what, line.by) for line in lines] == [
            ("taken back", "Owner"),
            ("a crew or machine no longer with us", "Owner"),
        ]
        assert lines[1].after == {"said": "Ground crew, from Thu 2 Jul 2026"}
