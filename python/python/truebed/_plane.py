"""Reference planes: z = offset + slope_x · x + slope_y · y; and what a frame stands on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._length import Lengths, Positions
from ._points import Ids, Points, matched, points
from ._result import Result, shown
from ._uncertainty import uncertainty

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Plane(Result):
    """A reference plane and how the points lie about it.

    >>> import truebed
    >>> corners = {"A": (0, 0), "B": (1000, 0), "C": (1000, 500), "D": (0, 500)}
    >>> plane = truebed.fit_plane(corners, {"A": 0, "B": 1, "C": 1.2, "D": 0.4})
    >>> round(plane.slope_x, 6), round(plane.flatness_mm, 6)
    (0.0009, 0.1)
    >>> dict(zip(plane.ids, plane.deviations_mm.round(6).tolist()))
    {'A': -0.05, 'B': 0.05, 'C': -0.05, 'D': 0.05}
    """

    slope_x: float
    """Rise per length along x, dimensionless."""
    slope_y: float
    """Rise per length along y, dimensionless."""
    offset_mm: float
    """Height of the plane at x = y = 0, mm."""
    deviations_mm: npt.NDArray[np.float64]
    """Deviation of each point, upwards positive, mm, shape (n,): its height above the plane or, for
    the kinds along the normal, its distance. It keeps digits that a far offset cannot."""
    flatness_mm: float
    """Peak-to-valley of the deviations (ISO 12781-1 FLTt), mm."""
    rms_mm: float
    """Root mean square of the deviations (ISO 12781-1 FLTq), mm."""
    above_mm: float
    """Largest deviation above the plane (ISO 12781-1 FLTp), mm, 0 or more."""
    below_mm: float
    """Largest deviation below the plane (ISO 12781-1 FLTv), mm, 0 or more."""
    ids: Ids
    """Ids of the points; None where they have none."""

    def to_frame(self) -> pandas.DataFrame:
        """A pandas DataFrame with the deviation of each point, by its id if it has one. Needs
        pandas.

        >>> import truebed
        >>> corners = {"A": (0, 0), "B": (1000, 0), "C": (1000, 500), "D": (0, 500)}
        >>> truebed.fit_plane(corners, [0, 1, 1.2, 0.4]).to_frame().round(3)
               deviation_mm
        point
        A             -0.05
        B              0.05
        C             -0.05
        D              0.05
        """
        import pandas

        deviations = {"deviation_mm": self.deviations_mm}
        return pandas.DataFrame(deviations, index=self.ids).rename_axis("point")

    def __repr__(self) -> str:
        return (
            f"Plane(slope_x={self.slope_x!r}, slope_y={self.slope_y!r}, "
            f"offset_mm={self.offset_mm!r}, flatness_mm={self.flatness_mm!r}, "
            f"rms_mm={self.rms_mm!r}; {len(self.deviations_mm)} points)"
        )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Planes(Result):
    """Planes of many tables; every array has one value a table, the deviations one a point.

    >>> import truebed
    >>> planes = truebed.fit_planes([[0, 0], [1000, 0], [0, 500]], [[0, 1, 2], [0, 3, 4]])
    >>> planes
    Planes(2 tables of 3 points)
    >>> planes.slope_x.round(6).tolist()
    [0.001, 0.003]
    """

    slope_x: npt.NDArray[np.float64]
    """Rise per length along x, shape (tables,)."""
    slope_y: npt.NDArray[np.float64]
    """Rise per length along y, shape (tables,)."""
    offset_mm: npt.NDArray[np.float64]
    """Height of the plane at x = y = 0, mm, shape (tables,)."""
    deviations_mm: npt.NDArray[np.float64]
    """Deviations, mm, shape (tables, points)."""
    flatness_mm: npt.NDArray[np.float64]
    """Peak-to-valley, mm, shape (tables,)."""
    rms_mm: npt.NDArray[np.float64]
    """Root mean square of the deviations, mm, shape (tables,)."""
    above_mm: npt.NDArray[np.float64]
    """Largest deviation above the plane, mm, shape (tables,)."""
    below_mm: npt.NDArray[np.float64]
    """Largest deviation below the plane, mm, shape (tables,)."""

    def __repr__(self) -> str:
        tables, points = self.deviations_mm.shape
        return f"Planes({tables} tables of {points} points)"


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LeastSquares(Result):
    """A least-squares plane and how well it is known.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> fit = truebed.least_squares(xy, z, sigmas=[0.1] * 4)
    >>> fit.dof, (fit.covariance.diagonal() ** 0.5).round(6).tolist()
    (1, [0.086603, 0.0001, 0.0002])
    """

    plane: Plane
    """The plane."""
    covariance: npt.NDArray[np.float64]
    """Covariance of offset (mm), slope along x and slope along y, shape (3, 3): from given sigmas or
    covariance, a priori; else from the residuals, and NaN where there are none."""
    residual_sd: float
    """√(Σ w r² / dof), mm; with sigmas or a covariance √(rᵀ C⁻¹ r / dof), near 1 where the residuals
    are what these let expect. NaN where dof is 0."""
    dof: int
    """Degrees of freedom: points less three."""

    def __repr__(self) -> str:
        return f"LeastSquares({self.plane!r}, residual_sd={self.residual_sd!r}, dof={self.dof})"


@dataclass(frozen=True, slots=True, eq=False)
class Contact(Result):
    """A point that holds a zone.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> contact = truebed.minimum_zone(xy, [0, 1, 1, 1]).contacts[0]
    >>> contact.point, contact.above, contact.share
    (0, False, 0.25)
    """

    point: int
    """Index of the point."""
    above: bool
    """On the upper plane; else on the lower one."""
    share: float
    """What it bears: those of either plane add up to ½."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class MinimumZone(Result):
    """The two parallel planes closest together that hold all points between them.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> zone = truebed.minimum_zone(xy, z)
    >>> isinstance(zone, truebed.MinimumZone), round(zone.plane.flatness_mm, 9), zone.proven
    (True, 0.0, True)
    """

    plane: Plane
    """The plane half way between; its flatness is the width of the zone."""
    contacts: list[Contact]
    """The points that hold it. With σ = +1 above and −1 below and the shares λ, Σ λ σ = Σ λ σ x =
    Σ λ σ y = 0, so no plane has less than 2 Σ λ σ z between its highest and lowest deviation."""
    bound_mm: float
    """No zone is narrower than this, mm."""
    proven: bool
    """Whether width and bound are the same but for rounding, in the normal direction for all
    directions of space."""

    def __repr__(self) -> str:
        return (
            f"MinimumZone({self.plane!r}, contacts={shown(self.contacts)}, "
            f"bound_mm={self.bound_mm!r}, proven={self.proven})"
        )


