"""How even a floor is: slopes, straightedges, and the classes of standards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy.typing as npt

from . import _array, _truebed
from ._array import listed
from ._error import VALUE, InputError
from ._length import Length, Lengths, Positions
from ._points import covariance_of, points
from ._result import Result, in_words, shown
from ._verdict import Rule

What: TypeAlias = Literal["gap", "FF", "FL", "line FF", "line FL"]
"""What a finding is about: a gap, mm, or an F-number of the whole floor or of a line."""


@dataclass(frozen=True, slots=True, eq=False)
class LocalSlope(Result):
    """The slope from a point to the next on its line.

    >>> import truebed
    >>> truebed.local_slopes([[0, 0], [500, 0]], [0, 1]).along[0]
    LocalSlope(points=[0, 1], slope=0.002)
    """

    points: list[int]
    """The two points; the second lies further along x (y, across)."""
    slope: float
    """Rise per length, dimensionless."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LocalSlopes(Result):
    """Slopes from point to point.

    >>> import truebed
    >>> slopes = truebed.local_slopes([[0, 0], [500, 0], [0, 500]], [0, 1, 2])
    >>> isinstance(slopes, truebed.LocalSlopes), len(slopes.along), len(slopes.across)
    (True, 1, 1)
    """

    along: list[LocalSlope]
    """Along x, line by line."""
    across: list[LocalSlope]
    """Along y, line by line."""

    def __repr__(self) -> str:
        return f"LocalSlopes(along={shown(self.along)}, across={shown(self.across)})"


