"""The published checks of a schedule, each against its limit: H02 to H16 of the outside checks.

Limits are those of DCMA-EA PAM 200.1 (fourteen points, read in summaries; checks 10 to 12 from memory).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from jobs.scheduling.health.case import Case
from jobs.scheduling.health.check import CHECKS, Due, Verdict, check_health
from jobs.scheduling.health.practices import PRACTICES, practices
from jobs.scheduling.health.progress import critical_path_test, finish_moved
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Done, Pin
from jobs.services.telling.words import say
from jobs.trade.work import Lag, Relation, Sentence
from tests.worlds import (
    CHICAGO,
    DAY,
    HOUR,
    LAST,
    MONDAY,
    at,
    axis_of,
    crew,
    job,
    june,
    plan,
    tie,
    week,
    work,
    world,
)

LONG = axis_of(days=1400)
"""Nearly four years from Monday 8 June 2026, for delays of 600 days."""
OPEN = week(LONG)


def outside(name, days=0.25, **changes):
    """A work of some days that takes nobody of ours, so that nothing but links moves it."""
    return work(name, round(days * 4), "", **changes)


def yard(*works, ties=(), **changes):
    """One yard, worked Monday to Friday, on a long axis."""
    given = {"axes": {CHICAGO: LONG}, "jobs": {"oak": job(open=OPEN)}, "machines": {}, "crews": {}}
    return world(*works, ties=tuple(ties), **(given | changes))


def chain(*works):
    """Each work after the one before it."""
    return [tie(a.id, b.id) for a, b in pairwise(works)]


def works(count, **changes):
    """So many works of a quarter day."""
    return [outside(f"w{n}", **changes) for n in range(count)]


def checked(it, key, **given):
    """One check of a world as the quick builder plans it."""
    checks = check_health(it, build_plan(it).plan, **given)
    return next(check for check in checks if check.key == key)


def verdict(it, key, **given):
    """How it comes out."""
    return checked(it, key, **given).verdict


class TestLogic:
    """What is tied to what: PAM 200.1, checks 1 to 4."""

    @pytest.mark.parametrize(
        ("loose", "comes_out", "share"), [(3, "passes", 5.0), (4, "fails", 6.7)]
    )
    def test_missing_logic(self, loose, comes_out, share):
        """H02: three of 60 are 5.0 % and pass, four are 6.7 % and fail."""
        tied = works(60 - loose)
        ends = [outside(f"loose {n}") for n in range(loose)]
        ties = [*chain(*tied), *(tie("w0", end.id) for end in ends)]
        check = checked(yard(*tied, *ends, ties=ties), "missing-logic")
        assert (check.verdict, round(check.value, 1), check.of) == (comes_out, share, 60)
        assert {finding.work for finding in check.findings} == {end.id for end in ends}

    def test_the_first_and_the_last_work_of_each_job_are_let_off(self):
        """A yard begins somewhere and ends somewhere."""
        tied = works(4)
        assert checked(yard(*tied, ties=chain(*tied)), "missing-logic").findings == ()

    def test_a_lead_fails(self):
        """H03: none is allowed; two hours before the end of the first is a lead."""
        a, b, c = works(3)
        plain = yard(a, b, c, ties=chain(a, b, c))
        lead = yard(a, b, c, ties=[tie("w0", "w1", -2 * HOUR), tie("w1", "w2")])
        assert (verdict(plain, "leads"), verdict(lead, "leads")) == ("passes", "fails")

    @pytest.mark.parametrize(("lags", "ties", "comes_out"), [(1, 20, "passes"), (2, 39, "fails")])
    def test_lags(self, lags, ties, comes_out):
        """H04: 5 % pass (one of 20); 5.1 % fail (two of 39)."""
        all_works = works(ties + 1)
        links = chain(*all_works)
        links[:lags] = [tie(link.before, link.after, DAY) for link in links[:lags]]
        assert verdict(yard(*all_works, ties=links), "lags") == comes_out

    def test_waits_of_the_trade_are_not_lags(self):
        """H16: a cure is a wait with a reason of its own; so is time that a rule asks for."""
        a, b, c = works(3)
        cure = replace(tie("w0", "w1"), lag=Lag(7 * DAY, wait="cure-slab"))
        rule = replace(tie("w1", "w2", DAY), rule="wall-before-grout")
        assert checked(yard(a, b, c, ties=[cure, rule]), "lags").value == 0

    @pytest.mark.parametrize(("plain", "ties", "comes_out"), [(9, 10, "passes"), (80, 89, "fails")])
    def test_kinds_of_links(self, plain, ties, comes_out):
        """H05: 90 % finish-to-start pass; 89.9 % fail (80 of 89)."""
        all_works = works(ties + 1)
        links = [
            link if n < plain else replace(link, relation=Relation.START_START)
            for n, link in enumerate(chain(*all_works))
        ]
        assert verdict(yard(*all_works, ties=links), "kinds-of-links") == comes_out


class TestDates:
    """Hard dates, float, length, days that cannot be: PAM 200.1, checks 5 to 10."""

    @pytest.mark.parametrize(("pinned", "comes_out"), [(3, "passes"), (4, "fails")])
    def test_hard_dates(self, pinned, comes_out):
        """H06: three of 60 pass, four fail; a first day is no hard date."""
        all_works = [
            replace(it, pin=Pin(not_after=LONG.size - 1) if n < pinned else Pin(not_before=10))
            for n, it in enumerate(works(60))
        ]
        assert verdict(yard(*all_works, ties=chain(*all_works)), "hard-dates") == comes_out

    def floating(self, days, count, spine=100):
        """Sixty works between a first and a last one, some of which can slip for so many days."""
        middle = [outside(f"m{n}", spine - days if n < count else spine) for n in range(58)]
        first, last = outside("first"), outside("last")
        ties = [tie("first", it.id) for it in middle] + [tie(it.id, "last") for it in middle]
        return yard(first, *middle, last, ties=ties)

    @pytest.mark.parametrize(
        ("days", "count", "comes_out"), [(45, 3, "passes"), (45, 4, "fails"), (44, 4, "passes")]
    )
    def test_high_float(self, days, count, comes_out):
        """H07: over 44 working days, three of 60 pass and four fail; 44 itself is not high."""
        assert verdict(self.floating(days, count), "high-float") == comes_out

    @pytest.mark.parametrize(("days", "comes_out"), [(11, "fails"), (10, "passes")])
    def test_in_a_short_job_float_is_high_from_half_its_length(self, days, comes_out):
        """Ours: twenty and a half working days long, so that eleven are high and ten are not."""
        check = checked(self.floating(days, 4, spine=20), "high-float")
        assert check.verdict == comes_out

    def test_negative_float(self):
        """H08: one work later than the promise allows fails; on the day passes."""
        a, b = outside("dig", 2), outside("lay", 2)
        for last, comes_out in ((june(10, LAST), "fails"), (june(11, LAST), "passes")):
            it = yard(a, b, ties=chain(a, b), jobs={"oak": job(open=OPEN, promise=last)})
            assert verdict(it, "negative-float") == comes_out

    @pytest.mark.parametrize(("days", "comes_out"), [(45, "fails"), (44, "passes")])
    def test_long_works(self, days, comes_out):
        """H09: over 44 working days, four of 60 fail; 44 itself is not long."""
        all_works = [outside(f"w{n}", days if n < 4 else 0.25) for n in range(60)]
        assert verdict(yard(*all_works, ties=chain(*all_works)), "long-works") == comes_out

    def test_done_in_the_future_is_invalid(self):
        """H10: on Tuesday 9 June something is logged for Thursday 11 June."""
        it = yard(outside("dig", done=Done(june(11), june(11))), now=june(9))
        check = checked(it, "invalid-dates")
        assert check.verdict is Verdict.FAILS
        assert [say(finding.sentence) for finding in check.findings] == [
            "dig is logged for Thu 11 Jun, which is still to come: put the day right."
        ]

    def test_planned_in_the_past_is_invalid(self):
        """H10: people see it on Monday 8 June, and on Tuesday nobody has logged that it began."""
        it = yard(outside("dig"), now=june(9))
        seen = plan(dig=at(june(8), june(8), "")).placements
        assert verdict(it, "invalid-dates") is Verdict.PASSES
        assert verdict(it, "invalid-dates", shown=seen) is Verdict.FAILS

    def test_running_past_its_day_is_invalid(self):
        """H10: begun on Monday 8 June and to be done that day, on Tuesday it still runs."""
        it = yard(outside("dig", done=Done(june(8), None)), now=june(9))
        check = checked(it, "invalid-dates", shown=plan(dig=at(june(8), june(8), "")).placements)
        assert [finding.sentence.key for finding in check.findings] == ["health-due-yesterday"]

    def test_works_without_a_crew(self):
        """H11: a day or more is listed, three quarters of a day are not."""
        a, b = outside("crane", 1), outside("call", 0.75)
        check = checked(yard(a, b, ties=chain(a, b)), "no-crew")
        assert (check.verdict, [it.work for it in check.findings]) == (Verdict.LISTED, ["crane"])

    def test_a_work_that_nobody_can_do_fails(self):
        """However short: the plan rests on somebody still to be hired. Whoever has been hired is listed."""
        a, b = work("wall", 1, "hired/wall"), work("path", 4, "hired/path")
        hired = {name: replace(crew(name), hired=True) for name in ("hired/wall", "hired/path")}
        it = world(a, b, crews={"north": crew("north"), **hired})
        made = build_plan(it).plan
        check = next(c for c in check_health(it, made, nobody=["wall"]) if c.key == "no-crew")
        told = [(found.work, found.sentence.key) for found in check.findings]
        assert check.verdict is Verdict.FAILS
        assert told == [("wall", "health-nobody"), ("path", "health-no-crew")]


class TestProgress:
    """How it holds: PAM 200.1, checks 11 to 14."""

    def due(self, count, late=0, left=0):
        """So many works first published for Monday night, some done a day later, some not at all."""
        monday = LONG.end[june(8, LAST)]
        done = [monday + DAY] * late + [None] * left
        return [Due(f"w{n}", monday, done[n] if n < len(done) else monday) for n in range(count)]

    @pytest.mark.parametrize(("late", "of", "comes_out"), [(1, 20, "passes"), (3, 50, "fails")])
    def test_missed(self, late, of, comes_out):
        """H12: 5 % done later than first published pass, 6 % fail."""
        it = yard(*works(of, done=Done(june(8), june(8))), now=june(10))
        assert verdict(it, "missed", due=self.due(of, late=late)) == comes_out

    def test_critical_path_test(self):
        """H13: 600 working days more before a critical work move the finish by 600 days."""
        a, b, c = outside("dig", 2), outside("pour", 1), outside("lay", 4)
        it = yard(a, b, c, ties=[tie("dig", "pour"), tie("pour", "lay", 7 * DAY)])
        case = Case(it, build_plan(it).plan, {})
        assert {finish_moved(case, it.works[name], 600) for name in ("dig", "pour", "lay")} == {600}
        check = critical_path_test(case, 600)
        assert (check.verdict, check.value, check.of) == (Verdict.PASSES, 600, 1)

    def test_a_path_held_together_by_room_alone_fails_it(self):
        """One crew at a time in the patio, and no link: held up, digging lets laying go first."""
        it = world(work("dig", 8, place="patio"), work("lay", 32, "south", place="patio"))
        placed = plan(dig=at(june(8), june(9, LAST)), lay=at(june(10), june(19, LAST), "south"))
        check = critical_path_test(Case(it, placed, {}), 10)
        assert [finding.work for finding in check.findings] == ["dig"]

    def test_a_finish_that_moves_further_is_tied(self):
        """Held up by ten working days, laying meets five on which it may not stand: fifteen, and no tie is missing."""
        closed = sum(
            1 << LONG.slot(MONDAY + timedelta(days=day), 0) + n
            for day in range(16, 23)
            for n in range(6)
        )
        a, b = outside("dig", 2), outside("lay", 2, window=((1 << LONG.size) - 1) & ~closed)
        case = Case(it := yard(a, b, ties=[tie("dig", "lay")]), build_plan(it).plan, {})
        assert finish_moved(case, a, 10) == 15
        check = critical_path_test(case, 10)
        assert (check.verdict, check.findings) == (Verdict.PASSES, ())

    @pytest.mark.parametrize(
        ("slack", "index", "comes_out"),
        [(-6, 0.90, "fails"), (-3, 0.95, "passes"), (0, 1.0, "passes")],
    )
    def test_path_length_index(self, slack, index, comes_out):
        """H14: 60 working days to go; 6 too many give 0.90, 3 give 0.95, none gives 1.00."""
        finish = MONDAY + timedelta(weeks=12, days=-3)
        promise = finish + timedelta(days=slack - 2 * (slack < -4))
        it = yard(
            outside("dig", 60), jobs={"oak": job(open=OPEN, promise=LONG.slot(promise, LAST))}
        )
        check = checked(it, "path-length")
        assert (round(check.value, 4), check.verdict) == (index, comes_out)

    @pytest.mark.parametrize(
        ("done", "index", "comes_out"), [(37, 0.925, "fails"), (38, 0.95, "passes")]
    )
    def test_execution_index(self, done, index, comes_out):
        """H15: of 40 works due, 37 done are too few and 38 are enough."""
        all_works = works(40)
        it = yard(*all_works, ties=chain(*all_works), now=june(9))
        check = checked(it, "pace", due=self.due(40, left=40 - done))
        assert (check.value, check.verdict) == (index, comes_out)


def test_every_check_names_its_source_and_speaks_both_languages():
    """Fourteen checks, numbered as they were published."""
    it = yard(outside("dig", 2))
    checks = check_health(it, build_plan(it).plan)
    assert [check.source.split(";")[0].split(" (")[0] for check in checks] == [
        f"DCMA-EA PAM 200.1, check {n}" for n in range(1, len(CHECKS) + 1)
    ]
    for check in checks:
        for language in ("en", "es"):
            for part in ("title", "mean"):
                assert say(Sentence(f"health-{part}-{check.key}"), language)


def test_one_job_is_checked_alone():
    """What is loose in another yard is not told of this one."""
    it = world(*[work(name) for name in "abc"], work("x", job="elm"), work("y", job="elm"))
    found = checked(it, "missing-logic", job="elm").findings
    assert {finding.work for finding in found} <= {"x", "y"}
    assert checked(it, "missing-logic", job="elm").of == 2


def test_the_ten_practices_in_the_order_of_their_guide() -> None:
    """Ten, and each of the fourteen checks speaks for just one of them.

    Source: GAO-16-89G, list of practices: capture all activities; sequence; assign resources; durations;
    trace both ways; valid critical path; reasonable float; risk analysis; update with actuals; keep a
    baseline.
    """
    assert list(PRACTICES) == [
        "capture", "sequence", "resources", "durations", "traced", "critical-path", "float", "risk",
        "updated", "baseline",
    ]  # fmt: skip
    made = world(work("dig", 1))
    checks = check_health(made, plan(dig=at(june(8), june(8))))
    spoken_for = sorted(key for keys in PRACTICES.values() for key in keys)
    assert spoken_for == sorted(check.key for check in checks)


def test_a_practice_fails_with_any_of_its_checks() -> None:
    """A promise before the end: room to slip is not reasonable, all else of it stands."""
    made = world(work("dig", 8), jobs={"oak": job(promise=june(8, LAST))})
    stand = {
        one.key: one for one in practices(check_health(made, plan(dig=at(june(8), june(9, LAST)))))
    }
    assert [check.key for check in stand["float"].failing] == ["negative-float"]
    assert (stand["float"].measured, stand["durations"].failing) == (2, ())
    assert (stand["capture"].measured, stand["capture"].failing) == (0, ())
