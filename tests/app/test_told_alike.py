"""Whatever happens, all places tell the same: pages, phones, calendars, mails and owners, as the published plan has it.

Tales are drawn by lot, some across a change of clocks or years. After each step every place is read as it is
served; what is past stands, and a finish that moved is accounted for to the day. ``TALES=40 TALE_STEPS=8`` for the long run.
"""

from __future__ import annotations

import os

import pytest

from tests.agreeing import Truth, same
from tests.agreeing_job import check_job
from tests.agreeing_office import check_office
from tests.agreeing_outside import check_outside, check_working
from tests.agreeing_promises import check_printed, check_promises
from tests.page_tree import Reading
from tests.tales import Tale
from tests.told_outside import feed

pytestmark = pytest.mark.django_db
TALES = int(os.environ.get("TALES", "2"))
STEPS = int(os.environ.get("TALE_STEPS", "4"))
"""Steps of a tale: something happens, then something is decided, in turn."""
SEASONS = (0, 18, 26, 38)
"""Weeks after the middle of June: there, before the clocks go back, before the year's end, before they go forward."""


AGAIN = "planned again"
PUBLISHED = {"accepted", AGAIN, "undone"}


@pytest.mark.parametrize("seed", range(TALES))
def test_all_places_tell_the_same(seed, settings):
    """After each thing that happens, and after each decision."""
    tale, past = Tale(seed, SEASONS[seed % len(SEASONS)], settings), {}
    for n in range(STEPS):
        (tale.happen, tale.decide)[n % 2]()
        settings.TODAY = tale.now.isoformat()
        try:
            past = check_all(tale, past)
        except AssertionError as wrong:
            wrong.add_note(f"{tale.now}: {', '.join(tale.said)}")
            raise


def check_all(tale, past):
    """Hold every place against the published plan, and the past against what it was; return the past."""
    truth, office = Truth(tale.now), Reading(tale.office)
    check_promises(truth, office)
    check_office(truth, office)
    for job in truth.jobs:
        check_job(truth, office, job)
    check_outside(truth, office, tale)
    if tale.said[-1] in PUBLISHED:
        check_working(truth)
    if tale.said[-1] == AGAIN:
        check_printed(truth, tale.printed)
    events = feed(tale.feeds["all"])
    same("the past", [(uid, events.get(uid)) for uid in past], past.items())
    return {uid: told for uid, told in events.items() if _day(told[1]) < truth.today}


def _day(moment):
    """The day of a day, or of a moment."""
    return moment.date() if hasattr(moment, "date") else moment
