"""What the residual tilt of a bed does to a slowly rolling ball."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from . import _array, _truebed
from ._length import Lengths, Positions
from ._points import points
from ._result import Result


@dataclass(frozen=True, slots=True, eq=False)
class Roll(Result):
    """How a ball rolled.

    >>> import truebed
    >>> bed = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    >>> roll = truebed.roll(bed, [0, 0, 0.5, 0.5], (0, 500), (0.5, 0))
    >>> round(roll.drift_mm, 1), roll.speed
    (-22.8, 0.0)
    """

    start_mm: list[float]
    """Where it started, x and y, mm."""
    end_mm: list[float]
    """Where it came to rest or left the bed, mm."""
    drift_mm: float
    """How far to the left of the line on which it was sent it ended, mm; less than zero to the
    right."""
    along_mm: float
    """How far along that line it got, mm."""
    time_s: float
    """How long it took, s."""
    speed: float
    """How fast it left the bed, m/s; 0 where it came to rest."""


@dataclass(frozen=True, slots=True, eq=False)
class BallRolls(Result):
    """Four balls that would just come to rest at the far end of a level bed, and what the bed does
    to them.

    >>> import truebed
    >>> bed = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    >>> balls = truebed.roll_balls(bed, [0, 0, 0.5, 0.5])
    >>> balls.stays, round(balls.steepest, 6), round(balls.across[0].along_mm, 1)
    (True, 0.0005, 965.5)
    """

    along: list[Roll]
    """Along the middle of the bed, towards greater x and towards less."""
    across: list[Roll]
    """Across the middle of the bed, towards greater y and towards less."""
    steepest: float
    """The steepest slope at a point of the bed, as a ratio."""
    stays: bool
    """Whether a ball at rest stays where it is, at every point."""


def roll(
    xy: Positions,
    heights: Lengths,
    start: Lengths,
    velocity: Sequence[float],
    *,
    resistance: float = 0.01,
) -> Roll:
    """Rolls a ball over the smooth surface (the thin-plate spline) through points at ``xy``, shape
    (n, 2), with ``heights``, shape (n,), from ``start`` (x, y) with ``velocity`` (x, y) in m/s,
    until it comes to rest or leaves the rectangle of the points.

    ``resistance`` is the rolling resistance: the deceleration of the ball on a level bed over g (on
    cloth about 0.01, from 0.005 to 0.015). At rest the ball stays where the slope is at most 7/5 of it.

    Raises :class:`InputError` for fewer than three points or all on a line, more than 500, a start
    that is not on the bed, no velocity, a resistance that is not from 0 to 1.

    >>> import truebed
    >>> bed = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    >>> roll = truebed.roll(bed, [0, 0, 0, 0], (0, 500), (0.5, 0))
    >>> round(roll.along_mm, 1)
    1274.6
    """
    places, z, *_ = points(xy, heights)
    speeds = _array.numbers("velocity", velocity, 2)
    ball = (_array.place("start", start), list(map(float, speeds)))
    return _truebed.roll(places, z, *ball, _truebed.plain("resistance", resistance))


def roll_balls(xy: Positions, heights: Lengths, *, resistance: float = 0.01) -> BallRolls:
    """What a bed does to slow balls: each is sent along or across the middle of the rectangle of the
    points at the speed at which it would just come to rest at the far end of a level bed.

    The arguments and errors are those of :func:`roll`.

    >>> import truebed
    >>> bed = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    >>> round(truebed.roll_balls(bed, [0, 0, 0.5, 0.5]).along[0].drift_mm, 1)
    -35.7
    """
    places, z, *_ = points(xy, heights)
    return _truebed.roll_balls(places, z, _truebed.plain("resistance", resistance))


Play = BallRolls
"""The older name of :class:`BallRolls`."""
play = roll_balls
"""The older name of :func:`roll_balls`."""
