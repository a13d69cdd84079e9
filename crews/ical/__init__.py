"""Calendars as phones read them: rows in, octets out. Nobody else imports icalendar."""

from .body import COLOURS, EventRow, feed_body

__all__ = ["COLOURS", "EventRow", "feed_body"]