@dataclass(frozen=True, slots=True, eq=False)
class Rock(Result):
    """A frame pushed over an edge of what it stands on, until it touches the next support.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> rocks = truebed.resting(xy, [0, 0, 0, -2], centre=(510, 245)).rocks
    >>> [(rock.edge, rock.onto) for rock in rocks]
    [([0, 1], None), ([1, 2], None), ([2, 0], 3)]
    """

    edge: list[int]
    """The two supports that it turns about."""
    onto: int | None
    """The support that it comes down on; None where it would fall."""
    drop_mm: float
    """How far it comes down there, mm; NaN where it falls."""
    rise_mm: float
    """How far it rises off the support that it leaves by most, mm; NaN where it falls."""
    margin_mm: float
    """Distance in plan from the centre of mass to the edge, mm."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Resting(Result):
    """How a rigid frame stands.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> stance = truebed.resting(xy, [0, 0, 0, -2], centre=(510, 245))
    >>> stance.supports, stance.floats_mm.tolist()
    ([0, 1, 2], [0.0, 0.0, 0.0, 2.0])
    """

    plane: Plane
    """The plane of its underside; deviations are zero where it stands and negative where it
    floats."""
    supports: list[int]
    """The three supports whose triangle holds the centre of mass, ascending."""
    shares: list[float]
    """What each of the three bears of the weight."""
    touching: list[int]
    """All supports that the frame touches."""
    floats_mm: npt.NDArray[np.float64]
    """How far the frame floats above each support, mm, shape (n,)."""
    margin_mm: float
    """Distance in plan from the centre of mass to the nearest edge of the stance, mm."""
    stable: bool
    """Whether the centre of mass lies within the stance, not on an edge of it."""
    rocks: list[Rock]
    """What happens when it is pushed over each edge, anticlockwise."""

    def __repr__(self) -> str:
        return (
            f"Resting(supports={self.supports}, touching={shown(self.touching)}, "
            f"margin_mm={self.margin_mm!r}, stable={self.stable})"
        )


def fit_plane(
    xy: Positions,
    z: Lengths,
    kind: str = "least-squares",
    weights: npt.ArrayLike | None = None,
) -> Plane:
    """Fits a plane to heights ``z``, shape (n,), at plan positions ``xy``, shape (n, 2).

    ``kind`` is ``"least-squares"`` of the vertical residuals, ``"orthogonal"`` (of the distances
    along the normal, ISO 12781-1 LSPL), ``"minimum-zone"`` (vertical), ``"minimum-zone-normal"``
    (ISO 12781-1 MZPL) or ``"resting"`` (a rigid frame with its centre of mass over the mean of the
    points). ``weights``, shape (n,), are inverse variances up to a common factor, for the two kinds
    of least squares. Where ``xy`` maps ids to positions, ``z`` and ``weights`` may be by id too.

    Raises :class:`InputError` for another kind, sizes that differ, values that are not finite,
    weights that are not above zero or not taken, fewer than three points, points on one line, and
    for the kinds along the normal a plane that is upright or as thin in two directions;
    :class:`InputTypeError` for what is no array of lengths.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> plane = truebed.fit_plane(xy, z, "minimum-zone")
    >>> round(plane.slope_x, 6), round(plane.slope_y, 6)
    (0.001, 0.0004)
    """
    at = _points(xy, z)
    if weights is not None:
        weights = _array.numbers("weights", matched("weights", weights, at.ids), len(at.xy))
    return _truebed.fit_plane(at.xy, at.heights, kind, weights, at.ids)


def fit_planes(
    xy: Positions | npt.ArrayLike,
    z: npt.ArrayLike,
    kind: str = "least-squares",
    *,
    threads: int | None = None,
) -> Planes:
    """Fits a plane to each of many tables, on all cores or on so many ``threads``: ``z`` has shape (tables, points), ``xy``
    the positions of one table that all share, shape (points, 2), or (tables, points, 2). Each is
    that of :func:`fit_plane`.

    Raises what :func:`fit_plane` does, with the table: ``tables[7].z[2]``.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> truebed.fit_planes(xy, [z, [0, 1, 1.4, 0.2]], "minimum-zone").flatness_mm.round(6).tolist()
    [0.0, 0.1]
    """
    return _truebed.fit_planes(*_array.tables(xy, z), kind, threads)


def least_squares(
    xy: Positions,
    z: Lengths,
    *,
    weights: npt.ArrayLike | None = None,
    sigmas: Lengths | None = None,
    covariance: npt.ArrayLike | None = None,
) -> LeastSquares:
    """Fits a plane by least squares of the vertical residuals, with its uncertainty.

    At most one of ``weights`` (inverse variances up to a common factor, shape (n,)), ``sigmas``
    (standard uncertainties, shape (n,)) and ``covariance`` (mm², shape (n, n), positive definite).

    Raises what :func:`fit_plane` does, and :class:`InputError` for more than one of these and for a
    covariance that is none.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> round(truebed.least_squares(xy, [0, 1, 1.2, 0.4], weights=[1, 1, 1, 4]).residual_sd, 6)
    0.11094
    """
    at = _points(xy, z)
    known = uncertainty(len(at.xy), at.ids, weights=weights, sigmas=sigmas, covariance=covariance)
    return _truebed.least_squares(at.xy, at.heights, *known, at.ids)


def minimum_zone(xy: Positions, z: Lengths, direction: str = "vertical") -> MinimumZone:
    """Finds the two parallel planes closest together, ``"vertical"`` or along their ``"normal"``,
    that hold all points, with the contacts that prove it.

    Raises what :func:`fit_plane` does.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> zone = truebed.minimum_zone(xy, [0, 1, 1.4, 0.2], direction="normal")
    >>> round(zone.bound_mm, 6), sorted(contact.point for contact in zone.contacts)
    (0.1, [0, 1, 2, 3])
    """
    at = _points(xy, z)
    return _truebed.minimum_zone(at.xy, at.heights, direction, at.ids)


def resting(xy: Positions, z: Lengths, centre: Lengths | None = None) -> Resting:
    """Finds how a rigid frame with a plane underside stands on supports. ``centre`` is the plan
    position of its centre of mass; the default is the mean of the supports.

    Raises what :func:`fit_plane` does, and :class:`InputError` for a centre outside the supports.

    >>> import truebed
    >>> xy, z = [[0, 0], [1000, 0], [1000, 500], [0, 500]], [0, 1, 1.2, 0.2]
    >>> stance = truebed.resting(xy, [0, 0, 0, -2], centre=(510, 245))
    >>> stance.stable, round(stance.margin_mm, 3)
    (True, 8.944)
    """
    at = _points(xy, z)
    place = None if centre is None else _array.place("centre", centre)
    return _truebed.resting(at.xy, at.heights, place, at.ids)


def _points(xy: Positions, z: Lengths) -> Points:
    return points(xy, z, "z")
