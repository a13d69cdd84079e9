"""Solving files from the command line: what is printed, and what is wrong with a bad file."""

from __future__ import annotations

import json

import pytest
from django.core.management import CommandError, call_command

RULE = "*" * 40
PROJECT = f"""{RULE}
jobs (incl. supersource/sink ):  4
RESOURCES
  - renewable                 :  1   R
{RULE}
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           4
   4        1          0
{RULE}
REQUESTS/DURATIONS:
jobnr. mode duration  R 1
   1      1     2       1
   2      1     3       1
   3      1     4       1
   4      1     1       1
{RULE}
RESOURCEAVAILABILITIES:
  R 1
    2
{RULE}
"""
"""Dig (2), pipe (3) and wire (4) beside each other, fill (1): seven slots."""


def portfolio() -> dict:
    """One job of two works, dig before set, and a crew that works Monday to Friday by four slots."""
    week = [[0, 1, 2, 3]] * 5 + [[], []]
    work = {"job": "oak", "resources": {}, "one_go": False, "not_before_day": 0}
    return {
        "format": 1,
        "start_date": "2027-03-01",
        "slots_per_day": 4,
        "slot_start_hours": [7, 9, 11.5, 13.5],
        "slot_hours": 2,
        "horizon_days": 14,
        "tardiness_weight": 1000,
        "days_off": [1],
        "crews": [{"id": "north", "trades": ["stone"], "week": week, "days_off": []}],
        "resources": [{"id": "saw", "kind": "machine", "capacity": 1, "days_off": []}],
        "jobs": [{"id": "oak", "release_day": 0, "promise_day": 1, "weight": 2, "days_off": []}],
        "activities": [
            {**work, "id": "dig", "name": "dig", "trade": "stone", "crews": {"north": 3}},
            {**work, "id": "set", "name": "set", "trade": "stone", "crews": {"north": 2}},
        ],
        "relations": [{"from": "dig", "to": "set", "type": "FS", "wait_hours": 24}],
    }


def printed(capsys: pytest.CaptureFixture[str]) -> dict:
    """The one JSON object printed."""
    return json.loads(capsys.readouterr().out)


def refused(*args: object) -> str:
    """What a command says that ends with exit code 2."""
    with pytest.raises(CommandError) as caught:
        call_command(*map(str, args))
    assert caught.value.returncode == 2
    return str(caught.value)


def test_a_project_file_is_solved_and_proven(tmp_path, capsys):
    """The dig, then both beside each other, then the fill."""
    file = tmp_path / "tiny.sm"
    file.write_text(PROJECT)
    call_command("solve_psplib", str(file), "--limit", "2", "--workers", "1")
    line = printed(capsys)
    assert line["starts"] in ({"1": 0, "2": 2, "3": 2, "4": 6}, {"1": 0, "2": 3, "3": 2, "4": 6})
    assert (line["instance"], line["makespan"], line["bound"]) == ("tiny", 7, 7)
    assert line["status"] == "proven best"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("sink ):  4", "sink ): -3", "line 2: expected activities: 4, as many as follow; found -3"),
        (":  1   R", ":", "line 4: expected resources: 1, as many as follow; found"),
        ("REQUESTS", "NEEDS", "line 23: expected a section REQUESTS/DURATIONS; found the end"),
        (
            "2   3\n",
            "2   9\n",
            "line 8: expected activity 1, 1 mode, a count and so many followers",
        ),
        ("   3      1     4       1", "   3      1     4", "line 17: expected activity 3, mode 1,"),
        ("1     3       1", "1     3       x", "line 16: expected whole numbers; found 2"),
        ("    2\n*", "    0\n*", "found tiny: activity 1 wants 1 of 0"),
        ("   4        1          0\n", "   4        1          1   1\n", "line 8: expected "),
        (
            "1     2       1\n",
            "1     999999999999       1\n",
            "line 15: expected activity 1, mode 1",
        ),
        (
            "   2        1          1           4\n",
            "",
            "expected 3 activities, as many as there are relations; found 4",
        ),
        (
            "   1        1          2           2   3\n",
            "   1        2          2           2   3\n",
            "line 8: expected activity 1, 1 mode",
        ),
        (PROJECT[PROJECT.index("RESOURCEA") :], "", "expected a section RESOURCEAVAILABILITIES"),
        (
            "  R 1\n    2\n",
            "  R 1\n",
            "expected rows of numbers under RESOURCEAVAILABILITIES; found none",
        ),
    ],
)
def test_a_bad_project_file_is_told_by_line(tmp_path, old, new, said):
    """File, line, what was expected, what was found."""
    file = tmp_path / "tiny.sm"
    file.write_text(PROJECT.replace(old, new, 1))
    answer = refused("solve_psplib", file)
    assert str(file) in answer
    assert said in answer


