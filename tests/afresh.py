"""A database to begin from again and again, in a process of its own: what a test made, handed over by either kind.

SQLite: a file ``state.sqlite3`` in ``YARDWRIGHT_DATA``, copied. PostgreSQL: the test's own database as the template of
another one, which ``DATABASE_URL`` names; ``STATE_DATABASE`` names the test's.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.db import connection

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

STATE, WORK = "state.sqlite3", "yardwright.sqlite3"
SETTLES = 20.0
"""Seconds a server has to notice that those who spoke with it are dead."""


def hand_over(folder: Path) -> Mapping[str, str]:
    """Let another process begin from what was committed; return the environment it is told so by."""
    if connection.vendor == "sqlite":
        state = sqlite3.connect(folder / STATE)
        connection.connection.backup(state)
        state.close()
        return {"YARDWRIGHT_DATA": str(folder)}
    told = connection.settings_dict
    connection.close()
    server = f"postgres://{told['USER']}:{told['PASSWORD']}@{told['HOST']}:{told['PORT']}"
    return {
        "YARDWRIGHT_DATA": str(folder),
        "DATABASE_URL": f"{server}/{told['NAME']}_work",
        "STATE_DATABASE": told["NAME"],
    }


def begin() -> None:
    """Begin again from the state that was handed over."""
    connection.close()
    if connection.vendor == "sqlite":
        data = Path(os.environ["YARDWRIGHT_DATA"])
        for old in data.glob(f"{WORK}*"):
            old.unlink()
        shutil.copy(data / STATE, data / WORK)
        return
    end()
    with _server() as server:
        server.execute(f"create database {_work()} template {os.environ['STATE_DATABASE']}")


def end() -> None:
    """Leave nothing behind on a server."""
    connection.close()
    if connection.vendor != "sqlite":
        with _server() as server:
            server.execute(f"drop database if exists {_work()} with (force)")


def settle() -> None:
    """Wait until a server has ended what the dead had begun; a file knows nothing of them."""
    if connection.vendor == "sqlite":
        return
    connection.close()
    until = time.monotonic() + SETTLES
    others = "select count(*) from pg_stat_activity where datname = %s"
    with _server() as server:
        while server.execute(others, [_work()]).fetchone()[0] and time.monotonic() < until:
            time.sleep(0.005)


def _work() -> str:
    return str(connection.settings_dict["NAME"])


@contextmanager
def _server() -> Iterator[Any]:
    """Speak with the server itself, outside any database of ours."""
    import psycopg  # noqa: PLC0415 (only where there is a server)

    told = connection.settings_dict
    with psycopg.connect(
        host=told["HOST"], port=told["PORT"], user=told["USER"], password=told["PASSWORD"],
        dbname="postgres", autocommit=True,
    ) as server:  # fmt: skip
        yield server
