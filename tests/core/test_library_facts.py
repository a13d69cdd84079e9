"""What the library holds, against outside figures: truths, kinds of work, waits."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

import networkx as nx
import pytest

from jobs.services.numbers.library import current_library
from jobs.trade.work import Clock, Relation, Shift, Tread

if TYPE_CHECKING:
    from jobs.trade.precedence import Rule

LIBRARY = current_library()
SAMPLES = Path(__file__).parents[1] / "samples"
TRUTHS = tomllib.loads((SAMPLES / "truths.toml").read_text("utf-8"))["truth"]


def rules_between(before: str, after: str) -> list[Rule]:
    """Return the rules that put one template before another."""
    return [rule for rule in LIBRARY.rules if before in rule.before and after in rule.after]


def holds(rule: Rule, truth: dict[str, Any]) -> bool:
    """Return True if a rule says all that a truth says: place, wait, limit, exception, relation."""
    return (
        truth["number"] in rule.truths
        and rule.where == truth.get("where", "zone")
        and rule.relation is Relation(truth.get("relation", "finish-to-start"))
        and truth.get("wait", rule.wait) == rule.wait
        and truth.get("expires", rule.expires) == rule.expires
        and truth.get("unless", "") == rule.unless
        and truth.get("hours", rule.hours) == rule.hours
        and truth.get("at_most_hours") == rule.at_most_hours
    )


# -- the 62 truths ---------------------------------------------------------------------


@pytest.mark.parametrize(
    "truth", TRUTHS, ids=lambda t: f"{t['number']}-{t['left'][0]}-{t['right'][0]}"
)
def test_every_pair_of_a_truth_is_made_by_its_rule(truth: dict[str, Any]) -> None:
    """What goes before what (trade practice, codes where named): each pair has a rule of that truth."""
    missing = [
        (left, right)
        for left, right in product(truth["left"], truth["right"])
        if not any(holds(rule, truth) for rule in rules_between(left, right))
    ]
    assert missing == []


def test_no_truth_is_left_out() -> None:
    """Truths 1 to 62 all stand in the table above and all have a rule."""
    assert {truth["number"] for truth in TRUTHS} == set(range(1, 63))
    assert {number for rule in LIBRARY.rules for number in rule.truths} == set(range(1, 63))


def test_every_rule_says_why_in_a_sentence_of_its_own() -> None:
    """People are told a sentence with a full stop, not a code; long enough to be a reason."""
    assert [r.id for r in LIBRARY.rules if not r.why.endswith(".") or len(r.why.split()) < 4] == []


# -- templates -------------------------------------------------------------------------


def test_there_are_ninety_nine_kinds_of_work() -> None:
    """The trade's table of work and pace has 99 rows."""
    assert len(LIBRARY.templates) == 99


def test_every_rate_is_above_zero_and_in_order() -> None:
    """Q22 (rate table): low <= typical <= high, all > 0, other paces included."""
    rates = {key: one.rate for key, one in LIBRARY.templates.items()}
    rates |= {
        f"{key} {pace.way}": pace.rate
        for key, one in LIBRARY.templates.items()
        for pace in one.paces
    }
    assert {key for key, rate in rates.items() if not 0 < rate[0] <= rate[1] <= rate[2]} == set()


@pytest.mark.parametrize(
    ("key", "rate"),
    [
        ("set-stone", (40, 60, 80)),  # Q21, rate table
        ("spread-base", (12, 18, 24)),  # Q13, 1 ton per person-hour, common practice
        ("pour-slab", (600, 800, 1000)),  # C20, common practice
    ],
)
def test_rates_that_outside_checks_reckon_with(key: str, rate: tuple[int, int, int]) -> None:
    """Q13, Q21 and C20 (common practice) take these rates as given."""
    assert LIBRARY.templates[key].rate == tuple(map(Decimal, rate))