def test_a_portfolio_is_solved_in_its_own_words(tmp_path, capsys):
    """Dig on Monday, Tuesday is off; a day has passed on Tuesday at 13:30: set on Wednesday, a day late."""
    file = tmp_path / "one.json"
    file.write_text(json.dumps(portfolio(), indent=1))
    call_command("solve_portfolio", str(file), "--limit", "1", "--workers", "1")
    answer = printed(capsys)
    assert answer["starts"] == {"dig": 0, "set": 8}
    assert answer["crew"] == {"dig": "north", "set": "north"}
    assert answer["objective"] == answer["bound"] == 2 * 1000 + 10
    assert answer["status"] == "proven best"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda p: p.pop("jobs"), "expected jobs; found nothing"),
        (lambda p: p["crews"][0].update(week=[[0]]), "expected week as seven lists of positions"),
        (lambda p: p["activities"][0].update(crews={"nobody": 2}), "expected names that the file"),
        (lambda p: p["activities"][1].update(one_go=1), "activities[1].one_go to be true or false"),
        (
            lambda p: p["relations"][0].update(type="XX"),
            "expected type to be one of FS, SS, FF, SF",
        ),
        (
            lambda p: p["jobs"][0].update(weight="two"),
            "expected jobs[0].weight to be a whole number",
        ),
        (lambda p: p.update(slot_hours=float("inf")), "expected slot_hours from 0.01 to 24"),
        (lambda p: p.update(slot_start_hours=[7, 9, 11, 1e300]), "slot_start_hours from 0 to 22"),
        (lambda p: p.update(slot_start_hours=[7, 8, 11, 13]), "slots that follow each other"),
        (lambda p: p.update(horizon_days=-1), "expected horizon_days from 1 to 3,660; found -1"),
        (lambda p: p.update(start_date="Monday"), "expected an ISO start_date"),
        (lambda p: p.update(days_off=["May"]), "expected days_off as numbers of days"),
        (lambda p: p["crews"].append(p["crews"][0]), "expected each id of crews once; found north"),
        (
            lambda p: p["resources"][0].update(capacity=10**9),
            "resources[0].capacity from 1 to 1,000",
        ),
        (
            lambda p: p["relations"][0].update(wait_hours=float("nan")),
            "relations[0].wait_hours from",
        ),
        (lambda p: p["relations"][0].update(to="wash"), "expected names that the file knows"),
        (
            lambda p: p["relations"].append(p["relations"][0] | {"from": "set", "to": "dig"}),
            "expected relations that do not run in a ring; found dig - set wait",
        ),
        (lambda p: p["activities"][0].update(crews={"north": 0}), "whole numbers from 1 to"),
    ],
)
def test_a_bad_portfolio_is_told_by_line(tmp_path, change, said):
    """By the line on which the thing is named."""
    table = portfolio()
    change(table)
    file = tmp_path / "bad.json"
    file.write_text(json.dumps(table, indent=1))
    answer = refused("solve_portfolio", file)
    assert answer.startswith(f"{file}, line ")
    assert said in answer


def test_half_a_file_is_told_by_line(tmp_path):
    """JSON that breaks off."""
    file = tmp_path / "half.json"
    file.write_text('{\n "jobs": [\n')
    assert "line 3: expected JSON" in refused("solve_portfolio", file)


def test_a_list_where_a_portfolio_is_a_table(tmp_path):
    """What was found is shown as it stands in the file."""
    file = tmp_path / "list.json"
    file.write_text('["north", "south"]')
    expected = "line 1: expected a table with crews, resources, jobs, activities"
    found = 'found ["north", "south"]'
    assert f"{expected}; {found}" in refused("solve_portfolio", file)


def test_a_file_that_is_not_there(tmp_path):
    """For both commands."""
    assert "expected a file that can be read" in refused("solve_psplib", tmp_path / "none.sm")
    assert "expected a text file" in refused("solve_portfolio", tmp_path / "none.json")


def test_bench_portfolio_compares_with_the_quick_builder(tmp_path, capsys):
    """Both answers of the tiny portfolio are the only one there is."""
    file = tmp_path / "one.json"
    file.write_text(json.dumps(portfolio()))
    call_command("bench", "portfolio", str(file), "--limit", "0.5", "--json")
    (row,) = printed(capsys)["rows"]
    assert (row["quick"], row["ours"], row["bound"]) == ([2, 9], [2, 9], [2, 9])
    assert (row["jobs"], row["activities"], row["sound"]) == (1, 2, True)


def test_bench_psplib_compares_with_a_list(tmp_path, capsys):
    """Seven slots either way; without a file there is nothing to measure."""
    file = tmp_path / "tiny.sm"
    file.write_text(PROJECT)
    call_command("bench", "psplib", str(file), "--limit", "1")
    assert "tiny: 7 by a list, 7 solved, at least 7: proven best" in capsys.readouterr().out
    assert "needs project files" in refused("bench", "psplib")
