"""Reference planes: z = offset + slope_x · x + slope_y · y."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from . import _truebed, array
from .length import Lengths, Positions
from .result import Result


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Plane(Result):
    """A reference plane and how the points lie about it."""

    slope_x: float
    """Rise per length along x, dimensionless."""
    slope_y: float
    """Rise per length along y, dimensionless."""
    offset_mm: float
    """Height of the plane at x = y = 0, mm."""
    deviations_mm: npt.NDArray[np.float64]
    """Height of each point above the plane, mm, shape (n,)."""
    flatness_mm: float
    """Peak-to-valley of the deviations (ISO 12781-1 FLTt), mm."""
    rms_mm: float
    """Root mean square of the deviations (ISO 12781-1 FLTq), mm."""

    def __repr__(self) -> str:
        return (
            f"Plane(slope_x={self.slope_x!r}, slope_y={self.slope_y!r}, "
            f"offset_mm={self.offset_mm!r}, flatness_mm={self.flatness_mm!r}, "
            f"rms_mm={self.rms_mm!r}; {len(self.deviations_mm)} points)"
        )


def fit_plane(
    xy: Positions,
    z: Lengths,
    kind: str = "least-squares",
    weights: npt.ArrayLike | None = None,
) -> Plane:
    """Fits a plane to heights ``z``, shape (n,), at plan positions ``xy``, shape (n, 2).

    ``kind`` is ``"least-squares"``: least squares of the vertical residuals. ``weights``, shape
    (n,), are inverse variances up to a common factor.

    Raises :class:`InputError` for another kind, sizes that differ, values that are not finite,
    weights that are not above zero, fewer than three points, and points on one line;
    :class:`InputTypeError` for what is no array of lengths.
    """
    xy = array.positions(xy)
    count = len(xy)
    z = array.lengths("z", z, count)
    weights = None if weights is None else array.numbers("weights", weights, count)
    return Plane(*_truebed.fit_plane(xy, z, kind, weights))
