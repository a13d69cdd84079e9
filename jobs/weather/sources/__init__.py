"""Where forecasts come from: one parser a file, one line a source in the table.

To add another: write its file beside ``nws.py`` with a ``Source`` in it, and name it here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from . import nws

if TYPE_CHECKING:
    from collections.abc import Mapping

    from .source import Source

SOURCES: Mapping[str, Source] = {source.key: source for source in (nws.SOURCE,)}
USUAL = nws.SOURCE.key
