"""Who is there: away in one tap, lent, who leads, what suffers, and what a plan makes of it.

Today is Tuesday 16 June 2026; the small yard is planned from Monday 22 June.
"""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from crews.models import Crew, CrewMember, CrewSkill, Loan, Role, TimeOff
from crews.services.roll import read_rolls
from jobs.models import Activity, Change, HistoryEntry, PlanRow
from jobs.services.company.short_handed import effects_of, worked_days
from jobs.services.pages.frame import published_plan as plan_on_phones
from tests.factories import LoanFactory, TimeOffFactory
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
TODAY = NOW.date()
PAVING_DAY = date(2026, 7, 2)
"""The stone crew, with three of its four people, lays the path on this Thursday morning."""


@pytest.fixture
def client():
    """The owner's browser, in a company with one yard planned and published."""
    open_office()
    small_job()
    published_plan()
    return signed_in()


def member(name: str) -> CrewMember:
    """Somebody by name."""
    return CrewMember.objects.get(name=name)


def suffers(first: date, last: date) -> list[str]:
    """What absences do to published work."""
    return [effect.words for effect in effects_of(read_rolls(first, last), plan_on_phones())]


class TestAwayToday:
    """One tap, from three pages."""

    def test_it_is_told_who_is_left_and_who_leads(self, client):
        """The lead of four is sick: three are there, and the first of them leads."""
        address = reverse("away-today", args=[member("Ines Farrow").pk])
        answer = client.post(address, {"next": "/"}, follow=True)
        assert answer.redirect_chain == [("/", 302)]
        page = answer.content.decode()
        told = (
            "Ines Farrow is away today: 3 of 4 of the Ground crew are there, Tobin Ashgrove leads."
        )
        assert told in page
        assert "No published work suffers today." in page
        row = TimeOff.objects.get(member__name="Ines Farrow")
        assert (row.first, row.last) == (TODAY, TODAY)

    def test_two_taps_are_one_absence_and_back_takes_it_away(self, client):
        """With its cause for the ways out, and both in the record."""
        who = member("Una Brisket").pk
        for _ in range(2):
            client.post(reverse("away-today", args=[who]))
        assert (TimeOff.objects.filter(member=who).count(), Change.objects.count()) == (1, 1)
        client.post(reverse("back-today", args=[who]))
        assert (TimeOff.objects.filter(member=who).count(), Change.objects.count()) == (0, 0)
        assert [entry.what for entry in HistoryEntry.objects.all()[:2]] == [
            "taken back",
            "people who were out",
        ]

    def test_back_early_ends_a_longer_absence_yesterday(self, client):
        """Off from Monday to Friday, back on Tuesday."""
        who = member("Una Brisket")
        row = TimeOffFactory(member=who, first=date(2026, 6, 15), last=date(2026, 6, 19))
        client.post(reverse("back-today", args=[who.pk]))
        row.refresh_from_db()
        assert row.last == date(2026, 6, 15)

    @pytest.mark.parametrize("page", ["tomorrow", "crews", "storm"])
    def test_the_tap_is_on_three_pages(self, client, page):
        """A button with a name a reader says in full."""
        address = reverse("away-today", args=[member("Una Brisket").pk])
        text = client.get(reverse(page)).content.decode()
        assert f'action="{address}"' in text
        assert '<span class="hidden-words">: Una Brisket</span>' in text

    def test_a_viewer_may_not_and_nobody_is_led_elsewhere(self, client):
        """403 for one who only looks; an address of another house is not followed."""
        address = reverse("away-today", args=[member("Una Brisket").pk])
        assert signed_in(Role.VIEWER).post(address).status_code == 403
        assert client.post(address, {"next": "//evil.example/"}).url == reverse("crews")
        assert client.get(address).status_code == 405
        assert client.post(reverse("away-today", args=[999])).status_code == 404


