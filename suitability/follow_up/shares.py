"""How large a share of boxes is in use, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.stats import binomtest


@dataclass(frozen=True)
class Share:
    """A share with its interval.

    Parameters
    ----------
    used, boxes : int
        How many of how many.
    low, high : float
        Ends of the Wilson interval; NaN where there are no boxes.
    """

    used: int
    boxes: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Boxes in use over all; NaN where there are none."""
        return self.used / self.boxes if self.boxes else math.nan


def share_of(used: int, boxes: int, confidence: float = 0.95) -> Share:
    """Return a share with its Wilson interval.

    Parameters
    ----------
    used, boxes : int
        How many of how many.
    confidence : float
        Of the interval, 0..1.

    Raises
    ------
    ValueError
        If more are used than there are.

    References
    ----------
    Wilson (1927), Journal of the American Statistical Association 22:209-212; it holds where a
    share is 0 or 1, as shares of a few boxes often are (Newcombe 1998, Statistics in Medicine
    17:857-872).
    """
    if boxes == 0 and used == 0:
        return Share(0, 0, math.nan, math.nan)
    found = binomtest(used, boxes).proportion_ci(confidence, method="wilson")
    return Share(used, boxes, float(found.low), float(found.high))
