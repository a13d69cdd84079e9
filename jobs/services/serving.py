"""Serves the app on this machine until it is told to stop."""

from __future__ import annotations

import subprocess
import sys


def serve(host: str, port: int, workers: int = 2) -> int:
    """Run the web server in the foreground; return its exit code.

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
    try:
        return subprocess.call(command)  # noqa: S603 (our own server with our own words)
    except KeyboardInterrupt:
        return 0
