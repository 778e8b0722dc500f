"""Which support stands highest, as a decision under uncertainty."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from . import _truebed, array
from .length import Lengths
from .result import Result, shown
from .uncertainty import uncertainty


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Highest(Result):
    """Which support stands highest."""

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

    def __repr__(self) -> str:
        return (
            f"Highest(highest={shown(self.highest)}, candidates={shown(self.candidates)}, "
            f"decided={self.decided})"
        )


def highest(
    heights: Lengths,
    *,
    sigmas: Lengths | None = None,
    covariance: npt.ArrayLike | None = None,
    confidence: float = 0.95,
) -> Highest:
    """Tells which of the heights, shape (n,), is the highest, from their ``sigmas``, shape (n,), or
    their ``covariance``, mm², shape (n, n), which may be singular.

    Raises :class:`InputError` for no heights, values that are not finite, neither or both of sigmas
    and covariance, negative ones, and a confidence that is not between 0 and 1.
    """
    heights = array.lengths("heights", heights, None)
    known = uncertainty(len(heights), sigmas=sigmas, covariance=covariance)
    return Highest(*_truebed.highest(heights, *known, confidence))
