"""Which support stands highest, as a decision under uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from . import _truebed
from ._length import Lengths
from ._points import Ids
from ._points import heights as read_heights
from ._result import Result, shown, told
from ._uncertainty import uncertainty


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Highest(Result):
    """Which support stands highest.

    >>> import truebed
    >>> found = truebed.highest([0, -0.05, -2], sigmas=[0.1, 0.1, 0.1])
    >>> found.highest, found.candidates, found.decided
    ([0], [0, 1], False)
    """

    highest: list[int]
    """The support or supports whose heights are the greatest: more than one is a tie."""
    probabilities: npt.NDArray[np.float64]
    """The probability of each support to be the highest, shape (n,)."""
    error: float
    """How far a probability may be off by the way that it is computed."""
    candidates: list[int]
    """The fewest supports that hold the highest one with the confidence asked for, most probable
    first."""
    decided: bool
    """Whether that is one support."""
    ids: Ids
    """Ids of the supports; None where they have none."""

    def __repr__(self) -> str:
        return (
            f"Highest(highest={shown(self.highest)}, candidates={shown(self.candidates)}, "
            f"decided={self.decided}{told(self.ids)})"
        )


def highest(
    heights: Lengths,
    *,
    sigmas: Lengths | None = None,
    covariance: npt.ArrayLike | None = None,
    confidence: float = 0.95,
) -> Highest:
    """Tells which of the heights, shape (n,), is the highest, from their ``sigmas``, shape (n,), or
    their ``covariance``, mm², shape (n, n), which may be singular; adjusted :class:`Heights` bring
    theirs.

    Raises :class:`InputError` for no heights, values that are not finite, neither or both of sigmas
    and covariance, negative ones, and a confidence that is not between 0 and 1.

    >>> import truebed
    >>> sigmas = {"A": 0.1, "B": 0.1}
    >>> found = truebed.highest({"A": 0, "B": -0.2}, sigmas=sigmas, confidence=0.9)
    >>> [found.ids[at] for at in found.candidates], found.probabilities.round(3).tolist()
    (['A'], [0.921, 0.079])
    """
    values, ids = read_heights(heights)
    if sigmas is None and covariance is None:
        covariance = getattr(heights, "covariance", None)
    known = uncertainty(len(values), ids, sigmas=sigmas, covariance=covariance)
    return _truebed.highest(values, *known, _truebed.plain("confidence", confidence), ids)