def test_every_row_has_a_source_that_says_how_sure_it_is() -> None:
    """Each source code of templates, rules and waits is read, from memory or common practice."""
    rows = [*LIBRARY.templates.values(), *LIBRARY.rules, *LIBRARY.waits.values()]
    codes = {code for row in rows for code in row.source.split("; ")}
    assert {LIBRARY.sources[code].status for code in codes} == {
        "read",
        "from memory",
        "common practice",
    }


def test_ground_is_broken_only_under_a_ticket() -> None:
    """Truth 6 (state law): the templates that dig are those that wait for the locate call."""
    digging = {key for key, one in LIBRARY.templates.items() if one.digs}
    waiting = {key for rule in LIBRARY.rules if 6 in rule.truths for key in rule.after}
    assert digging == waiting


def test_only_pours_are_begun_and_ended_in_one_day() -> None:
    """C20 (common practice): a pour with its finishing is one go."""
    assert {key for key, one in LIBRARY.templates.items() if one.one_go} == {
        "pour-slab",
        "pour-footings",
    }


def test_lights_are_aimed_in_the_evening_and_nothing_else_is() -> None:
    """Light is aimed when it is dark (common practice)."""
    shifts = {key for key, one in LIBRARY.templates.items() if one.shift is Shift.EVENING}
    assert shifts == {"aim-lights"}


def test_return_visits_do_not_make_the_finish() -> None:
    """The job's finish is the walk-through: sealing and the check come after it (trade practice)."""
    assert {key for key, one in LIBRARY.templates.items() if not one.counts} == {
        "seal-stone",
        "check-30-day",
    }


def test_calls_and_orders_are_worked_back_from_their_need() -> None:
    """Marks expire and there is no room for stone, so these are not sent as early as possible."""
    assert {key for key, one in LIBRARY.templates.items() if one.request} == {
        "locate-notice",
        "order-long-lead",
    }


def test_everything_leads_to_the_walk_through_or_comes_after_it() -> None:
    """Nothing dangles: from every kind of work rules lead on to the end of the job."""
    graph = nx.DiGraph(
        (before, after) for rule in LIBRARY.rules for before in rule.before for after in rule.after
    )
    leads = nx.ancestors(graph, "walk-through") | {"walk-through"}
    assert set(LIBRARY.templates) - leads == {"seal-stone", "check-30-day"}


def test_everything_hangs_on_the_signed_design() -> None:
    """Nothing starts by itself: rules lead to every kind of work from the signature."""
    graph = nx.DiGraph(
        (before, after) for rule in LIBRARY.rules for before in rule.before for after in rule.after
    )
    assert set(LIBRARY.templates) - nx.descendants(graph, "design-sign-off") == {"design-sign-off"}


def test_skills_are_told_in_words() -> None:
    """A crew of a company is matched by these words."""
    assert {crew.skill for crew in LIBRARY.crews.values()} == {
        "spray",
        "labour",
        "grading",
        "irrigation",
        "forms",
        "concrete",
        "stone",
        "paving",
        "carpentry",
        "planting",
        "line-voltage",
        "lighting",
        "gas",
        "water",
        "office",
        "inspection",
        "owner",
        "tracing",
    }


def test_who_is_hired_or_comes_from_outside_is_no_bottleneck() -> None:
    """Office, owner, inspector and the licensed trades are calendars only."""
    outside = {code for code, crew in LIBRARY.crews.items() if crew.outside}
    assert outside == {"OFF", "own", "INS", "GAS", "ELE", "WTR", "SUB"}