class TestWhatSuffers:
    """In words, by work."""

    def test_below_the_least_a_work_cannot_be_done(self, client):
        """The path needs two who pave; of the three by name one is there."""
        CrewSkill.objects.filter(skill="paving").update(
            names=["Rafe Coldwater", "Una Brisket", "Pell Harrow"]
        )
        for name in ("Una Brisket", "Pell Harrow"):
            TimeOffFactory(member=member(name), first=PAVING_DAY)
        assert suffers(PAVING_DAY, PAVING_DAY) == [
            "Lay crushed-stone path, front path cannot be done Thu 2 Jul: "
            "it needs 2 people for paving, 1 is there"
        ]
        page = client.get(reverse("crews")).content.decode()
        assert "cannot be done" not in page  # more than two weeks ahead

    def test_with_fewer_it_goes_slower(self, client):
        """Two people instead of three."""
        for name in ("Una Brisket", "Pell Harrow"):
            TimeOffFactory(member=member(name), first=PAVING_DAY)
        assert suffers(PAVING_DAY, PAVING_DAY) == [
            "Lay crushed-stone path, front path goes slower Thu 2 Jul: 2 people instead of 3"
        ]

    def test_one_who_is_not_needed_is_not_missed(self, client):
        """Three of four pave, and three are left."""
        TimeOffFactory(member=member("Sunny Vance"), first=PAVING_DAY)
        assert suffers(PAVING_DAY, PAVING_DAY) == []

    def test_people_of_a_helping_crew_count(self, client):
        """Three of the Stone crew and one of the Ground crew who pave: who is away of either is missed, once."""
        ground = Crew.objects.get(slug="ground-crew")
        CrewSkill.objects.create(crew=ground, skill="paving", names=["Ines Farrow"])
        work = Activity.objects.get(template="dg-path")
        Activity.objects.filter(pk=work.pk).update(lent=ground)
        row = published_plan().rows.get(activity=work)
        [day] = worked_days(row)
        assert (row.crew.slug, row.lent, row.people) == ("stone-crew", ground, 4)
        for name in ("Una Brisket", "Pell Harrow", "Ines Farrow"):
            TimeOffFactory(member=member(name), first=day)

        def told(*crews):
            found = effects_of(read_rolls(day, day), plan_on_phones(), crews)
            return [effect for effect in found if effect.uid == work.uid]

        [slower] = told()
        assert slower.words.endswith(": 2 people instead of 4")
        assert slower.crews == ("stone-crew", "ground-crew")
        assert told("stone-crew") == told("ground-crew") == [slower]
        assert told("green-crew") == []
        TimeOff.objects.filter(member=member("Ines Farrow")).delete()
        assert told()[0].words.endswith(": 3 people instead of 4")

    def test_what_waits_for_the_leads_yes_is_told(self, client):
        """Ines signs for the clean yard; on that Monday she is away, and Tobin leads."""
        work = Activity.objects.get(template="clean-up")
        Activity.objects.filter(pk=work.pk).update(detail=work.detail | {"sign": "lead"}, least=1)
        PlanRow.objects.filter(activity=work).update(people=3)
        monday = date(2026, 7, 6)
        TimeOffFactory(member=member("Ines Farrow"), first=monday)
        assert suffers(monday, monday)[0] == (
            "Clean up needs the lead's yes Mon 6 Jul: Ines Farrow is away, Tobin Ashgrove leads; "
            "settle who may give it"
        )


class TestPlansGoByWhoIsThere:
    """The planner reads the same rows."""

    def test_a_work_moves_off_the_days_with_too_few(self, client):
        """Both who are left of the three who pave are away on Thursday: the path is laid on Monday."""
        CrewSkill.objects.filter(skill="paving").update(
            names=["Rafe Coldwater", "Una Brisket", "Pell Harrow"]
        )
        for name in ("Una Brisket", "Pell Harrow"):
            TimeOffFactory(member=member(name), first=PAVING_DAY)
        row = published_plan().rows.get(activity__template="dg-path")
        assert row.start.date() == date(2026, 7, 6)  # Friday 3 July is a holiday
        assert row.people == 3

    def test_fewer_people_take_longer(self, client):
        """Two days of work for three, from Thursday morning; two are there from that day on.

        Two of three do 0.69 of a day. Of the four slots of Thursday two are lost, of Monday's one, of
        Tuesday's one: 2 + 3 + 3 are the eight it takes, and it is done on Tuesday instead of Monday.
        """
        work = Activity.objects.get(template="dg-path")
        Activity.objects.filter(pk=work.pk).update(days=2, days_low=2, days_high=2)
        before = published_plan().rows.get(activity=work)
        assert [day for day, *_ in before.segments] == [
            "2026-07-02T07:00:00-04:00",
            "2026-07-06T07:00:00-04:00",
        ]
        for name in ("Una Brisket", "Pell Harrow"):
            TimeOffFactory(member=member(name), first=PAVING_DAY, last=date(2026, 7, 31))
        after = published_plan().rows.get(activity=work)
        assert after.people == 2
        assert after.segments == [
            ["2026-07-02T07:00:00-04:00", "2026-07-02T15:30:00-04:00", True],
            ["2026-07-06T07:00:00-04:00", "2026-07-06T15:30:00-04:00", True],
            ["2026-07-07T07:00:00-04:00", "2026-07-07T13:30:00-04:00", False],
        ]


