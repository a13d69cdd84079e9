"""Working hours as plain data. 8 June 2026 is a Monday."""

from __future__ import annotations

from datetime import date

import pytest

from crews.services.hours import CrewHours, Hours, MachineHours, working_hours
from tests.factories import (
    CrewFactory,
    CrewMemberFactory,
    CrewSkillFactory,
    LoanFactory,
    MachineFactory,
    TimeOffFactory,
    WorkingWeekFactory,
)

pytestmark = pytest.mark.django_db
MONDAY, TUESDAY, WEDNESDAY, SUNDAY = (date(2026, 6, day) for day in (8, 9, 10, 14))


def of(crew, first=MONDAY, last=WEDNESDAY):
    """The hours of one crew."""
    return working_hours(first, last).crews[crew.slug]


def test_nobody_and_nothing():
    """A new company has no hours."""
    assert working_hours(MONDAY, MONDAY) == Hours(crews={}, machines={}, holidays=frozenset())


def test_a_crew_works_its_week():
    """Monday to Friday all four day slots; nobody is missing at the weekend."""
    crew = CrewFactory(name="Ground crew")
    CrewMemberFactory.create_batch(2, crew=crew)
    CrewSkillFactory(crew=crew, skill="grading")
    CrewSkillFactory(crew=crew, skill="lights", people=1)
    assert of(crew, MONDAY, SUNDAY) == CrewHours(
        name="Ground crew",
        masks=[15, 15, 15, 15, 15, 0, 0],
        people=[2] * 7,
        able={"grading": [2] * 7, "lights": [1] * 7},
        optional=[0] * 7,
    )


def test_saturdays_may_be_asked_of_a_crew_that_says_so():
    """Free by its week, and not if the crew is off, or everybody, or nobody is there."""
    crew = CrewFactory(saturdays=True)
    member = CrewMemberFactory(crew=crew)
    optional = of(crew, MONDAY, date(2026, 7, 12)).optional
    assert [n for n, mask in enumerate(optional) if mask] == [5, 12, 19, 26, 33]
    TimeOffFactory(crew=crew, first=date(2026, 6, 13))
    TimeOffFactory(first=date(2026, 6, 20))
    TimeOffFactory(member=member, first=date(2026, 6, 27))
    optional = of(crew, MONDAY, date(2026, 7, 12)).optional
    assert [n for n, mask in enumerate(optional) if mask] == [26, 33]


def test_a_week_of_mornings():
    """The first slot of a day is the lowest bit: two before lunch are 3, two after are 12."""
    crew = CrewFactory(week=WorkingWeekFactory(monday=3, tuesday=12, wednesday=0))
    assert of(crew).masks == [3, 12, 0]


def test_a_company_holiday_is_nobodys_day():
    """Tuesday is off for every crew, and told as a holiday."""
    crew = CrewFactory()
    TimeOffFactory(first=TUESDAY)
    hours = working_hours(MONDAY, WEDNESDAY)
    assert hours.crews[crew.slug].masks == [15, 0, 15]
    assert hours.holidays == frozenset({TUESDAY})


def test_time_off_of_one_crew_is_no_holiday():
    """The other crew works."""
    ground, stone = CrewFactory.create_batch(2)
    TimeOffFactory(crew=ground, first=MONDAY, last=TUESDAY)
    hours = working_hours(MONDAY, WEDNESDAY)
    assert hours.crews[ground.slug].masks == [0, 0, 15]
    assert hours.crews[stone.slug].masks == [15, 15, 15]
    assert hours.holidays == frozenset()


def test_a_member_off_leaves_the_others():
    """Two people on Tuesday instead of three; the crew works."""
    crew = CrewFactory()
    first, *_ = CrewMemberFactory.create_batch(3, crew=crew)
    TimeOffFactory(member=first, first=TUESDAY)
    assert (of(crew).people, of(crew).masks) == ([3, 2, 3], [15, 15, 15])


def test_the_one_with_the_licence_is_the_one_who_counts():
    """Ana may spray. With Ben away on Monday she sprays; on Tuesday, without her, nobody does."""
    crew = CrewFactory()
    ana, ben = (CrewMemberFactory(crew=crew, name=name) for name in ("Ana", "Ben"))
    CrewSkillFactory(crew=crew, skill="spray", people=1, names=["Ana"])
    CrewSkillFactory(crew=crew, skill="grading", people=1)
    TimeOffFactory(member=ben, first=MONDAY)
    TimeOffFactory(member=ana, first=TUESDAY)
    assert of(crew).able == {"spray": [1, 0, 1], "grading": [1, 1, 1]}


def test_somebody_lent_counts_where_he_is():
    """On Tuesday and Wednesday the stone crew is one more, the ground crew one less."""
    ground, stone = CrewFactory(name="Ground"), CrewFactory(name="Stone")
    ana, _ = CrewMemberFactory.create_batch(2, crew=ground)
    CrewMemberFactory(crew=stone)
    CrewSkillFactory(crew=stone, skill="paving")
    LoanFactory(member=ana, crew=stone, first=TUESDAY, last=date(2026, 6, 19))
    hours = working_hours(MONDAY, WEDNESDAY)
    assert hours.crews[ground.slug].people == [2, 1, 1]
    assert hours.crews[stone.slug].able == {"paving": [1, 2, 2]}