def test_where_work_can_hurt_somebody_the_caution_stands_with_it() -> None:
    """Herbicide, stone dust, wet concrete, gas, cranes, pits: each has its caution (codes named there)."""
    needed = {
        "spray-turf-1": "herbicide",
        "saw-old-slab": "silica",
        "dry-fit-stone": "silica",
        "pour-slab": "caustic",
        "set-stone": "caustic",
        "gas-line": "gas",
        "plant-box-48": "cranes",
        "dig-out": "trenches",
        "frame-shade": "falls",
        "lay-block-wall": "tall-walls",
        "water-turf": "sprayed",
        "lay-light-cable": "digging",
        "plant-shrubs": "digging",
        "lay-conduit": "trenches",
        "pull-line-voltage": "power",
        "set-steps": "silica",
        "seal-stone": "sealer",
        "rough-grade": "machines",
    }
    missing = {k: c for k, c in needed.items() if c not in LIBRARY.templates[k].cautions}
    assert missing == {}
    assert all(caution.authority for caution in LIBRARY.cautions.values())
    assert "how long people and pets stay off" in LIBRARY.cautions["herbicide"].text


# -- waits -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wait", "least", "usual"),
    [
        ("W-wake", 7, 7),  # T03, K-State
        ("W-respray", 21, 28),  # T01 and T14, K-State: three weeks least, four usual
        ("W-kill-2", 14, 14),  # T01, botanic-garden advice
        ("W-kill-3", 7, 7),  # T02, regional advice
        ("W-solarise", 28, 42),  # T09, UC IPM Pest Notes 74145
        ("W-cure", 7, 7),  # C01, UFGS 03301A
        ("W-cure-slow", 14, 14),  # C02, UFGS 03301A
        ("W-cure-slower", 21, 21),  # C03, UFGS 03301A
        ("W-stone", 7, 14),  # C04 tests the least, UFGS and common practice
        ("W-seal", 28, 28),  # C21, product data
        ("W-check", 30, 30),  # truth 62, common practice
    ],
)
def test_waits_in_days(wait: str, least: int, usual: int) -> None:
    """T01-T03, T09, T14, C01-C04, C21: published or customary days, least and usual."""
    found = LIBRARY.waits[wait]
    assert (found.unit, found.clock) == ("d", Clock.ELAPSED)
    assert (found.least, found.usual) == (least, usual)


@pytest.mark.parametrize(
    ("wait", "least"),
    [
        ("W-rainfree", 6),  # T06, product label
        ("W-strip", 24),  # C14, project specifications after ACI 347/301
        ("W-bed", 24),  # K06, common practice
        ("W-foot", 24),  # C16, common practice
        ("W-rainsafe", 12),  # C06, UFGS 03301A
    ],
)
def test_waits_in_hours(wait: str, least: int) -> None:
    """T06, C06, C14, C16, K06: hours on the wall clock."""
    assert (LIBRARY.waits[wait].unit, LIBRARY.waits[wait].least) == ("h", least)


def test_the_two_spray_program_takes_42_days_and_the_three_spray_one_63() -> None:
    """T01 and T02 (K-State; UGA; regional advice): 28 + 14 and 28 + 28 + 7 days."""
    days = {key: LIBRARY.waits[key].usual for key in ("W-respray", "W-kill-2", "W-kill-3")}
    assert days["W-respray"] + days["W-kill-2"] == 42
    assert 2 * days["W-respray"] + days["W-kill-3"] == 63


def test_a_light_machine_waits_for_days_and_strength_both() -> None:
    """M05 and M12 (ACI 209, common practice): 7 d at the least, 8.28 d for 75 % of strength at 73 F."""
    found = LIBRARY.waits["W-machine"]
    assert (found.least, found.keeps_out) == (7, Tread.MACHINE)
    strength = found.usual / (4 + Decimal("0.85") * found.usual)
    assert abs(strength - Decimal("0.75")) < Decimal("0.001")


def test_who_works_on_a_fresh_slab_is_exempt_from_its_holds() -> None:
    """Joints are sawn within the hours nobody walks on it, forms come off within its week (practice)."""
    assert LIBRARY.waits["W-foot"].exempt == {"saw-joints", "cure-slab"}
    assert LIBRARY.waits["W-cure"].exempt == {
        "saw-joints",
        "cure-slab",
        "strip-forms",
        "check-strength",
    }
