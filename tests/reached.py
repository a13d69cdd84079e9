"""A pytest plugin that notes which lines and branches of the house the tests reach: ``-p tests.reached --reached FOLDER``.

A probe stands on each line until it was passed, then it is taken out. It has to be loaded by ``-p``, before anything of
the house is. Each process leaves a file in the folder; ``python -m slipcover --merge`` adds them up by
``[tool.slipcover]`` in pyproject.toml.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from slipcover import FileMatcher, ImportManager, Slipcover
from slipcover.config import read_config

if TYPE_CHECKING:
    import pytest

CONFIG = read_config()
PASSES = 2000
"""Times a line is passed before probes are taken out: to look for all of them takes longer than a few passes."""
WORKER = "PYTEST_XDIST_WORKER" in os.environ
"""What no process has read of the house is added by the one that reads none of it for long."""
noted = Slipcover(
    branch=CONFIG["branch"],
    d_miss_threshold=PASSES,
    source=None if WORKER else CONFIG["source"],
    omit=CONFIG["omit"],
)
ImportManager(noted, FileMatcher(sources=CONFIG["source"], omit=CONFIG["omit"])).__enter__()


def pytest_addoption(parser: pytest.Parser) -> None:
    """Where to leave what was reached."""
    parser.addoption("--reached", type=Path, required=True)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Leave what this process reached."""
    folder = session.config.option.reached
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{os.getpid()}.json").write_text(json.dumps(noted.get_coverage()), "utf-8")