@dataclass(frozen=True, slots=True, eq=False)
class Gap(Result):
    """The largest gap under a straightedge.

    >>> import truebed
    >>> truebed.straightedge([[0, 0], [500, 0], [1000, 0]], [0, -1, 0], "2 m")
    Gap(gap_mm=1.0, at=1, rests_on=[0, 2], distance_mm=1000.0)
    """

    gap_mm: float
    """What is missing to the edge, mm."""
    at: int
    """The point at which it is missing."""
    rests_on: list[int]
    """The two points that the edge rests on."""
    distance_mm: float
    """Their distance along the line, mm."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class FloorFinding(Result):
    """One thing that a floor class asks, and what the floor has.

    >>> import truebed
    >>> xy, z = [[x, 0] for x in range(0, 3600, 300)], [0, 1] * 6
    >>> finding = truebed.check_floor(xy, z, "DIN 18202 row 3")[0]
    >>> finding.what, finding.met
    ('gap', True)
    """

    what: What
    """A gap, mm, or an F-number."""
    found: float
    """What was found; NaN where the survey cannot show it."""
    limit: float
    """What is allowed: at most, for a gap; at least, for an F-number."""
    met: bool | None
    """Whether the limit is met; None where the survey cannot show it."""
    points: list[int]
    """The points that it was found at; none for the whole floor."""

    def __repr__(self) -> str:
        return (
            f"FloorFinding(what={self.what!r}, found={self.found!r}, limit={self.limit!r}, "
            f"verdict={in_words(self.met)!r}, points={shown(self.points)})"
        )


@dataclass(frozen=True, slots=True, eq=False)
class FloorNumbers(Result):
    """The F-numbers of ASTM E1155; NaN where the lines are too short.

    >>> import truebed
    >>> truebed.floor_numbers([[0, 1]])
    FloorNumbers(flatness=nan, levelness=nan)
    """

    flatness: float
    """FF, of the curvature from point to point."""
    levelness: float
    """FL, of the difference of height over ten steps."""


def local_slopes(xy: Positions, z: Lengths, line_width: Length = 10) -> LocalSlopes:
    """The slope from each point to the next on its lengthwise and on its crosswise line. Points are
    on one line whose y (x) lie within ``line_width`` of the least.

    Points are named by their indices. Raises :class:`InputError` for sizes that differ,
    values that are not finite, a negative width.

    >>> import truebed
    >>> truebed.local_slopes([[0, 0], [500, 0], [0, 500]], [0, 1, 2]).across
    [LocalSlope(points=[0, 2], slope=0.004)]
    """
    places, z, *_ = points(xy, z, "z")
    return _truebed.local_slopes(places, z, line_width)


def straightedge(
    xy: Positions, z: Lengths, length: Length, line_width: Length = 10
) -> Gap | None:
    """The largest gap under a straightedge of ``length`` laid anywhere on the lengthwise and
    crosswise lines of a survey; None where it nowhere covers three points.

    Raises what :func:`local_slopes` does, and for a length that is not above zero.

    >>> import truebed
    >>> xy, z = [[x, 0] for x in range(0, 3600, 300)], [0, 1] * 6
    >>> truebed.straightedge(xy, z, length="10 ft").gap_mm
    1.0
    """
    places, z, *_ = points(xy, z, "z")
    return _truebed.straightedge(places, z, None, length, line_width)


def straightedge_between(
    xy: Positions,
    z: Lengths,
    start: Lengths,
    end: Lengths,
    length: Length,
    line_width: Length = 10,
) -> Gap | None:
    """The same on the line from one place to another, in any direction: of the points within half
    of ``line_width`` to either side of it.

    Raises what :func:`straightedge` does, and for two places that are one.

    >>> import truebed
    >>> xy = [[0, 0], [500, 500], [1000, 1000]]
    >>> truebed.straightedge_between(xy, [0, -1, 0], (0, 0), ("1 m", "1 m"), "2 m").at
    1
    """
    places, z, *_ = points(xy, z, "z")
    ends = [_array.place("start", start), _array.place("end", end)]
    return _truebed.straightedge(places, z, ends, length, line_width)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class FloorVerdict(Result):
    """Whether a floor is as even as a class asks, and how sure that is.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [2000, 0]], [0, -4, 0]
    >>> sure = [[0.04, 0, 0], [0, 0.04, 0], [0, 0, 0.04]]
    >>> truebed.assess_floor(xy, z, "BS 8204 SR2", covariance=sure).met
    True
    """

    met: bool | None
    """The verdict; None where the readings do not tell at the risk asked for."""
    probability: float
    """The probability that the floor meets all that is asked, by simulation."""
    probability_error: float
    """Its standard error; the draws are the same on every run."""
    meets_class: bool
    """Whether the heights as they are given meet every requirement that the survey can show."""
    findings: list[FloorFinding]
    """The findings for the heights as they are given."""

    def __repr__(self) -> str:
        return (
            f"FloorVerdict(verdict={in_words(self.met)!r}, probability={self.probability!r}, "
            f"findings={shown(self.findings)})"
        )


def assess_floor(
    xy: Positions,
    z: Lengths,
    floor_class: str,
    *,
    covariance: npt.ArrayLike | None = None,
    line_width: Length = 10,
    rule: Rule | None = None,
    risk: float | None = None,
) -> FloorVerdict:
    """Holds a survey of a floor against a class of evenness, as :func:`check_floor` does, by the
    ``covariance`` of its heights, mm², shape (n, n), which adjusted :class:`Heights` bring with them.
    ``rule`` and ``risk`` are those of :func:`check`.

    Raises what :func:`check_floor` does, and :class:`InputError` for a covariance that is none or
    not given.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [2000, 0]], [0, -4, 0]
    >>> loose = [[1, 0, 0], [0, 1, 0], [0, 0, 1]]
    >>> verdict = truebed.assess_floor(xy, z, "BS 8204 SR2", covariance=loose)
    >>> print(verdict.met, round(verdict.probability, 1))
    None 0.8
    """
    at = points(xy, z, "z")
    known = covariance_of(at, z, covariance)
    if known is None:
        expected = "the covariance of the heights, shape (n, n)"
        raise InputError(VALUE, [("covariance", "None", expected)])
    return _truebed.assess_floor(at.xy, at.heights, known, floor_class, line_width, rule, risk)


def check_floor(
    xy: Positions, z: Lengths, floor_class: str, line_width: Length = 10
) -> list[FloorFinding]:
    """Holds a survey of a floor against a class of evenness, line by line: ``"DIN 18202 row 1"`` to
    ``"row 4"``, ``"BS 8204 SR1"`` to ``"SR3"``, ``"ACI 117 conventional"``, ``"moderately flat"``,
    ``"flat"``, ``"very flat"`` or ``"superflat"`` (each with its standard in front). What lies
    between the points is not known.

    Raises what :func:`local_slopes` does, for another class, for a survey of which no line has three
    points, and for ACI 117 where points are not 12 in or 300 mm apart.

    >>> import truebed
    >>> xy, z = [[x, 0] for x in range(0, 3600, 300)], [0, 1] * 6
    >>> [finding.met for finding in truebed.check_floor(xy, z, "BS 8204 SR1")]
    [True]
    """
    places, z, *_ = points(xy, z, "z")
    return _truebed.check_floor(places, z, floor_class, line_width)


def floor_numbers(lines: Sequence[Lengths]) -> FloorNumbers:
    """The F-numbers of ASTM E1155 of lines of heights, each of points 12 in (or 300 mm) apart.

    >>> import truebed
    >>> numbers = truebed.floor_numbers([[0, 1, 1, 2] * 4])
    >>> round(numbers.flatness, 2), round(numbers.levelness, 2)
    (17.72, 92.52)
    """
    given = enumerate(listed("lines", lines, "a list of lines"))
    heights = [_array.lengths(f"lines[{at}]", line, None) for at, line in given]
    return _truebed.floor_numbers(heights)
