"""A library that cannot be trusted is refused with every fault: file, key, reason, remedy.

The tiny library: one crew, one machine, dry weather, a trench that is dug before a pipe is laid in it, a day
of waiting for the joints, and a thing the owner buys that unfolds into both.
"""

from __future__ import annotations

import pickle
import tomllib
from copy import deepcopy
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from jobs.trade.assemblies import Ask, Part
from jobs.trade.errors import Fault, LibraryError
from jobs.trade.facts import DryBand
from jobs.trade.library import Source
from jobs.trade.loading import build_library
from jobs.trade.templates import Pace
from jobs.trade.units import inches
from jobs.trade.work import Clock, Relation, Shift, Tread

Tables = dict[str, dict[str, Any]]
SAMPLES = Path(__file__).parents[1] / "samples"


def read(path: Path) -> dict[str, Any]:
    """Return what a sample says."""
    return tomllib.loads(path.read_text("utf-8"))


SOUND: Tables = {path.name: read(path) for path in sorted((SAMPLES / "library").glob("*.toml"))}
FAULTS = read(SAMPLES / "library_faults.toml")["fault"]


def faults_of(tables: Tables) -> list[Fault]:
    """Return what is wrong with some tables."""
    with pytest.raises(LibraryError) as caught:
        build_library(tables, "v1")
    return list(caught.value.faults)


def broken(path: str, value: object, file: str = "work.toml") -> Tables:
    """Return the sound library with one value changed; its path is dotted."""
    tables = deepcopy(SOUND)
    *steps, last = path.split(".")
    row = tables[file]
    for step in steps:
        row = row[step]
    row[last] = value
    return tables


def test_a_sound_library_is_built_as_checked_dataclasses() -> None:
    """Every row arrives under its key, with enumerations, lengths and decimals made of the text."""
    library = build_library(SOUND, "v1")
    trench, wait, rule = library.templates["trench"], library.waits["W-joints"], library.rules[0]
    assert library.version == "v1"
    assert library.sources == {"CP": Source("CP", "Common practice", "common practice")}
    assert library.machines["trencher"].width == (inches(30), inches(36))
    assert trench.rate == (Decimal(200), Decimal(300), Decimal(400))
    assert trench.paces == (Pace("by hand", (Decimal(40), Decimal(60), Decimal(100)), 2),)
    assert (trench.shift, trench.tread, trench.closes) == (Shift.DAY, Tread.MACHINE, Tread.MACHINE)
    assert (wait.clock, wait.keeps_out, wait.exempt) == (
        Clock.ELAPSED,
        Tread.BARROW,
        frozenset({"trench"}),
    )
    assert (rule.id, rule.relation, rule.truths) == (
        "trench-before-pipe",
        Relation.FINISH_START,
        (25,),
    )
    assert library.assemblies["watering"].asks[0] == Ask("length", "Length", "ft", required=True)
    assert library.assemblies["watering"].parts[1] == Part("lay-pipe", "area")


def test_what_a_file_leaves_out_is_none() -> None:
    """A state without a life, a load without hours, a tree without a passage: None, not a guess."""
    tables = deepcopy(SOUND)
    tables["facts.toml"] = {
        "notice": {
            "CO": {
                "name": "Colorado",
                "least": 2,
                "unit": "bd",
                "life_from": "due",
                "source": "CP",
            }
        },
        "load": {"truck": {"name": "Truck", "tread": "heavy", "source": "CP"}},
        "dryout": {
            "clay": {
                "bands": [[0.1, 0.5, 0.5, 0.5], [0.5, 3, 4, 5]],
                "cool_factor": 2,
                "shade_days": 1,
                "covered_factor": 0.5,
                "source": "CP",
            }
        },
    }
    library = build_library(tables, "v1")
    assert (library.notices["CO"].earliest, library.notices["CO"].life) == (None, None)
    assert library.loads["truck"].hours is None
    assert library.dryout["clay"].after(Decimal("0.7")) == DryBand(
        Decimal("0.5"), Decimal(3), Decimal(4), Decimal(5)
    )


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault['path']}={fault['value']}")
def test_each_kind_of_fault_is_named_by_file_and_key(fault: dict[str, Any]) -> None:
    """One thing is broken, and exactly that is told, with what to do about it."""
    (found,) = faults_of(broken(fault["path"], fault["value"]))
    told = fault.get("told", fault["path"])
    assert found[:2] == (f"work.toml: {told}", fault["reason"])
    assert found.remedy == fault.get("remedy", found.remedy) != ""


