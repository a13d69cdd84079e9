"""The record reads as people speak: every kind of line, with figures in the company's units."""

from __future__ import annotations

import ast
from datetime import UTC, datetime
from pathlib import Path

import pytest

from jobs.models import Company, HistoryEntry
from jobs.services.pages.record_said import SAID
from jobs.services.pages.record_words import RecordTeller
from tests.office import open_office

ROOT = Path(__file__).resolve().parents[2]
AT = datetime(2026, 6, 16, 22, tzinfo=UTC)


def tell(what, before=None, after=None, by="Dana Ortiz"):
    """A line as its sentence and its facts."""
    entry = HistoryEntry(at=AT, by=by, what=what, before=before, after=after)
    told = RecordTeller().tell(entry)
    return (f"{told.who} {told.said}", *told.facts)


def kinds_kept() -> set[str]:
    """Every kind of line that the program keeps, by the first word of each call that keeps one."""
    kept = set()
    for file in (ROOT / "jobs").glob("**/*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("record", "_record"):
                told = node.args[0] if node.args else None
                texts = (
                    [one for one in ast.walk(told) if isinstance(one, ast.Constant)] if told else []
                )
                kept |= {one.value for one in texts if isinstance(one.value, str)}
    return kept


def test_every_kind_of_line_has_words():
    """Nothing that is kept would be told by its bare name."""
    kept = kinds_kept()
    assert len(kept) > 50
    assert kept - set(SAID) == set()


@pytest.mark.parametrize(
    ("lost", "told"),
    [
        ("Wed 17 Jun from 11:30 am: rain", "Wed 17 Jun from 11:30 am: rain"),
        ("2026-06-17 from 11:30: rain", "Wed 17 Jun from 11:30 am: rain"),
        ("rain (sand and lime 25:75)", "rain (sand and lime 25:75)"),
        ("rain (lot 2026-17-06)", "rain (lot 2026-17-06)"),
    ],
)
def test_hours_and_days_are_said_once_and_only_where_they_are_some(lost, told):
    """What somebody typed may look like one: it stays, and the page opens."""
    assert (
        tell("time lost", None, {"lost": lost})[0] == f"Dana Ortiz said that time was lost: {told}"
    )


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            ("a pause", {"stood": {"state": "active", "paused_from": None, "paused_until": None}}, {"said": "paused Mon 22 Jun, goes on Mon 29 Jun (the owners are away)"}),
            ("Dana Ortiz told of a pause: paused Mon 22 Jun, goes on Mon 29 Jun (the owners are away)", "Before that: stands at active"),
        ),
        (
            ("another promise", {"stood": {"promised_on": "2026-06-26"}}, {"said": "promised for Fri 3 Jul"}),
            ("Dana Ortiz told of another promise: promised for Fri 3 Jul", "Before that: promised Fri 26 Jun"),
        ),
        (
            ("a late delivery", {"stood": "2026-06-17"}, {"said": "Flagstone not before Mon 22 Jun"}),
            ("Dana Ortiz told of a late delivery: Flagstone not before Mon 22 Jun", "Before that: Wed 17 Jun"),
        ),
        (("people who were out", None, {"said": "Ben out Tue 16 Jun"}), ("Dana Ortiz told of people who were out: Ben out Tue 16 Jun",)),
        (("promised", {"promise": "none"}, {"promise": "2026-06-26"}), ("Dana Ortiz promised the owner Fri 26 Jun", "Before that: none")),
        (("where it stands", {"stage": "sold"}, {"stage": "handed-over"}), ("Dana Ortiz set where the job stands: handed over", "Before that: sold")),
        (("day log", None, {"work": "Form the slab", "said": "stopped part-way", "share": 60}), ("Dana Ortiz logged Form the slab: stopped part-way, 60 %",)),
        (("day log taken back", {"said": "Ground crew was here, 1 person"}, None), ("Dana Ortiz took back what was logged: Ground crew was here, 1 person",)),
        (
            ("crew changed", {"crew": "Ground crew", "lead": "nobody", "a Saturday costs": ""}, {"crew": "Ground crew", "lead": "Luis Cano", "a Saturday costs": "900"}),
            ("Dana Ortiz changed the crew Ground crew", "Lead: Luis Cano, before that nobody", "A Saturday costs: $900.00, before that nothing"),
        ),
        (
            ("machine made", None, {"machine": "Mini excavator 1", "count": "1", "rented": "yes", "rent a day": "310", "least days": "1", "order ahead": "3"}),
            ("Dana Ortiz added the machine Mini excavator 1", "How many: 1", "Rented: yes", "Rent a day: $310.00", "Rented for at least: 1 day", "Ordered ahead by: 3 days"),
        ),
        (
            ("company changed", {"state": "NC", "zone": "America/New_York", "units": "us", "day begins": "07:00"}, {"state": "TN", "zone": "America/Chicago", "units": "metric", "day begins": "06:30"}),
            (
                "Dana Ortiz changed the company's settings",
                "State: Tennessee, before that North Carolina",
                "Clock: Central, before that Eastern",
                "Lengths and amounts in: meters, millimeters, kilograms, before that feet, inches, pounds",
                "Day begins: 6:30 am, before that 7:00 am",
            ),
        ),
        (("holidays closed", None, ["2026-07-03 Independence Day (observed)", "2026-09-07 Labor Day"]), ("Dana Ortiz closed the holidays: Fri 3 Jul Independence Day (observed), Mon 7 Sep Labor Day",)),
        (("days closed", None, {"days": "Mon 22 Jun", "whom": "everybody", "why": "inventory"}), ("Dana Ortiz closed Mon 22 Jun for everybody", "Why: inventory")),
        (
            ("work changed by hand", {"what": "Hang the swing", "days": "0.5", "people": "2"}, {"what": "Hang the swing", "days": "1.5", "people": "2", "not before": "2026-06-22"}),
            ("Dana Ortiz changed the work Hang the swing", "Takes: 1½ days, before that half a day", "Not before: Mon 22 Jun, before that nothing"),
        ),
        (("tied by hand", None, {"first": "Set posts", "then": "Hang the swing", "how": "finish-to-start"}), ("Dana Ortiz tied Hang the swing to Set posts", "How: once the first is finished")),
        (
            ("change order signed", {"state": "asked"}, {"order": "2, A wider path", "state": "signed", "amount": "1250.00", "signed by": "V. Marsh", "on": "2026-06-15"}),
            ("Dana Ortiz kept that change order 2, A wider path was signed", "Price: $1,250.00", "Signed by: V. Marsh", "On: Mon 15 Jun"),
        ),
        (
            ("engineer's release", None, {"what": "Pour the slab", "allows": "walking, 18 hours after the pour", "engineer": "J. Roe, 123, signed 2026-06-12"}),
            ("Dana Ortiz kept an engineer's release of Pour the slab: walking, 18 hours after the pour", "Engineer: J. Roe, 123, signed Fri 12 Jun"),
        ),
        (("evening summary sent", None, {"messages": 1}), ("Yardwright sent the evening summary: 1 message",)),
        (("climate place chosen", "nearest place", "USW00003812"), ("Dana Ortiz chose whose climate the yard goes by: Asheville, NC", "Before that: nearest place")),
        (("own figure set", None, {"what": "wait no-such-wait days", "figure": 9, "why": "ours"}), ("Dana Ortiz set a figure of our own", "No-such-wait, days: 9", "Why: ours")),
    ],
)  # fmt: skip
def test_a_line_reads_as_a_sentence(line, told):
    """Who did what, then what is otherwise than before."""
    by = "worker" if line[0] == "evening summary sent" else "Dana Ortiz"
    assert tell(*line, by=by) == told


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("units", "area", "depth"), [("us", "640 ft²", "4 in"), ("metric", "59.5 m²", "10.2 cm")]
)
def test_amounts_are_told_in_the_units_the_company_works_with(units, area, depth):
    """What is built is kept by key and bare figure; the record has the questions' names and units."""
    open_office()
    Company.objects.update(units=units)
    kept = {"what": "concrete-slab", "where": "Patio", "area": "640", "thickness": "4"}
    assert tell("item added", None, kept) == (
        "Dana Ortiz added Concrete slab, Patio",
        f"Area: {area}",
        f"Thickness: {depth}",
    )
