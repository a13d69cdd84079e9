"""A real subscription over HTTP, by command-line clients that are not ours.

vdirsyncer fetches the feed, splits it and keeps it as files; khal lists those files. Both are Debian
packages (``apt-get install vdirsyncer khal``).
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from datetime import UTC, datetime, timedelta

import pytest

from crews.models import CalendarEvent
from crews.services.events import cancel, change
from crews.services.links import make_link, revoke
from crews.services.today import wall_now
from tests.calendars import new_york
from tests.factories import CalendarEventFactory, CrewFactory

pytestmark = pytest.mark.django_db(transaction=True)
FORMAT = "{all-day}\x1f{start-long-full}\x1f{end-long-full}\x1f{title}\x1f{location}\x1f{description}\x1e"
SYNC = """\
[general]
status_path = "{home}/status/"
[pair feed]
a = "far"
b = "near"
collections = null
conflict_resolution = "a wins"
[storage far]
type = "http"
url = {url}
[storage near]
type = "filesystem"
path = "{home}/store/"
fileext = ".ics"
"""
LIST = """\
[calendars]
[[feed]]
path = {home}/store/
readonly = True
[sqlite]
path = {home}/khal.db
[locale]
local_timezone = America/New_York
default_timezone = America/New_York
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
"""


class Subscriber:
    """Somebody's own machine: a folder, a subscription, and what is listed of it."""

    def __init__(self, home, url):
        self.home = home
        (home / "store").mkdir()
        (home / "sync.conf").write_text(SYNC.format(home=home, url=json.dumps(url)))
        (home / "khal.conf").write_text(LIST.format(home=home))
        self.run("vdirsyncer", "discover", answer=b"y\n" * 4)

    def run(self, program, *words, answer=None):
        """Run one of the two with this home; refuses a failure with what it said."""
        found = shutil.which(program, path="/usr/bin:/usr/local/bin:/opt/homebrew/bin")
        assert found, f"{program} is needed here: apt-get install vdirsyncer khal"
        conf = "sync.conf" if program == "vdirsyncer" else "khal.conf"
        kept = {name: os.environ[name] for name in ("LANG", "LC_ALL") if name in os.environ}
        homes = dict.fromkeys(
            ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"), str(self.home)
        )
        done = subprocess.run(  # noqa: S603 (two programs of the distribution, with our own words)
            [found, "-c", str(self.home / conf), *words],
            env={"LANG": "C.UTF-8", **kept, **homes, "PATH": "/usr/bin:/bin"},
            input=answer,
            capture_output=True,
            timeout=60,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        return done.stdout.decode()

    def listed(self, first="2026-06-01", last="2026-06-30"):
        """Fetch, then list: whole-day or not, start, end (included), title, place, notes."""
        self.run("vdirsyncer", "sync")
        words = ("list", "--once", "-df", "", "-f", FORMAT, first, last)
        out = self.run("khal", *words)
        return sorted(tuple(row.strip("\n").split("\x1f")) for row in out.split("\x1e")[:-1])


@pytest.fixture
def subscriber(tmp_path, live_server):
    """Somebody subscribed to the ground crew, which has a whole day, a part day, and hard text."""
    CrewFactory(name="Ground crew", slug="ground")
    CalendarEventFactory(
        subject="crew:ground", uid="day", title="Maple Lane: strip, haul; sweep",
        place="12 Maple Lane, Asheville, NC", notes="Ground crew, 4 people\nWay in: left; latch sticks",
    )  # fmt: skip
    CalendarEventFactory(
        subject="crew:ground", uid="hours", title="חצר 🧱 pour", all_day=False,
        start=new_york(6, 11, 7), end=new_york(6, 11, 11),
    )  # fmt: skip
    link, token = make_link("crew:ground", now=wall_now())
    made = Subscriber(tmp_path, f"{live_server.url}/feed/{token}.ics")
    made.link = link
    return made


def test_it_lists_what_was_published(subscriber):
    """Titles, places, notes, days and hours as they were written."""
    assert subscriber.listed() == [
        ("False", "2026-06-11 07:00", "2026-06-11 11:00", "חצר 🧱 pour", "", ""),
        (
            "True",
            "2026-06-08 00:00",
            "2026-06-08 00:00",
            "Maple Lane: strip, haul; sweep",
            "12 Maple Lane, Asheville, NC",
            "Ground crew, 4 people\nWay in: left; latch sticks",
        ),
    ]


def test_it_follows_every_change(subscriber):
    """Moved, cancelled, turned off: after the next fetch nothing old is left."""
    subscriber.listed()
    now = datetime(2026, 6, 6, 18, tzinfo=UTC)
    moved = CalendarEvent.objects.get(uid="day")
    change(moved, now, start=new_york(6, 9), end=new_york(6, 11))
    moved.save()
    gone = CalendarEvent.objects.get(uid="hours")
    cancel(gone, now)
    gone.save()
    titles = [(row[1], row[2], row[3]) for row in subscriber.listed()]
    assert titles == [
        ("2026-06-11 07:00", "2026-06-11 11:00", "CANCELLED - חצר 🧱 pour"),
        ("2026-06-09 00:00", "2026-06-10 00:00", "Maple Lane: strip, haul; sweep"),
    ]


def test_a_link_turned_off_leaves_one_event_that_says_so(subscriber):
    """The crew's events are gone from the phone with the next fetch."""
    subscriber.listed()
    now = wall_now()
    revoke(subscriber.link, now)
    shown = subscriber.listed("2026-06-01", (now + timedelta(days=30)).date().isoformat())
    assert [row[3] for row in shown] == ["This calendar link was turned off"]
    assert subscriber.listed() == []
