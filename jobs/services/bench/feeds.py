"""Measure feeds under polling phones against a bare view of the same server, in the same run."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from .server import BARE

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

ROOT = Path(__file__).resolve().parents[3]
EVENTS, SUBSCRIBERS, WORKERS = 500, 200, 2
ROUNDS, SECONDS = 7, 2
"""Each of the three loads is put on so many times in turn, for so long. Shares are taken within a
round, where the machine is as busy with one load as with the next; the median counts."""
LOAD = """\
local paths = {{ {paths} }}
local at = 0
request = function()
  at = at % #paths + 1
  return wrk.format("GET", paths[at], {{ {headers} }})
end
"""
RATE = re.compile(r"Requests/sec:\s+([\d.]+)")
FAULTS = re.compile(r"(?:connect|read|write|timeout) (\d+)|Non-2xx or 3xx responses: (\d+)")


class NothingToMeasureWith(Exception):
    """A program is missing, or the server answers what it should not: nothing was measured."""


@dataclass(frozen=True, slots=True)
class Served:
    """A running server: where it is, the addresses of the feed, its tag, and octets of a body."""

    port: int
    paths: Sequence[str]
    tag: str
    octets: int


def bench_feeds(*, seed: int = 0, rounds: int = ROUNDS, seconds: int = SECONDS) -> dict[str, Any]:
    """Let 200 subscribers poll one feed of 500 events while a niced solve runs beside the server.

    A fresh database in a folder of its own, two web workers, ``wrk`` as the load. In turn: the bare
    view, the feed asked with its tag, the feed asked for its whole body.

    Returns
    -------
    dict
        ``{bench, load, events, subscribers, workers, body_bytes, bare_rate, unchanged_rate,
        body_rate, unchanged_share, body_share, errors}``; rates are answers a second.

    Raises
    ------
    NothingToMeasureWith
        If ``wrk`` is not installed or a link does not answer as it should.
    """
    wrk = shutil.which("wrk")
    if wrk is None:
        raise NothingToMeasureWith("wrk puts on the load and is not here: apt-get install wrk")
    with tempfile.TemporaryDirectory() as folder, _served(Path(folder), seed) as served:
        loads = _loads(Path(folder), served)
        _pull(wrk, served.port, loads["body"], seconds=1)
        pulls: dict[str, list[tuple[float, int]]] = {name: [] for name in loads}
        for _ in range(rounds):
            for name, script in loads.items():
                pulls[name].append(_pull(wrk, served.port, script, seconds))
    return _figures(pulls, served)


def feeds_text(figures: Mapping[str, Any]) -> str:
    """Return the figures in two lines for people."""
    return (
        "{subscribers} subscribers of {events} events ({body_bytes:,} octets), {workers} workers, "
        "load by {load}, a niced solve beside them, {errors} errors\n"
        "bare view {bare_rate:,.0f}/s; nothing new {unchanged_rate:,.0f}/s ({unchanged_share:.0%}); "
        "whole body {body_rate:,.0f}/s ({body_share:.0%})"
    ).format(**figures)


def _figures(pulls: Mapping[str, Sequence[tuple[float, int]]], served: Served) -> dict[str, Any]:
    rounds = {name: [rate for rate, _ in told] for name, told in pulls.items()}
    rates = {name: median(told) for name, told in rounds.items()}
    shares = {
        name: median(rate / bare for rate, bare in zip(told, rounds["bare"], strict=True))
        for name, told in rounds.items()
    }
    return {
        "bench": "feeds",
        "load": "wrk",
        "events": EVENTS,
        "subscribers": len(served.paths),
        "workers": WORKERS,
        "body_bytes": served.octets,
        "bare_rate": round(rates["bare"], 1),
        "unchanged_rate": round(rates["unchanged"], 1),
        "body_rate": round(rates["body"], 1),
        "unchanged_share": round(shares["unchanged"], 3),
        "body_share": round(shares["body"], 3),
        "errors": sum(faults for told in pulls.values() for _, faults in told),
    }


@contextmanager
def _served(folder: Path, seed: int) -> Iterator[Served]:
    """Fill a database, start the server and the solve, and end both afterwards."""
    env = {**os.environ, "YARDWRIGHT_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "jobs.settings"}
    env.pop("DATABASE_URL", None)
    _child(env, "manage.py", "migrate", "--verbosity", "0")
    told = _child(
        env, "-c", f"from jobs.services.bench.server import fill as f; f({EVENTS}, {SUBSCRIBERS})"
    )
    port = _free_port()
    server = [
        "-m", "gunicorn", "jobs.services.bench.server:serve_measured()", "--bind",
        f"127.0.0.1:{port}", "--workers", str(WORKERS), "--log-level", "warning",
    ]  # fmt: skip
    solve = [
        "-c",
        f"import os; os.nice(19); from jobs.services.bench.server import solve_on as s; s({seed})",
    ]
    started = [
        subprocess.Popen([sys.executable, *words], cwd=ROOT, env=env)  # noqa: S603 (our own words)
        for words in (server, solve)
    ]
    try:
        _wait_for(port)
        yield _checked(port, [f"/feed/{token}.ics" for token in told.split()])
    finally:
        for process in started:
            process.terminate()
        for process in started:
            process.wait(timeout=30)


def _child(env: Mapping[str, str], *words: str) -> str:
    done = subprocess.run(  # noqa: S603 (our own words)
        [sys.executable, *words], cwd=ROOT, env=env, check=True, stdout=subprocess.PIPE, text=True
    )
    return done.stdout


def _free_port() -> int:
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        port: int = asked.getsockname()[1]
    return port


def _wait_for(port: int) -> None:
    """Ask the bare view until it answers."""
    for _ in range(100):
        try:
            status, _, _ = _get(port, f"/{BARE}")
        except OSError:
            time.sleep(0.1)
        else:
            if status == http.HTTPStatus.OK:
                return
    raise NothingToMeasureWith("the server did not start within ten seconds")


def _checked(port: int, paths: Sequence[str]) -> Served:
    """Open every link once, whole and with its tag: only right answers are worth counting."""
    tag, octets = "", 0
    for path in paths:
        status, tag, octets = _get(port, path)
        again, _, nothing = _get(port, path, {"If-None-Match": tag})
        if (status, again, nothing) != (http.HTTPStatus.OK, http.HTTPStatus.NOT_MODIFIED, 0):
            raise NothingToMeasureWith(f"a feed answered {status}, and {again} with its own tag")
    return Served(port, paths, tag, octets)


def _get(port: int, path: str, headers: Mapping[str, str] | None = None) -> tuple[int, str, int]:
    """Status, tag and octets of one answer."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("GET", path, headers=dict(headers or {}))
    answer = connection.getresponse()
    octets = len(answer.read())
    connection.close()
    return answer.status, answer.headers.get("ETag", ""), octets


