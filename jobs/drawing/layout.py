"""Measures of the sequence sheet, in units of a picture WIDTH wide."""

from __future__ import annotations

WIDTH = 1400
LEFT = 268
MARGIN = 16
HEAD = 84
ROW, BLOCK = 27, 15
GROUP = 30
FOOT = 92
TITLE, SMALL = 13, 11
KEEL_DROP = 4
LEAST_BLOCK = 3
