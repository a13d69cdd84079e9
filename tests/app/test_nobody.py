"""A work that nobody of the house can do: it stops nothing else, and nothing that hangs on it is called certain."""

from __future__ import annotations

import json
from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse

from crews.models import CalendarEvent, Crew, CrewSkill, Machine
from jobs.models import Activity, Company, Outlook, Plan, PlanRow
from jobs.scheduling.storm.ways_out import Way
from jobs.services.company.crew_changes import keep_crew
from jobs.services.company.leaving import leave, stay
from jobs.services.history import Who
from jobs.services.mail.messages import drafts
from jobs.services.pages.frame import said_of
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.look_ahead import read_look_ahead
from jobs.services.pages.nobody import read_lacking
from jobs.services.pages.promising import promise_advice
from jobs.services.pages.storm_columns import say_whose
from jobs.services.pages.tomorrow import read_tomorrow
from jobs.services.planning.health import Checkup
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.sky.outlook import odds_of_plan, say_daily_outlook, say_first_outlook
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.offer import answer_at_once, read_storm
from jobs.services.world.lacking import nobody_of
from jobs.services.world.revision import world_revision
from tests.crew_facts import facts_of
from tests.hands import act
from tests.office import NOW, published_plan, signed_in
from tests.storms import rain

pytestmark = pytest.mark.django_db
PATH = "Lay crushed-stone path, front path"
"""Only the stone crew paves."""
NO_DAY = "no day yet: we tell you as soon as it is settled"
NEEDS = "no crew has 2 people able to do paving."


@pytest.fixture
def unmanned(published_job):
    """The published yard, in which nobody paves any more."""
    CrewSkill.objects.filter(skill="paving").delete()
    return published_job


def path() -> Activity:
    return Activity.objects.get(name=PATH)


def row_of(plan: Plan) -> PlanRow:
    return plan.rows.select_related("crew", "activity").get(activity__name=PATH)


class TestPlanned:
    """As the work of somebody hired, in its turn; what others do goes on."""

    def test_a_plan_is_made_in_which_it_is_nobodys(self, unmanned):
        """Every work has its place; the plan keeps which one lacks hands, and that the finish hangs on it."""
        plan = plan_jobs(now=NOW, by="test").plan
        row = row_of(plan)
        assert plan.rows.count() == unmanned.activities.filter(retired=False).count()
        assert (row.crew, row.crews, row.people) == (None, (), None)
        assert list(plan.lacks["hands"]) == [row.activity.uid]
        assert nobody_of(plan).jobs == {unmanned.uid: PATH}

    def test_finding_somebody_takes_days_from_the_settings(self, unmanned):
        """Planned on Tuesday 16 June: five working days later is Tuesday 23, none is today; the page says how many."""
        begins = {}
        for days in (0, 5, 20):
            Company.objects.update(finding_days=days)
            begins[days] = row_of(published_plan()).start.date()
            said = read_lacking(Plan.objects.get(state="published")).why
            assert (f"{days} working days" in said) == (days > 0)
        assert begins[5] >= date(2026, 6, 23)
        assert (begins[0] < begins[20], begins[20] >= date(2026, 7, 14)) == (True, True)

    def test_whoever_is_named_needs_no_finding(self, unmanned):
        """Hired by hand: there from the first day, whatever the settings say; and the setting makes a plan old."""
        published_plan()
        old = world_revision()
        Company.objects.update(finding_days=60)
        assert world_revision() != old
        act(path(), does="pin", not_before="", not_after="", only_crew="/hired")
        assert row_of(plan_jobs(now=NOW, by="test").plan).start.date() < date(2026, 9, 1)

    def test_its_crew_does_it_as_long_as_it_is_there(self, published_job):
        """The stone crew leaves once it is done; or on the day it was to begin, and nobody is left from then on."""
        stone = Crew.objects.get(slug="stone-crew")
        was = row_of(Plan.objects.get(state="published"))
        stone.gone_from = was.finish.date() + timedelta(days=1)
        stone.save()
        assert row_of(plan_jobs(now=NOW, by="test").plan).crew == stone
        stone.gone_from = was.start.date()
        stone.save()
        now = row_of(plan_jobs(now=NOW, by="test").plan)
        assert (now.crew, now.start.date() >= stone.gone_from) == (None, True)

    def test_a_crew_it_is_fixed_for_may_leave_before(self, published_job):
        """Others could do it, but somebody said only this one: it is for whoever said so to settle."""
        green, clean_up = Crew.objects.get(slug="green-crew"), "clean-up"
        Activity.objects.filter(template=clean_up).update(only_crew=green)
        green.gone_from = NOW.date() + timedelta(days=3)
        green.save()
        plan = plan_jobs(now=NOW, by="test").plan
        uid = Activity.objects.get(template=clean_up).uid
        assert plan.rows.get(activity__uid=uid).crew is None
        assert uid in plan.lacks["hands"]

    def test_a_work_under_way_whose_crew_is_gone_is_nobodys_for_the_rest(self, unmanned):
        """Half of it is done; nobody can do the other half."""
        stone = Crew.objects.get(slug="stone-crew")
        begun = NOW - timedelta(hours=9)
        Activity.objects.filter(name=PATH).update(started_at=begun, done_share=50, done_crew=stone)
        stone.gone_from = NOW.date()
        stone.save()
        plan = plan_jobs(now=NOW, by="test").plan
        assert [work.name for work in nobody_of(plan).works] == [PATH]

    def test_more_machines_than_there_are_stop_nothing_either(self, published_job):
        """Two compactors of one: planned with ours, and told that one is to be rented."""
        base = Activity.objects.get(template="spread-base")
        base.detail["machines"] = [["plate-compactor", 2]]
        base.save()
        plan = plan_jobs(now=NOW, by="test").plan
        assert [unit for _, unit, _ in plan.rows.get(activity=base).machines] == [0]
        told = read_lacking(plan)
        assert (told.hands, [lack.work for lack in told.machines]) == ((), [base.name])
        assert told.machines[0].why.startswith("it needs 2 (plate compactor), 1 is there")
        Machine.objects.filter(slug="plate-compactor").update(count=2)
        assert plan_jobs(now=NOW, by="test").plan.lacks == {}


