"""Drafts of calendar events: made fit for calendars, or refused before anything is published."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from crews.services.drafts import Run
from crews.services.events import Published
from tests.calendars import NEW_YORK, new_york
from tests.drafts import SATURDAY, days, draft, hours, publish, rows, stored

pytestmark = pytest.mark.django_db


class TestDrafts:
    """What may not be published."""

    def test_texts_are_made_fit_for_calendars(self):
        """One line of at most 200 characters; notes without control characters."""
        told = draft(days(8, 9), title=" Grade\n the yard " + "x" * 300, notes="a\r\nb\x07 ")
        assert (len(told.title), told.title[:14], told.notes) == (200, "Grade the yard", "a\nb")

    @pytest.mark.parametrize(
        ("wrong", "reason"),
        [
            ({"subject": ""}, "needs a subject, an activity and a title"),
            ({"activity": ""}, "needs a subject, an activity and a title"),
            ({"title": "\n"}, "needs a subject, an activity and a title"),
            ({"kind": "party"}, "unknown kind 'party'"),
            ({"zone": "America/Nowhere"}, "'America/Nowhere' is no time zone"),
            ({"zone": "../etc"}, "'../etc' is no time zone"),
        ],
    )
    def test_a_draft_that_no_phone_could_show_is_refused(self, wrong, reason):
        """With what is wrong about it."""
        with pytest.raises(ValueError, match=reason):
            draft(days(8, 9), **wrong)

    def test_a_run_needs_zones_and_a_length(self):
        """Instants without a zone are nobody's time; an end is after its start."""
        with pytest.raises(ValueError, match="lacks a time zone"):
            Run(datetime(2026, 6, 8), new_york(6, 9), all_day=True)  # noqa: DTZ001 (the claim)
        with pytest.raises(ValueError, match="not after its start"):
            days(9, 9)

    @pytest.mark.parametrize("year", [1, 1989, 2101, 9998])
    def test_a_date_out_of_every_calendar_is_refused(self, year):
        """A slip of the pen must not reach a phone, which may drop the whole feed for it."""
        start = datetime(year, 6, 8, 7, tzinfo=NEW_YORK)
        with pytest.raises(ValueError, match="out of every calendar"):
            Run(start, start + timedelta(hours=4), all_day=False)

    def test_one_refused_draft_publishes_nothing(self):
        """All of a job or none of it: what phones show stays."""
        publish(draft(days(8, 9)))
        before = stored()
        with pytest.raises(ValueError, match="among those of job"):
            publish(draft(days(9, 10)), draft(days(9, 10), job="finch"), now=SATURDAY)
        assert stored() == before

    def test_the_same_instant_in_another_zone_is_no_change(self):
        """Instants are compared, not how they are told."""
        publish(draft(hours(8, 7, 11)))
        start, end = (m.astimezone(UTC) for m in (new_york(6, 8, 7), new_york(6, 8, 11)))
        assert publish(draft(Run(start, end, all_day=False)), now=SATURDAY) == Published("maple")
        assert rows()[0].start.astimezone(NEW_YORK).hour == 7