class TestLending:
    """From one crew to another for some days."""

    def lend(self, client, **told):
        """Post the form."""
        green = Crew.objects.get(slug="green-crew")
        facts = {
            "who": member("Una Brisket").pk, "crew": green.pk,
            "first": "2026-06-22", "last": "2026-06-26",
        } | told  # fmt: skip
        posted = {f"loan-{key}": value for key, value in facts.items()}
        return client.post(reverse("add-loan"), posted, follow=True)

    def test_lent_and_back_again(self, client):
        """Shown with both crews, and in the record."""
        page = self.lend(client).content.decode()
        assert "Una Brisket helps the Green crew" in page
        assert "with the Green crew, Mon 22 – Fri 26 Jun" in page
        client.post(reverse("remove-loan", args=[Loan.objects.get().pk]))
        assert not Loan.objects.exists()
        assert [entry.what for entry in HistoryEntry.objects.all()[:2]] == [
            "lent no more",
            "lent to another crew",
        ]

    def test_a_loan_under_way_ends_yesterday(self, client):
        """The days that were are not undone."""
        green = Crew.objects.get(slug="green-crew")
        una, monday = member("Una Brisket"), date(2026, 6, 15)
        loan = LoanFactory(member=una, crew=green, first=monday, last=TODAY)
        client.post(reverse("remove-loan", args=[loan.pk]))
        loan.refresh_from_db()
        assert loan.last == date(2026, 6, 15)

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"who": ""}, "missing"),
            ({"who": "999999"}, "none of the choices"),
            ({"crew": "1 OR 1=1"}, "none of the choices"),
            ({"first": "yesterday"}, "A date such as"),
            ({"last": "2026-06-19"}, "swap the two"),
            ({"first": "2026-06-01", "last": "2026-06-02"}, "These days are over"),
            ({"last": "9999-12-31"}, "More than a year"),
        ],
    )
    def test_what_is_wrong_is_told(self, client, told, words):
        """Beside the field, and nothing is kept."""
        answer = self.lend(client, **told)
        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert not Loan.objects.exists()

    def test_not_to_the_own_crew_and_not_twice(self, client):
        """Una is of the stone crew, and lent in that week already."""
        own = self.lend(client, crew=Crew.objects.get(slug="stone-crew").pk)
        assert "is in this crew already" in own.content.decode()
        self.lend(client)
        again = self.lend(client, first="2026-06-26", last="2026-06-29")
        assert "lent on some of these days already" in again.content.decode()
        assert Loan.objects.count() == 1


class TestSkillsByName:
    """Who may spray is somebody."""

    def facts(self, crew: Crew, **told: str) -> dict[str, str]:
        """The stone crew's form as posted."""
        days = ("monday", "tuesday", "wednesday", "thursday", "friday")
        facts = {"name": crew.name, "people": "Ada\nBo", "revision": str(crew.revision)}
        facts |= {f"day_{day}": "all day" for day in days}
        return facts | {"day_saturday": "off", "day_sunday": "off"} | told

    def test_names_are_kept_and_shown_again(self, client):
        """In any letters, with blanks, once each."""
        crew = Crew.objects.get(slug="stone-crew")
        address = reverse("edit-crew", args=[crew.slug])
        client.post(address, self.facts(crew, skill_spray=" ada , ADA", skill_paving="all"))
        rows = {row.skill: (row.people, row.names) for row in crew.skills.all()}
        assert rows == {"spray": (1, ["Ada"]), "paving": (None, [])}
        assert 'name="skill_spray" value="Ada"' in client.get(address).content.decode()

    def test_least_and_usual_of_the_works_stand_beside_a_skill(self, client):
        """Curing takes one, a pour four people."""
        page = client.get(reverse("edit-crew", args=["stone-crew"])).content.decode()
        concrete = page.partition('for="id_skill_concrete"')[2].partition("</label>")[0]
        assert "works take 1 to 4" in concrete

    @pytest.mark.parametrize("told", ["Cy", "Ada, Cy", "0", "-1", "3", "9" * 300, "²", "<b>"])
    def test_nobody_unknown(self, client, told):
        """A name that is not of the crew, a number that is none."""
        crew = Crew.objects.get(slug="stone-crew")
        address = reverse("edit-crew", args=[crew.slug])
        answer = client.post(address, self.facts(crew, skill_spray=told))
        assert answer.status_code == 422
        assert "or who they are by name" in answer.content.decode()
        assert Crew.objects.get(pk=crew.pk).revision == crew.revision
