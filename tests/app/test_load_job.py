"""A job file becomes a job with its activities, or nothing at all."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from jobs.models import Activity, Job, Link, ScopeItem
from jobs.services.files import load_job as loading
from jobs.services.files.job_file import JobFileError
from jobs.services.files.load_job import load_job
from tests.office import NOW, SMALL_YARD, open_office, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def office():
    """Crews and machines are there."""
    open_office()


def refused(text: str) -> list[str]:
    """Load a text that must be refused, and return its faults as lines."""
    with pytest.raises(JobFileError) as error:
        load_job(text, by="test", now=NOW)
    assert Job.objects.count() == 0, "nothing is half saved"
    return [str(fault) for fault in error.value.faults]


def test_a_yard_becomes_activities_with_what_comes_with_every_job():
    """Path and shrubs, and also the locate call, the clean-up and the walk-through."""
    job = small_job()
    found = set(job.activities.values_list("template", flat=True))
    assert {"dg-path", "plant-shrubs", "locate-notice", "clean-up", "walk-through"} <= found
    assert job.links.filter(rule="").count() == 0


def test_loading_a_file_again_replaces_a_job_that_nobody_has_planned():
    """Same slug, one job, no doubles."""
    small_job()
    small_job()
    assert Job.objects.count() == 1
    assert ScopeItem.objects.count() == 2


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('five-gallon = "12"', 'area = "0"', "nothing to build"),
        ('five-gallon = "12"', 'five-gallon = "-4"', "-4"),
        ('five-gallon = "12"', 'five-gallon = "12 parsecs"', "parsecs"),
        ('five-gallon = "12"', 'five-gallon = "999999"', "999999"),
        ('what = "shrubs"', 'what = "volcano"', "'volcano' is not in the library"),
        ('width = "4 ft"', 'width = "wide"', "wide"),
        ("start = 2026-06-22", "start = 2026-06-01", "is in the past"),
        ("promise = 2026-07-31", "promise = 2026-06-01", "lies before the start"),
    ],
)
def test_what_cannot_be_built_is_refused_whole(old, new, told):
    """Zero, negative, absurd, unknown unit or thing, past start: one plain line, nothing stored."""
    lines = refused(SMALL_YARD.replace(old, new, 1))
    assert any(told in line for line in lines), lines


def test_a_fault_of_sense_has_its_line_too():
    """The yard's own keys are found again after the file was read."""
    text = SMALL_YARD.replace("start = 2026-06-22", "start = 2026-06-01", 1)
    line = 1 + text.splitlines().index("start = 2026-06-01")
    assert [fault[: len(f"line {line}, start:")] for fault in refused(text)] == [
        f"line {line}, start:"
    ]


def test_the_command_tells_every_fault_and_exits_with_two(tmp_path):
    """One line a fault, with the file's name."""
    file = tmp_path / "bad.toml"
    file.write_text(SMALL_YARD.replace('state = "NC"', ""))
    with pytest.raises(CommandError) as error:
        call_command("load_job", str(file))
    assert error.value.returncode == 2
    assert str(error.value).startswith(f"{file}: state: is missing")


def test_a_file_that_is_not_there_is_told():
    """No traceback for a mistyped name."""
    with pytest.raises(CommandError, match="cannot be read") as error:
        call_command("load_job", "nowhere.toml")
    assert error.value.returncode == 2


def test_a_link_by_hand_in_words_is_kept_with_its_wait():
    """Shrubs only two days after the path, because the owner wants to see it first."""
    text = SMALL_YARD + (
        '\n[[link]]\nactivity = "plant-shrubs"\nafter = "dg-path"\n'
        'wait = { days = 2 }\nwhy = "the owner wants to see the path first"\n'
    )
    job = load_job(text, by="test", now=NOW)
    link = Link.objects.get(job=job, rule="")
    assert (link.relation, link.lag, link.clock) == ("finish-to-start", 2880, "elapsed")


def test_done_work_is_fact():
    """A yard under way says what was done, by whom, and may have started in the past."""
    text = SMALL_YARD.replace("start = 2026-06-22", "start = 2026-06-01") + (
        '\n[[done]]\nactivity = "start-walk"\nstarted = 2026-06-02T07:00:00\n'
        "finished = 2026-06-02T09:00:00\n"
    )
    load_job(text, by="test", now=NOW)
    walked = Activity.objects.get(template="start-walk")
    assert walked.finished_at is not None
    assert walked.done_share == 100


def test_a_cycle_made_by_hand_is_told_with_its_members():
    """The path after its own clean-up cannot be; the ring is named and nothing is stored."""
    lines = refused(SMALL_YARD + '\n[[link]]\nactivity = "dg-path"\nafter = "clean-up"\n')
    assert len(lines) == 1
    assert "wait for each other in a ring" in lines[0]
    assert "Lay crushed-stone path, front path" in lines[0]
    assert "Clean up" in lines[0]


def test_the_file_that_the_readme_shows_is_a_job():
    """As it stands there, with every table, read on the day it was written for."""
    readme = Path(loading.__file__).resolve().parents[3] / "README.md"
    text = readme.read_text("utf-8").partition("```toml\n")[2].partition("```")[0]
    open_office()
    job = load_job(text, by="test", now=NOW)
    assert job.name == "3 Finch Street"
    assert job.activities.filter(part_of__isnull=False, extra="").count() == 1
    assert job.activities.get(extra="more").days == 2
    assert job.links.filter(lifted=True).count() == 1