def test_a_machine_s_width_needs_its_unit() -> None:
    """40 could be inches or centimetres."""
    found = faults_of(broken("machine.trencher.passage", 40, "people.toml"))
    assert found == [
        Fault("people.toml: machine.trencher.passage", "40 is not words", "write words in quotes")
    ]


def test_a_missing_key_is_told() -> None:
    """A template without its rate."""
    tables = deepcopy(SOUND)
    del tables["work.toml"]["template"]["trench"]["rate"]
    assert faults_of(tables) == [
        Fault("work.toml: template.trench.rate", "is missing", "add rate = ...")
    ]


def test_a_row_that_is_itself_at_fault_is_still_known_by_its_name() -> None:
    """A broken trench is one fault, not another one for every rule that names it."""
    found = faults_of(broken("template.trench.rate", "fast"))
    assert [fault.where for fault in found] == ["work.toml: template.trench.rate"]


def test_a_key_stands_once_among_all_files() -> None:
    """The second trench is told, with the file of the first."""
    tables = deepcopy(SOUND)
    tables["more.toml"] = {"template": {"trench": tables["work.toml"]["template"]["trench"]}}
    assert faults_of(tables) == [
        Fault("more.toml: template.trench", "stands in work.toml too", "keep it in one file")
    ]


def test_a_section_nobody_knows_is_told() -> None:
    """A misspelt section would otherwise lose all its rows in silence."""
    tables = {**SOUND, "more.toml": {"templates": {}}}
    (fault,) = faults_of(tables)
    assert fault[:2] == ("more.toml: templates", "is not a section known here")
    assert fault.remedy.startswith(
        "use one of source, crew, machine, weather, wait, template, rule"
    )


def test_a_section_that_is_no_table_is_told() -> None:
    """A section is a table of rows."""
    assert faults_of({**SOUND, "more.toml": {"rule": "first things first"}}) == [
        Fault("more.toml: rule", "is not a table of rows", "write [rule.key] above each row")
    ]


def test_rules_that_chase_each_other_are_told_as_a_ring() -> None:
    """Pipe before trench before pipe, and the rule where it can be mended."""
    tables = deepcopy(SOUND)
    back = {**SOUND["work.toml"]["rule"]["trench-before-pipe"]}
    back |= {"before": ["lay-pipe"], "after": ["trench"]}
    tables["more.toml"] = {"rule": {"pipe-before-trench": back}}
    assert faults_of(tables) == [
        Fault(
            "more.toml: rule.pipe-before-trench",
            "lay-pipe before trench before lay-pipe is a ring",
            "take one of its rules out or turn it round",
        )
    ]


def test_rules_across_a_way_in_may_name_a_template_against_itself() -> None:
    """The far slab before the near one is no ring: they lie in two zones."""
    tables = broken("rule.trench-before-pipe.after", ["trench"])
    tables["work.toml"]["rule"]["trench-before-pipe"]["where"] = "way-in"
    assert build_library(tables, "v1").rules[0].before == ("trench",)


def test_a_rule_has_one_lag() -> None:
    """A wait and hours at once leave open which one counts."""
    tables = broken("rule.trench-before-pipe.wait", "W-joints")
    tables["work.toml"]["rule"]["trench-before-pipe"]["hours"] = 4
    assert faults_of(tables) == [
        Fault(
            "work.toml: rule.trench-before-pipe",
            "has more than one lag",
            "keep one of wait, hours and slots",
        )
    ]


def test_an_at_most_below_its_least_can_never_be_kept() -> None:
    """Four hours at the least and three at the most."""
    tables = broken("rule.trench-before-pipe.hours", 4)
    tables["work.toml"]["rule"]["trench-before-pipe"]["at_most_hours"] = 3
    assert faults_of(tables) == [
        Fault(
            "work.toml: rule.trench-before-pipe.at_most_hours",
            "lies below its hours",
            "let at_most_hours be no less than hours",
        )
    ]


def test_a_wait_that_starts_a_hold_says_whom_it_keeps_out() -> None:
    """A hold of nobody is a wait that belongs to a rule."""
    tables = deepcopy(SOUND)
    del tables["work.toml"]["wait"]["W-joints"]["keeps_out"]
    assert faults_of(tables) == [
        Fault(
            "work.toml: wait.W-joints.after",
            "keeps nobody out",
            "say keeps_out, or leave after to the rules",
        )
    ]