def _loads(folder: Path, served: Served) -> dict[str, Path]:
    """Write a script for each load."""
    tag = served.tag.replace('"', '\\"')
    told = {
        "bare": ([f"/{BARE}"], ""),
        "unchanged": (served.paths, f'["If-None-Match"] = "{tag}"'),
        "body": (served.paths, ""),
    }
    scripts = {}
    for name, (paths, headers) in told.items():
        scripts[name] = folder / f"{name}.lua"
        listed = ", ".join(f'"{path}"' for path in paths)
        scripts[name].write_text(LOAD.format(paths=listed, headers=headers), "utf-8")
    return scripts


def _pull(wrk: str, port: int, script: Path, seconds: int) -> tuple[float, int]:
    """Put one load on; return answers a second and faults."""
    done = subprocess.run(  # noqa: S603 (our own words)
        [
            wrk, "--threads", "1", "--connections", str(SUBSCRIBERS), "--timeout", "10s",
            "--duration", f"{seconds}s", "--script", str(script), f"http://127.0.0.1:{port}",
        ],
        check=True, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    rate = RATE.search(done.stdout)
    if rate is None:
        raise NothingToMeasureWith(f"wrk said nothing to go by: {done.stdout}")
    faults = sum(int(one or other) for one, other in FAULTS.findall(done.stdout))
    return float(rate[1]), faults
