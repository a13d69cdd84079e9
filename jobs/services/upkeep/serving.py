"""Serves the app on this machine until it is told to stop."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from signal import SIGTERM, signal
from threading import Event, Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


MANAGE = Path(__file__).resolve().parents[3] / "manage.py"
EVERYWHERE = {"0.0.0.0", "::"}  # noqa: S104 (asked for by name, never by default)
NOWHERE = ("192.0.2.1", 9)
"""An address that answers nobody (RFC 5737): asking the way there sends nothing, but tells our own address."""
PAUSE = 2
"""Seconds until a worker that died is begun again."""
LEAVE = 10
"""Seconds a worker has to hand back what it is doing."""
PATIENCE = 120
"""Seconds a page may take: three searches for ways out are some 27 s, and a busy laptop needs longer."""
SERVERS = 2


def serve(host: str, port: int) -> int:
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
        str(SERVERS),
        "--timeout",
        str(PATIENCE),
        "--log-level",
        "warning",
    ]
    signal(SIGTERM, _end)
    env = {**os.environ, "HOSTS": os.environ.get("HOSTS") or ",".join(names_of(host))}
    with _worker(), subprocess.Popen(command, env=env) as server:  # noqa: S603 (our own server with our own words)
        try:
            return server.wait()
        except KeyboardInterrupt:
            server.terminate()
            return 0


def names_of(host: str) -> list[str]:
    """Return the names the server answers to when it listens on a host.

    Every address means this machine's own on its network, so that a phone beside it can look.
    """
    names = ["localhost", "127.0.0.1", "[::1]"]
    if host in EVERYWHERE:
        with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
            asked.connect(NOWHERE)
            host = str(asked.getsockname()[0])
    return names if host in names else [*names, host]


def _end(*_: object) -> None:
    """Treat being told to end like Ctrl-C, so that nothing is left running."""
    raise KeyboardInterrupt


@contextmanager
def _worker() -> Iterator[None]:
    """Run the solve loop for as long as the server runs; begin it again if it dies."""
    keeper = _Keeper()
    thread = Thread(target=keeper.run, daemon=True)
    thread.start()
    try:
        yield
    finally:
        keeper.end()
        thread.join(LEAVE)


class _Keeper:
    """Keeps one worker alive."""

    def __init__(self) -> None:
        self._over = Event()
        self._process: subprocess.Popen[bytes] | None = None

    def run(self) -> None:
        """Start the worker, and again a moment after it has died."""
        command = [sys.executable, str(MANAGE), "worker"]
        while not self._over.is_set():
            self._process = subprocess.Popen(command)  # noqa: S603 (our own worker)
            self._process.wait()
            self._over.wait(PAUSE)

    def end(self) -> None:
        """Let the worker hand back what it is doing, and end."""
        self._over.set()
        process = self._process
        if process is None:
            return
        process.terminate()
        try:
            process.wait(LEAVE)
        except subprocess.TimeoutExpired:
            process.kill()
