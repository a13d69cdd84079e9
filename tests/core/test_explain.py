"""Why not sooner? One sentence each, in plain words; dates on the fingers."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.reasons.explain import Reasons, why_not_sooner
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Done, Keepout, Machine, Pin, Place
from jobs.services.telling.words import say
from jobs.trade.work import Clock, Tread
from tests.worlds import (
    ALWAYS,
    DAY,
    FIRST,
    HOUR,
    LAST,
    SECOND,
    crew,
    job,
    june,
    patio,
    tie,
    week,
    work,
    world,
    worlds,
)


def told(it, name, placed=None):
    """The reason of a work in English: what binds, and what would next."""
    plan = build_plan(it, rules=("early start",)).plan if placed is None else placed
    reason = why_not_sooner(it, plan, name)
    return [say(sentence) for sentence in (reason.binding, reason.next) if sentence]


class TestPatio:
    """The patio of ``tests.worlds``."""

    @pytest.mark.parametrize(
        ("name", "sentences"),
        [
            (
                "dig out",
                ["Mon 8 Jun at the earliest: nothing new can begin before Mon 8 Jun, 7:00 am."],
            ),
            (
                "base",
                [
                    "Wed 10 Jun at the earliest: base comes after dig out, which is done Tue 9 Jun.",
                    "Wed 10 Jun at the earliest: north crew is busy with dig out "
                    "until Tue 9 Jun, 3:30 pm.",
                ],
            ),
            (
                "saw joints",
                [
                    "Thu 11 Jun at the earliest: pour slab is done Thu 11 Jun, "
                    "and saw joints must wait 4 hours.",
                    "Mon 8 Jun at the earliest: nothing new can begin before Mon 8 Jun, 7:00 am.",
                ],
            ),
            (
                "set stone",
                [
                    "Fri 19 Jun at the earliest: stone crew is off on Thu 18 Jun.",
                    "Thu 18 Jun at the earliest: pour slab is done Thu 11 Jun, "
                    "and set stone must wait 7 days.",
                ],
            ),
        ],
    )
    def test_what_binds_and_what_would_next(self, name, sentences):
        """A link, a crew, a wait, a day off."""
        it, placed = patio()
        assert told(it, name, placed) == sentences


class TestBinding:
    """Each kind of reason, told of the later of two works."""

    def first(self, *works, **changes):
        """What binds the work called ``lay``."""
        return told(world(*works, **changes), "lay")[0]

    def test_a_crew_busy_elsewhere(self):
        """North is on another yard till Mon 8 at night."""
        assert self.first(work("dig", 4, job="elm"), work("lay")) == (
            "Tue 9 Jun at the earliest: north crew is in another yard (elm street) with dig "
            "until Mon 8 Jun, 3:30 pm, and changes yards only at lunch or overnight."
        )

    def test_a_machine_taken(self):
        """One loader."""
        loader = {"loader": 1}
        assert self.first(
            work("dig", 4, machines=loader), work("lay", 1, "south", machines=loader)
        ) == ("Tue 9 Jun at the earliest: loader is taken by dig until Mon 8 Jun, 3:30 pm.")

    def test_a_machine_in_another_yard(self):
        """The one loader digs on elm street, which is said, for people look for it in their own yard."""
        loader = {"loader": 1}
        assert self.first(
            work("dig", 4, job="elm", machines=loader), work("lay", 1, "south", machines=loader)
        ) == (
            "Tue 9 Jun at the earliest: loader is in another yard (elm street) with dig "
            "until Mon 8 Jun, 3:30 pm."
        )

    def test_a_zone_taken(self):
        """One crew in the patio."""
        assert self.first(
            work("dig", 4, place="patio"), work("lay", 1, "south", place="patio")
        ) == ("Tue 9 Jun at the earliest: dig is in patio until Mon 8 Jun, 3:30 pm.")

    def test_a_full_yard(self):
        """One crew in the yard."""
        assert self.first(work("dig", 4), work("lay", 1, "south"), jobs={"oak": job(crews=1)}) == (
            "Tue 9 Jun at the earliest: the yard oak street is full until dig is done, "
            "Mon 8 Jun, 3:30 pm."
        )

    def test_a_way_taken_up(self):
        """Sixty percent each."""
        assert self.first(
            work("dig", 4, hauls={"gate": 60}),
            work("lay", 1, "south", hauls={"gate": 60}),
            places={"gate": Place("gate", "side gate", crews=None)},
        ) == (
            "Tue 9 Jun at the earliest: side gate is taken up by hauling for dig "
            "until Mon 8 Jun, 3:30 pm."
        )

    def test_ground_kept_clear(self):
        """Poured on Mon 8, a day to rest."""
        assert self.first(
            work("dig", 4, keepouts=(Keepout("patio", DAY, Tread.FOOT),)),
            work("lay", 1, "south", treads={"patio": Tread.FOOT}, pin=Pin(not_before=june(9))),
        ) == (
            "Wed 10 Jun at the earliest: after dig, patio must be kept clear until Tue 9 Jun, 3:30 pm."
        )

    def test_a_date_fixed_by_hand(self):
        """Not before Wed 10 9:00."""
        assert self.first(work("lay", pin=Pin(not_before=june(10, SECOND)))) == (
            "Wed 10 Jun at the earliest: lay was fixed by hand to begin no earlier than "
            "Wed 10 Jun, 9:00 am."
        )

    def test_a_yard_not_ours_yet(self):
        """From Tue 9."""
        assert self.first(work("lay"), jobs={"oak": job(release=june(9))}) == (
            "Tue 9 Jun at the earliest: the yard is ours from Tue 9 Jun, 7:00 am."
        )

    def test_a_yard_with_a_party(self):
        """No work on Mon 8."""
        party = ALWAYS & ~(0b111111 << june(8, 0))
        assert self.first(work("lay"), jobs={"oak": job(open=party)}) == (
            "Tue 9 Jun at the earliest: the yard oak street cannot be worked in on Mon 8 Jun."
        )

    def test_a_machine_that_is_down(self):
        """No loader on Mon 8."""
        down = ALWAYS & ~(0b111111 << june(8, 0))
        loader = {"loader": Machine("loader", "loader", (down,))}
        assert self.first(work("lay", machines={"loader": 1}), machines=loader) == (
            "Tue 9 Jun at the earliest: loader cannot be had on Mon 8 Jun."
        )

    def test_a_crew_short_of_people(self):
        """Too few of the north crew for it on Mon 8; other work goes on."""
        short = {"north": 0b111111 << june(8, 0)}
        assert self.first(work("lay", short=short), work("dig", 1)) == (
            "Tue 9 Jun at the earliest: north crew is short of people for lay on Mon 8 Jun."
        )

    def test_too_little_left_of_the_day(self):
        """Three slots in one go after two of forming."""
        assert self.first(
            work("dig", 2), work("lay", 3, one_go=True), ties=(tie("dig", "lay"),)
        ) == (
            "Tue 9 Jun at the earliest: lay must be done in one go, "
            "and too little of Mon 8 Jun is left for it."
        )

    def test_a_follower_that_must_come_soon(self):
        """South is off till Thu 11, and what north lays must be rolled within a day."""
        away = week() & ~((1 << june(11, 0)) - 1)
        assert self.first(
            work("lay", 4),
            work("roll", 1, "south"),
            ties=(tie("lay", "roll", at_most=DAY),),
            crews={"north": crew("north"), "south": crew("south", away)},
        ) == (
            "Tue 9 Jun at the earliest: roll must come within 24 hours of lay, "
            "and can only begin Thu 11 Jun, 7:00 am."
        )

    def test_a_request_not_needed_yet(self):
        """Digging is fixed for Thu 18; the call for Fri 12 is soon enough."""
        assert self.first(
            work("lay", 1, "", request=True),
            work("dig", 1, pin=Pin(not_before=june(18))),
            ties=(tie("lay", "dig", 2, Clock.BUSINESS),),
            jobs={"oak": job(open=week())},
        ) == ("Fri 12 Jun is soon enough for lay: dig begins Thu 18 Jun.")

    @pytest.mark.parametrize(
        ("amount", "clock", "wait"),
        [
            (DAY, Clock.ELAPSED, "and lay must wait a day"),
            (HOUR, Clock.ELAPSED, "and lay must wait an hour"),
            (60 * HOUR, Clock.ELAPSED, "and lay must wait 60 hours"),
            (1, Clock.WORK, "and lay must wait a quarter day of working time"),
            (6, Clock.WORK, "and lay must wait 6 quarter days of working time"),
            (1, Clock.BUSINESS, "and one full business day must pass before lay"),
            (3, Clock.BUSINESS, "and 3 full business days must pass before lay"),
        ],
    )
    def test_waits_in_their_own_unit(self, amount, clock, wait):
        """One and many, on each clock."""
        said = self.first(work("dig", 4), work("lay"), ties=(tie("dig", "lay", amount, clock),))
        assert said.partition(": ")[2] == f"dig is done Mon 8 Jun, {wait}."

    def test_work_that_has_begun_needs_no_reason(self):
        """It began on Mon 8."""
        it = world(work("dig", 6, done=Done(june(8), None, "north")), now=june(9))
        assert told(it, "dig") == ["dig began Mon 8 Jun."]

    def test_room_left_by_the_plan_is_admitted(self):
        """Placed on Wed 10 by hand, though it could begin on Mon 8."""
        it = world(work("lay"))
        placed = build_plan(it).plan
        later = replace(placed, placements={"lay": placed["lay"]._replace(start=13, end=13)})
        assert june(10) == 13
        assert told(it, "lay", later)[0] == (
            "Wed 10 Jun is where the plan has put lay; nothing but its order stands against Mon 8 Jun."
        )


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(worlds())
def test_every_work_of_every_plan_has_a_reason_in_both_languages(it):
    """Whatever was drawn, there is a sentence, and it speaks."""
    try:
        placed = build_plan(it).plan
    except NoPlan:
        assume(False)
    reasons = Reasons(it, placed)
    for name in it.works:
        reason = reasons.why_not_sooner(name)
        for language in ("en", "es"):
            assert say(reason.binding, language)
            assert reason.next is None or say(reason.next, language)


def test_the_last_slot_of_a_day_is_the_fourth():
    """Dates here are counted in four day slots from 7:00."""
    assert june(8, LAST) - june(8, FIRST) == 3
