"""Serves the app on this machine until it is told to stop."""

from __future__ import annotations

import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


MANAGE = Path(__file__).resolve().parents[2] / "manage.py"
PATIENCE = 10
"""Seconds a worker has to hand back what it is doing."""


def serve(host: str, port: int, workers: int = 2) -> int:
    """Run the web server in the foreground, a worker beside it; return the server's exit code.

    Raises
    ------
    OSError
        If the server cannot be started.
    """
    command = [
        sys.executable,
        "-m",
        "gunicorn",
        "jobs.wsgi",
        "--bind",
        f"{host}:{port}",
        "--workers",
        str(workers),
        "--log-level",
        "warning",
    ]
    with _worker():
        try:
            return subprocess.call(command)  # noqa: S603 (our own server with our own words)
        except KeyboardInterrupt:
            return 0


@contextmanager
def _worker() -> Iterator[None]:
    """Run the solve loop for as long as the server runs."""
    command = [sys.executable, str(MANAGE), "worker"]
    process = subprocess.Popen(command)  # noqa: S603 (our own worker)
    try:
        yield
    finally:
        process.terminate()
        try:
            process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            process.kill()