NOTICE = {"name": "Nowhere", "least": 2, "unit": "bd", "life_from": "due", "source": "CP"}
SOIL = {
    "name": "Marl",
    "texture": "marl",
    "lb_ft3": [90, 110],
    "swell": [0.2, 0.3],
    "swell_use": 0.25,
    "shrink": [0.1, 0.15],
    "source": "CP",
}


@pytest.mark.parametrize(
    ("section", "row", "fault"),
    [
        (
            "notice",
            {**NOTICE, "life": 30},
            ("x.life", "is half told", "give life and life_unit, or neither"),
        ),
        (
            "notice",
            {**NOTICE, "cutoff": "4:30 pm"},
            ("x.cutoff", "'4:30 pm' is not a time of day", 'write it like "16:30"'),
        ),
        (
            "notice",
            {**NOTICE, "saturday": "tuesday noon"},
            ("x.saturday", "'noon' is not a time of day", 'write it like "16:30"'),
        ),
        (
            "soil",
            SOIL,
            ("x.texture", "there is no dryout 'marl'", "write a [dryout.marl]"),
        ),
        (
            "soil",
            {**SOIL, "swell": [0.3, 0.2]},
            ("x.swell", "0.3, 0.2 do not rise", "write the lowest first and the highest last"),
        ),
    ],
)
def test_faults_of_tables_that_plans_look_things_up_in(
    section: str, row: dict[str, Any], fault: tuple[str, str, str]
) -> None:
    """Notices and soils: half a figure, no time of day, a texture nobody knows the drying of."""
    where, reason, remedy = fault
    assert faults_of({**SOUND, "more.toml": {section: {"x": row}}}) == [
        Fault(f"more.toml: {section}.{where}", reason, remedy)
    ]


def test_a_machine_is_not_wider_than_the_way_it_needs() -> None:
    """30 in of trencher do not pass 28 in."""
    assert faults_of(broken("machine.trencher.passage", "28 in", "people.toml")) == [
        Fault(
            "people.toml: machine.trencher.passage",
            "Trencher is wider than 28 in",
            "give 30 in or more",
        )
    ]


def test_a_dry_out_without_bands_is_told() -> None:
    """A soil that dries in no time at all is a slip."""
    row = {"bands": [], "cool_factor": 2, "shade_days": 1, "covered_factor": 0.5, "source": "CP"}
    assert faults_of({**SOUND, "soil.toml": {"dryout": {"clay": row}}}) == [
        Fault("soil.toml: dryout.clay.bands", "[] is no table", "write rows like [0.5, 1, 1.5, 2]")
    ]


def test_more_rain_may_not_dry_sooner() -> None:
    """D06 (arithmetic): the dry-out table rises with the rain, or is refused."""
    row = {
        "bands": [[0.1, 1, 1, 1], [0.5, 0, 1, 1]],
        "cool_factor": 2,
        "shade_days": 1,
        "covered_factor": 0.5,
        "source": "CP",
    }
    assert faults_of({**SOUND, "soil.toml": {"dryout": {"clay": row}}}) == [
        Fault(
            "soil.toml: dryout.clay",
            "0.5 in of rain on clay dries sooner than less rain",
            "let rain and days rise from band to band",
        )
    ]


def test_every_fault_is_told_at_once_in_order() -> None:
    """Three broken rows in two files, three lines, so that one look mends them all."""
    tables = broken("template.trench.rate", [3, 2, 1])
    tables["work.toml"]["rule"]["trench-before-pipe"]["where"] = "nearby"
    tables["people.toml"]["crew"]["IRR"]["usual"] = 0
    found = faults_of(tables)
    assert [fault.where for fault in found] == [
        "people.toml: crew.IRR.usual",
        "work.toml: rule.trench-before-pipe.where",
        "work.toml: template.trench.rate",
    ]


def test_the_error_says_everything_in_one_line_and_survives_pickling() -> None:
    """Faults cross a process border whole."""
    with pytest.raises(LibraryError) as caught:
        build_library({"a.toml": {"crew": {"X": {}}}}, "v1")
    told = "a.toml: crew.X.name: is missing; add name = ..."
    assert str(caught.value).split(" | ")[0] == told
    assert pickle.loads(pickle.dumps(caught.value)).faults == caught.value.faults  # noqa: S301 - own