class TestNotCertain:
    """What hangs on it is promised to nobody."""

    def test_no_odds_are_said_and_none_are_reckoned_again_and_again(self, unmanned):
        """The one yard there is hangs on it."""
        Outlook.objects.all().delete()
        plan = published_plan()
        assert (say_first_outlook(NOW), odds_of_plan(plan, NOW)) == (False, {})
        assert Outlook.objects.count() == 0

    def test_odds_of_a_plan_from_before_are_told_no_more(self, published_job):
        """The only crew that paves leaves before its turn: no page says odds until it stays, and the record keeps them."""
        plan = Plan.objects.get(state="published")
        assert say_first_outlook(NOW) or Outlook.objects.filter(plan=plan).exists()
        assert list(odds_of_plan(plan, NOW)) == [published_job.uid]
        stone, who = Crew.objects.get(slug="stone-crew"), Who("test", NOW)
        leave(stone, NOW.date() + timedelta(days=1), 0, who, revision=stone.revision)
        plan.refresh_from_db()
        assert row_of(plan).crew == stone
        assert (odds_of_plan(plan, NOW), say_daily_outlook(NOW + timedelta(days=1))) == ({}, False)
        words = f"No day is safe to promise: nobody is there for {PATH}."
        assert promise_advice(published_job, plan).words == words
        assert words in signed_in().get(reverse("safe")).content.decode()
        assert said_of(published_job, plan) is None
        assert Outlook.objects.filter(plan=plan).count() == 1
        stay(stone, who)
        plan.refresh_from_db()
        assert (list(odds_of_plan(plan, NOW)), plan.lacks) == ([published_job.uid], {})

    def test_a_crew_that_unlearns_it_takes_the_odds_away(self, published_job):
        """Kept on its page; with the skill back they are told again."""
        plan = Plan.objects.get(state="published")
        odds_of_plan(plan, NOW)
        stone, who = Crew.objects.get(slug="stone-crew"), Who("test", NOW)
        skills = {row.skill: row.people for row in stone.skills.all()}
        for can, told in ((skills.keys() - {"paving"}, 0), (skills.keys(), 1)):
            stone.refresh_from_db()
            facts = facts_of(stone, skills={skill: skills[skill] for skill in can})
            keep_crew(stone, facts, who, revision=stone.revision)
            plan.refresh_from_db()
            assert len(odds_of_plan(plan, NOW)) == told

    def test_the_office_is_told_that_no_day_is_safe(self, unmanned):
        """On the plan page with no button to promise one, and beside the promise of the yard."""
        plan = published_plan()
        words = f"No day is safe to promise: nobody is there for {PATH}."
        page = signed_in().get(reverse("safe")).content.decode()
        assert (words in page, "<button" in page.partition('id="safe"')[2]) == (True, False)
        assert promise_advice(unmanned, plan).words == words

    def test_the_homeowner_reads_no_day(self, unmanned):
        """Neither of what hangs on it nor of the finish, also once the planned day is past."""
        plan = published_plan()
        rows = plan.rows.filter(activity__uid__in=nobody_of(plan).follow)
        hangs = {row.activity.detail["milestone"] for row in rows.select_related("activity")} - {""}
        assert hangs
        for now in (NOW, rows.latest("finish").finish + timedelta(days=2)):
            page = read_homeowner(unmanned, now)
            told = {stone.words: (stone.when, stone.state) for stone in page.stones}
            assert {told[words][0] for words in hangs} == {NO_DAY}
            assert "laid" not in {told[words][1] for words in hangs}
            assert page.open.startswith("The day of the finish is not settled yet")
        shown = CalendarEvent.objects.filter(kind="milestone").exclude(status="CANCELLED")
        assert {event.title for event in shown}.isdisjoint(hangs)


