"""States of the union and the time zones of their yards, as one chooses them on a page."""

from __future__ import annotations

STATES = tuple(
    (line[:2], line[3:])
    for line in """AL Alabama
AK Alaska
AZ Arizona
AR Arkansas
CA California
CO Colorado
CT Connecticut
DE Delaware
DC District of Columbia
FL Florida
GA Georgia
HI Hawaii
ID Idaho
IL Illinois
IN Indiana
IA Iowa
KS Kansas
KY Kentucky
LA Louisiana
ME Maine
MD Maryland
MA Massachusetts
MI Michigan
MN Minnesota
MS Mississippi
MO Missouri
MT Montana
NE Nebraska
NV Nevada
NH New Hampshire
NJ New Jersey
NM New Mexico
NY New York
NC North Carolina
ND North Dakota
OH Ohio
OK Oklahoma
OR Oregon
PA Pennsylvania
RI Rhode Island
SC South Carolina
SD South Dakota
TN Tennessee
TX Texas
UT Utah
VT Vermont
VA Virginia
WA Washington
WV West Virginia
WI Wisconsin
WY Wyoming""".splitlines()
)
"""Two letters and the name."""
CHOICES = (("", "choose one"), *STATES)
"""Nobody lives in the first state of a list: one must be chosen."""
CODES = frozenset(code for code, _ in STATES)

ZONES = (
    ("America/New_York", "Eastern"),
    ("America/Chicago", "Central"),
    ("America/Denver", "Mountain"),
    ("America/Phoenix", "Arizona, no summer time"),
    ("America/Los_Angeles", "Pacific"),
    ("America/Anchorage", "Alaska"),
    ("Pacific/Honolulu", "Hawaii"),
)
"""Time zones by their name and as people say them."""


def zones_with(zone: str) -> tuple[tuple[str, str], ...]:
    """Return the zones to choose from, with the one that is set even if it is none of them."""
    known = {name for name, _ in ZONES}
    return ZONES if not zone or zone in known else (*ZONES, (zone, zone))
