"""The measurement of feeds: what it counts is right, and it says what it lacks."""

from __future__ import annotations

import os
import shutil

import pytest
from django.core.management import CommandError, call_command

from jobs.services.bench.feeds import FAULTS, RATE, feeds_text

WRK = """\
Running 4s test @ http://127.0.0.1:8532
  1 threads and 200 connections
  3435 requests in 4.01s, 613.10KB read
  Socket errors: connect 0, read 2, write 0, timeout 3
  Non-2xx or 3xx responses: 7
Requests/sec:    856.12
Transfer/sec:    152.8KB
"""


def test_rate_and_faults_are_read_from_what_wrk_says():
    """Errors of sockets and answers of other kinds count alike."""
    assert float(RATE.search(WRK)[1]) == 856.12
    assert sum(int(one or other) for one, other in FAULTS.findall(WRK)) == 12


def test_the_figures_are_told_with_their_shares():
    """Two lines."""
    told = feeds_text(
        {
            "subscribers": 200, "events": 500, "body_bytes": 381_991, "workers": 2, "load": "wrk",
            "errors": 0, "bare_rate": 2000.0, "unchanged_rate": 1100.0, "body_rate": 600.0,
            "unchanged_share": 0.55, "body_share": 0.3,
        }
    )  # fmt: skip
    assert told.splitlines()[1] == (
        "bare view 2,000/s; nothing new 1,100/s (55%); whole body 600/s (30%)"
    )


def test_without_a_load_client_the_command_says_how_to_get_one(monkeypatch):
    """Nothing was measured: exit 2."""
    monkeypatch.setenv("PATH", os.devnull)
    assert shutil.which("wrk") is None
    with pytest.raises(CommandError, match="apt-get install wrk") as refused:
        call_command("bench", "feeds")
    assert refused.value.returncode == 2