def test_somebody_lent_and_sick_counts_nowhere():
    """Lent from Monday to Wednesday, sick on Tuesday."""
    ground, stone = CrewFactory(name="Ground"), CrewFactory(name="Stone")
    ana, _ = CrewMemberFactory.create_batch(2, crew=ground)
    CrewMemberFactory(crew=stone)
    LoanFactory(member=ana, crew=stone, first=MONDAY, last=WEDNESDAY)
    TimeOffFactory(member=ana, first=TUESDAY)
    hours = working_hours(MONDAY, WEDNESDAY)
    assert (hours.crews[ground.slug].people, hours.crews[stone.slug].people) == ([1] * 3, [2, 1, 2])


def test_two_times_off_of_one_member_count_once():
    """A day in both is one person missing."""
    crew = CrewFactory()
    first, _ = CrewMemberFactory.create_batch(2, crew=crew)
    TimeOffFactory(member=first, first=MONDAY, last=TUESDAY)
    TimeOffFactory(member=first, first=TUESDAY, last=WEDNESDAY)
    assert of(crew).people == [1, 1, 1]


def test_a_crew_whose_people_are_all_off_does_not_work():
    """Its only person is off on Tuesday."""
    crew = CrewFactory()
    TimeOffFactory(member=CrewMemberFactory(crew=crew), first=TUESDAY)
    assert (of(crew).people, of(crew).masks) == ([1, 0, 1], [15, 0, 15])


def test_a_crew_without_named_people_works():
    """Names may come later; what a skill needs is told with the skill."""
    crew = CrewFactory()
    assert (of(crew).people, of(crew).masks) == ([0, 0, 0], [15, 15, 15])


def test_time_off_is_cut_to_the_days_asked_for():
    """Off from the week before until the week after: only these days are counted."""
    crew = CrewFactory()
    TimeOffFactory(crew=crew, first=date(2026, 6, 1), last=date(2026, 6, 30))
    TimeOffFactory(first=date(2026, 6, 1), last=TUESDAY)
    assert of(crew).masks == [0, 0, 0]
    assert working_hours(MONDAY, WEDNESDAY).holidays == frozenset({MONDAY, TUESDAY})


def test_time_off_around_the_days_is_no_matter():
    """The day before and the day after."""
    crew = CrewFactory()
    TimeOffFactory(crew=crew, first=date(2026, 6, 7))
    TimeOffFactory(crew=crew, first=date(2026, 6, 11))
    assert of(crew).masks == [15, 15, 15]


def test_each_time_off_of_a_machine_takes_one_unit():
    """Of three compactors one is away Monday and Tuesday, another on Tuesday."""
    machine = MachineFactory(name="Plate compactor", kind="compactor", count=3, weight_lb=200)
    TimeOffFactory(machine=machine, first=MONDAY, last=TUESDAY)
    TimeOffFactory(machine=machine, first=TUESDAY)
    assert working_hours(MONDAY, WEDNESDAY).machines == {
        "plate-compactor": MachineHours("Plate compactor", "compactor", [2, 1, 3], None, 200)
    }


def test_no_fewer_than_no_units():
    """One machine, down twice over."""
    machine = MachineFactory(width=9144)
    TimeOffFactory.create_batch(2, machine=machine, first=MONDAY)
    hours = working_hours(MONDAY, TUESDAY).machines[machine.slug]
    assert (hours.units, hours.width) == ([0, 1], 9144)


def test_machines_need_no_holiday():
    """What stands in a yard over a holiday stands there."""
    machine = MachineFactory()
    TimeOffFactory(first=MONDAY)
    assert working_hours(MONDAY, MONDAY).machines[machine.slug].units == [1]


def test_who_is_gone_has_no_hours():
    """A crew that was given up, a machine that was sold."""
    CrewFactory(gone_from=MONDAY)
    MachineFactory(gone=[[MONDAY.isoformat(), 1]])
    assert working_hours(MONDAY, MONDAY) == Hours(crews={}, machines={}, holidays=frozenset())


def test_days_run_forward():
    """The last day may be the first, not one before."""
    with pytest.raises(ValueError, match="is before the first day"):
        working_hours(TUESDAY, MONDAY)


@pytest.mark.parametrize("count", [1, 3])
def test_six_queries_however_many_rows(django_assert_num_queries, count):
    """Times off; loans; crews with their weeks; members; skills; machines."""
    for crew in CrewFactory.create_batch(count):
        CrewSkillFactory(crew=crew)
        TimeOffFactory(member=CrewMemberFactory(crew=crew))
    for machine in MachineFactory.create_batch(count):
        TimeOffFactory(machine=machine)
    with django_assert_num_queries(6):
        working_hours(MONDAY, SUNDAY)