class TestTold:
    """Wherever the plan is read, with what to do about it."""

    def test_what_a_change_buys_says_that_it_rests_on_somebody_hired(self, unmanned):
        """Both sides are planned as if; where a crew can do everything nothing is said."""
        address = f"{reverse('what-if')}?change=people&subject=ground-crew&by=1"
        said = f"Nobody can do {PATH}: counted as if somebody were hired."
        assert said in signed_in().get(address).content.decode()
        CrewSkill.objects.create(crew=Crew.objects.get(slug="stone-crew"), skill="paving", people=3)
        page = signed_in().get(address).content.decode()
        assert ("Reckoned" in page, "Nobody can do" in page) == (True, False)

    def test_no_crew_is_told_of_it_and_those_after_it_are_told_to_ask(self, unmanned):
        """In the language of the crew."""
        Crew.objects.update(language="es")
        plan = published_plan()
        shown = CalendarEvent.objects.exclude(status="CANCELLED").filter(start__gt=NOW)
        assert not shown.filter(activity=path().uid).exists()
        after = set(nobody_of(plan).follow) & set(shown.values_list("activity", flat=True))
        notes = shown.filter(activity__in=after, kind="work").values_list("notes", flat=True)
        assert notes
        assert all("todavía no hay nadie para eso" in note for note in notes)

    def test_pages_name_it_with_both_remedies(self, unmanned):
        """The plan page, and the work's own."""
        published_plan()
        client, uid = signed_in(), path().uid
        for name, args in (("plan", []), ("activity", [unmanned.slug, uid])):
            page = client.get(reverse(name, args=args)).content.decode()
            assert NEEDS.removesuffix(".") in page
            assert f"{reverse('by-hand', args=[unmanned.slug, uid])}#pin" in page
            assert f'href="{reverse("crews")}"' in page
        assert "Nobody yet" in page

    def test_the_evening_before_asks_for_somebody(self, unmanned):
        """First of all that is the office's; the promise is at risk, and crews that wait for it are warned."""
        published_plan()
        now = row_of(Plan.objects.get(state="published")).start - timedelta(days=1)
        page = read_tomorrow(now)
        assert (
            page.needs[0].what == f"Nobody can do {PATH}: hire somebody, or give a crew the skill"
        )
        assert [(it.words, it.at_risk) for it in page.promises] == [
            (f"hangs on finding somebody for {PATH}", True)
        ]
        rows = read_look_ahead(now).crews
        assert rows[0].name == "Nobody yet"
        assert [y.stands[0].what for c in rows[0].cells for y in c.yards] == [PATH]

    def test_its_machine_is_at_no_work(self, unmanned):
        """A compactor is planned for it, yet neither the look-ahead nor its own page or calendar sends it there."""
        row = row_of(published_plan())
        assert row.own_machines == ("plate-compactor",)
        machines = read_look_ahead(row.start).machines
        stands = [it.uid for one in machines for c in one.cells for y in c.yards for it in y.stands]
        assert stands
        assert row.activity.uid not in stands
        told = CalendarEvent.objects.filter(activity=row.activity.uid, status="CONFIRMED")
        assert not told.exists()

    def test_health_fails(self, unmanned):
        """The plan rests on somebody who is not there."""
        checks = Checkup(published_plan(), NOW).of().checks
        assert {c.key: c.verdict.value for c in checks}["no-crew"] == "fails"

    def test_commands_say_it(self, unmanned):
        """In words and as JSON."""
        out = StringIO()
        call_command("plan", stdout=out)
        assert f"{NEEDS}\n" in out.getvalue()
        out = StringIO()
        call_command("plan", "--json", "--dry-run", stdout=out)
        told = json.loads(out.getvalue())
        assert [row["name"] for row in told["activities"] if row["nobody"]] == [PATH]
        assert {row["p80"] for row in told["jobs"]} == {None}


