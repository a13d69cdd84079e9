"""A figure between its least and its high, by luck."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Figures = NDArray[np.float32]


def triangle(luck: Figures, least: float, usual: float, high: float) -> Figures:
    """Return figures between least and high, most often near the usual, from luck of 0 to 1."""
    if high <= least:
        return np.full_like(luck, usual)
    peak = (usual - least) / (high - least)
    low = least + np.sqrt(luck * (high - least) * (usual - least))
    up = high - np.sqrt((1 - luck) * (high - least) * (high - usual))
    out: Figures = np.where(luck < peak, low, up).astype(np.float32)
    return out
