"""The command that checks the trade library and records its version."""

from __future__ import annotations

from io import StringIO
from shutil import copytree
from typing import TYPE_CHECKING

import pytest
from django.core.management import call_command

from jobs.models import LibraryVersion
from jobs.services.numbers.library import FOLDER, current_library, load_library, read_library
from jobs.trade.errors import LibraryError

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.django_db


def run(*args: str) -> str:
    """Return what the command prints."""
    out = StringIO()
    call_command("load_library", *args, stdout=out)
    return out.getvalue()


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A folder with the library's own files, to be spoilt."""
    return copytree(FOLDER, tmp_path / "trade")


def refuse(folder: Path) -> list[str]:
    """Return the lines on standard error of a refusal, which ends with exit code 2."""
    err = StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("load_library", "--folder", str(folder), stderr=err)
    assert caught.value.code == 2
    return err.getvalue().splitlines()


def test_a_good_library_is_recorded_and_told_in_counts() -> None:
    """One row with the version, and a line that names 99 kinds of work."""
    told = run()
    library = current_library()
    row = LibraryVersion.objects.get()
    assert (row.version, row.templates, row.rules) == (library.version, 99, len(library.rules))
    assert told.startswith(
        f"Library {library.version} loaded: 99 kinds of work, {len(library.rules)} rules, "
    )


def test_loading_the_same_library_again_records_nothing_new() -> None:
    """The version is a digest of the files, so the same files are the same version."""
    run()
    assert "was loaded before" in run()
    assert LibraryVersion.objects.count() == 1


def test_a_changed_figure_is_another_version(copy: Path) -> None:
    """A digit more in one file, and jobs made before keep the version they were made with."""
    first = load_library(copy)
    path = copy / "waits.toml"
    path.write_text(path.read_text("utf-8").replace("usual = 42", "usual = 43"), "utf-8")
    second = load_library(copy)
    assert (first.new, second.new) == (True, True)
    assert first.version != second.version
    assert read_library(copy).waits["W-solarise"].usual == 43


def test_a_bad_library_is_refused_line_by_line_and_nothing_is_recorded(copy: Path) -> None:
    """Two faults in two files: two lines, each with file, key, reason and remedy, and exit code 2."""
    crews, walls = copy / "crews.toml", copy / "rules_walls.toml"
    crews.write_text(crews.read_text("utf-8").replace("usual = 4", "usual = 0"), "utf-8")
    walls.write_text(walls.read_text("utf-8").replace('"W-wallstart"', '"W-wallstrat"'), "utf-8")
    assert refuse(copy) == [
        "crews.toml: crew.CON.usual: it takes at least one person; write one or more",
        (
            "rules_walls.toml: rule.footing-before-wall.wait: there is no wait 'W-wallstrat'; "
            "write a [wait.W-wallstrat], or use W-wallstart or W-water"
        ),
    ]
    assert not LibraryVersion.objects.exists()


def test_a_file_that_is_no_toml_is_told_with_its_line(copy: Path) -> None:
    """A bracket that is not closed."""
    (copy / "crews.toml").write_text('[crew.OFF\nname = "Office"\n', "utf-8")
    (line,) = refuse(copy)
    assert line.startswith("crews.toml: is not readable as TOML (")
    assert "line 1" in line


def test_a_file_that_is_no_text_is_told(copy: Path) -> None:
    """Bytes of some other program."""
    (copy / "crews.toml").write_bytes(b"\xff\xfe\x00")
    (line,) = refuse(copy)
    assert line.startswith("crews.toml: is not readable as TOML (")


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    """A mistyped folder does not empty the library in silence."""
    assert refuse(tmp_path) == [f"{tmp_path}: holds no library files; name a folder of .toml files"]


def test_the_current_library_is_read_once() -> None:
    """Everybody in a process shares one library."""
    assert current_library() is current_library()


def test_the_service_raises_what_the_command_prints(copy: Path) -> None:
    """Who calls the service gets the faults as data."""
    (copy / "extra.toml").write_text('[weather.W99]\nname = "Frogs"\n', "utf-8")
    with pytest.raises(LibraryError) as caught:
        load_library(copy)
    assert [fault.where for fault in caught.value.faults] == ["extra.toml: weather.W99.source"]