class TestAfterTheStorm:
    """Its crew leaves, and it rains: ways out are found all the same."""

    def test_ways_out_are_found_told_and_published(self, published_job):
        """What stopped all yards before; the ledger adds up, with the crew's leaving as one of the causes."""
        stone = Crew.objects.get(slug="stone-crew")
        leave(stone, NOW.date() + timedelta(days=1), 0, Who("test", NOW), revision=stone.revision)
        rain()
        answered = answer_at_once(read_storm(NOW), NOW)
        page = signed_in().get(reverse("storm")).content.decode()
        assert ("Nobody can do this work" in page, NEEDS in page) == (True, True)
        plan = accept_answer(answered[0].row, by="test", now=NOW).plan
        assert [work.name for work in nobody_of(plan).works] == [PATH]
        letter = next(one for one in drafts(NOW) if one.whom.startswith("Homeowner"))
        assert "when it is finished is open again" in letter.text
        change = plan.finish_changes.get()
        assert sum(share["days"] for share in change.shares) == (change.becomes - change.was).days

    @pytest.mark.parametrize("slug", ["green-crew", "ground-crew", "stone-crew"])
    @pytest.mark.parametrize("days", [2, 9, 16])
    def test_push_right_gives_a_plan_whoever_leaves(self, published_job, slug, days):
        """What was its to do from then on is done by those who stay and can, or by whoever is hired; none by it."""
        crew, last = Crew.objects.get(slug=slug), NOW.date() + timedelta(days=days - 1)
        leave(crew, last + timedelta(days=1), 0, Who("test", NOW), revision=crew.revision)
        rain()
        weather = read_storm(NOW)
        [pushed] = [one.found for one in answer_at_once(weather, NOW) if one.found.way is Way.PUSH_RIGHT]  # fmt: skip
        axis = weather.planning.world.axis
        its = [at.end for at in pushed.result.plan.placements.values() if at.crew == slug]
        assert (
            len(pushed.result.plan.placements)
            == published_job.activities.filter(retired=False).count()
        )
        assert max((axis.day(end) for end in its), default=last) <= last


def test_all_who_are_hired_are_told_in_one_line():
    """Two stand-ins bear one name: 9 days of one and 1 of the other are 10 of whoever is hired."""
    days = [date(2026, 6, day) for day in range(1, 11)]
    named = [("whoever is hired", day) for day in days] + [("Ground crew", days[0])]
    assert list(say_whose(named)) == ["whoever is hired: 10 days", "Ground crew: 1 day"]


class TestRemedies:
    """Somebody hired, or a crew with the skill: either way it is said no longer."""

    def test_somebody_hired_for_it_makes_it_sure(self, unmanned):
        """Said by hand: the caution goes at once, and the next plan may be promised."""
        plan = published_plan()
        assert (
            act(path(), does="pin", not_before="", not_after="", only_crew="/hired").status_code
            == 302
        )
        assert nobody_of(plan).works == ()
        plan = published_plan()
        assert (row_of(plan).crew, plan.lacks) == (None, {})
        assert say_first_outlook(NOW)
        page = (
            signed_in().get(reverse("activity", args=[unmanned.slug, path().uid])).content.decode()
        )
        assert ("Somebody hired" in page, "by somebody hired" in page) == (True, True)

    def test_hired_people_may_take_a_crews_work_and_give_it_back(self, published_job):
        """A work the stone crew can do."""
        act(path(), does="pin", not_before="", not_after="", only_crew="/hired")
        assert row_of(plan_jobs(now=NOW, by="test").plan).crew is None
        act(path(), does="pin", not_before="", not_after="", only_crew="")
        assert row_of(plan_jobs(now=NOW, by="test").plan).crew.slug == "stone-crew"

    def test_once_somebody_began_it_all_is_well(self, unmanned):
        """The log says that it is under way, though no crew of ours is at it; it goes on with whoever began it."""
        plan = published_plan()
        Activity.objects.filter(name=PATH).update(
            started_at=NOW - timedelta(hours=9), done_share=40
        )
        assert nobody_of(plan).works == ()
        again = plan_jobs(now=NOW, by="test").plan
        assert (row_of(again).crew, again.lacks) == (None, {})

    def test_a_crew_that_learns_it_gets_it(self, unmanned):
        """Planned again."""
        published_plan()
        CrewSkill.objects.create(crew=Crew.objects.get(slug="green-crew"), skill="paving")
        plan = plan_jobs(now=NOW, by="test").plan
        assert (row_of(plan).crew.slug, plan.lacks) == ("green-crew", {})
