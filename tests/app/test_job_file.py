"""A job file's faults are told by line and key, all of them at once."""

from __future__ import annotations

import pytest

from jobs.services.files.job_file import Fault, JobFileError, read_job_file
from tests.office import SMALL_YARD


def faults_of(text: str) -> tuple[Fault, ...]:
    """Read a text that must be refused."""
    with pytest.raises(JobFileError) as refused:
        read_job_file(text)
    return refused.value.faults


def test_a_good_file_is_read_with_the_line_of_each_table():
    """Two things to build, each known by the line it begins at."""
    file = read_job_file(SMALL_YARD)
    lines = SMALL_YARD.splitlines()
    assert file.job["name"] == "3 Finch Street"
    assert [lines[line - 1] for line, _ in file.rows("build")] == ["[[build]]", "[[build]]"]


def test_broken_brackets_are_told_with_their_line():
    """The reader's own complaint, in words, at its line."""
    (fault,) = faults_of('name = "x"\n[[zone]\n')
    assert (fault.line, fault.key) == (2, "file")
    assert "TOML" in fault.reason


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('state = "NC"', "", "state: is missing"),
        ("start = 2026-06-22", 'start = "soon"', "start: 'soon' does not fit"),
        ('soil = "loam"', 'ground = "loam"', "ground: is not a key known here"),
        ('where = "Bed"', 'where = "Roof"', "build.where: there is no zone 'Roof'"),
        ('to = "Bed"', 'to = "Attic"', "passage.to: there is no zone 'Attic'"),
        ('name = "Bed"', 'name = "Front path"', "zone.name: 'Front path' stands twice"),
    ],
)
def test_each_fault_names_its_line_key_and_remedy(old, new, told):
    """What is wrong, where, and what to write instead."""
    text = SMALL_YARD.replace(old, new, 1)
    fault = next(f for f in faults_of(text) if told in f"{f.key}: {f.reason}")
    assert fault.remedy
    if new:
        assert new.split(" = ")[0] in text.splitlines()[fault.line - 1]


def test_all_faults_are_told_at_once():
    """Three mistakes, three lines."""
    text = SMALL_YARD.replace('state = "NC"', "state = 5").replace('"4 ft"', "true")
    text += '\n[[link]]\nactivity = "a"\nafter = "b"\nrelation = "sometime"\nwait = {days = "x"}\n'
    keys = [fault.key for fault in faults_of(text)]
    assert keys == ["state", "passage.width", "link.relation", "link.wait"]
