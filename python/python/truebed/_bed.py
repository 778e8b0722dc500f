"""Slates as elastic plates on supports that push."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._truebed import Budget, Limits, Load, Slab
from ._length import Length, Lengths, Positions
from ._plan import Status
from ._points import Ids, Index, indices, matched, points
from ._problem import Stock
from ._strict import strict
from ._result import Result

Floats = npt.NDArray[np.float64]


def _slab(
    x: tuple[float, float],
    y: tuple[float, float],
    thickness: float,
    e_gpa: float,
    nu: float,
    density: float,
    strength_mpa: float | None,
    strength_factor: float,
) -> Slab:
    return Slab(
        x, y, thickness, e_gpa=e_gpa, nu=nu, density=density,
        strength_mpa=strength_mpa, strength_factor=strength_factor,
    )


class LaidSlab:
    """A slab on its supports under its loads, whatever the heights of the supports: the costly part
    is done once, and each set of heights costs microseconds.

    The arguments are those of :func:`bear`, but for the heights.

    >>> import truebed
    >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
    >>> xy = [[50, 50], [1220, 50], [1220, 800], [50, 800]]
    >>> laid = truebed.LaidSlab(slab, xy)
    >>> laid.bear([0, 0, 0, 0]).forces_n.round().tolist()
    [188.0, 188.0, 188.0, 188.0]
    >>> laid.bear_many([[0, 0, 0, 0], [0, 0, 0, -9]]).forces_n.shape
    (2, 4)
    """

    __slots__ = ("_arguments", "_laid", "ids")

    ids: Ids
    """Ids of the supports; None where they have none."""

    @strict
    def __init__(
        self,
        slab: Slab,
        xy: Positions,
        *,
        loads: Iterable[Load] = (),
        weight: bool = True,
        pull_n: npt.ArrayLike = 0.0,
        stiffness_n_per_mm: npt.ArrayLike | None = None,
    ) -> None:
        level = points(xy, dict.fromkeys(xy, 0.0)) if isinstance(xy, dict) else None
        places = _array.positions(xy) if level is None else level.xy
        self.ids = None if level is None else level.ids
        loads = _array.listed("loads", loads, "loads, as point_load and patch_load make them")
        pulls = _each("pull_n", pull_n, len(places), self.ids)
        stiff = stiffness_n_per_mm
        stiffness = None if stiff is None else _each("stiffness_n_per_mm", stiff, len(places), self.ids)
        self._arguments = (slab, places, pulls, stiffness, loads, weight)
        self._laid = _truebed.Laid(*self._arguments)

    @classmethod
    def _unlaid(cls, arguments: tuple[Any, ...], ids: Ids) -> LaidSlab:
        """One that the extension lays."""
        laid = cls.__new__(cls)
        laid._arguments, laid.ids = arguments, ids
        return laid

    @property
    def elements(self) -> tuple[int, int]:
        """Elements of the mesh along and across."""
        return self._laid.elements()

    @strict
    def bear(self, tops_mm: Lengths) -> Bearing:
        """How the slab bears on tops at these heights, shape (n,). Raises :class:`InputError`.

        >>> import truebed
        >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
        >>> laid = truebed.LaidSlab(slab, [[50, 50], [1220, 50], [1220, 800], [50, 800]])
        >>> bool(laid.bear([1, 1, 1, 1]).carries.all())
        True
        """
        tops = matched("tops_mm", tops_mm, self.ids)
        read = _array.lengths("tops_mm", tops, len(self._arguments[1]))
        return self._laid.bear(self, read)

    @strict
    def bear_many(self, tops_mm: npt.ArrayLike) -> Bearings:
        """How it bears on many sets of tops, shape (k, n), in mm. Raises :class:`InputError`.

        >>> import truebed
        >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
        >>> laid = truebed.LaidSlab(slab, [[50, 50], [1220, 50], [1220, 800], [50, 800]])
        >>> laid.bear_many([[0, 0, 0, 0], [1, 1, 1, 1]]).gaps_mm.max()
        np.float64(0.0)
        """
        read = _array.table("tops_mm", tops_mm, (None, len(self._arguments[1])))
        return Bearings(*self._laid.bear_many(read))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, LaidSlab):
            return NotImplemented
        mine, theirs = self._arguments, other._arguments
        return (
            self.ids == other.ids and mine[0] == theirs[0]
            and all(map(np.array_equal, mine[1:3], theirs[1:3]))
            and _same(mine[3], theirs[3]) and mine[4:] == theirs[4:]
        )

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"LaidSlab({self._arguments[0]!r}, {len(self._arguments[1])} supports)"

    def __reduce__(self) -> tuple[Any, ...]:
        return (_again, (*self._arguments, self.ids))


def _again(
    slab: Slab, xy: Floats, pulls: Floats, stiffness: Floats | None, loads: list[Load],
    weight: bool, ids: Ids,
) -> LaidSlab:
    laid = LaidSlab(
        slab, xy, loads=loads, weight=weight, pull_n=pulls, stiffness_n_per_mm=stiffness
    )
    laid.ids = ids
    return laid


@dataclass(frozen=True, slots=True, eq=False)
class Bearings(Result):
    """How a slab bears on many sets of tops; NaN where it tips. Not modelled is what :class:`Bearing`
    says.

    >>> import truebed
    >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
    >>> xy = [[50, 50], [1220, 50], [1220, 800], [50, 800], [635, 800]]
    >>> (truebed.LaidSlab(slab, xy).bear_many([[0, 0, 0, -9, 0]]).gaps_mm > 1).tolist()
    [[False, False, False, True, False]]
    """

    forces_n: Floats
    """What each support does to the slab, N, shape (k, n)."""
    gaps_mm: Floats
    """How far the slab clears each support, mm, shape (k, n)."""


@dataclass(frozen=True, slots=True, eq=False)
class Bearing(Result):
    """How a slab bears on its supports. Of a slab that tips over all numbers are NaN, and ``tips``
    says over which line.

    Not modelled: pockets and holes, a modulus that differs with the grain, glue, creep, and how the
    frame bends as a whole (supports may be springs).

    >>> import truebed
    >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
    >>> xy = [[50, 50], [1220, 50], [1220, 800], [50, 800], [635, 800]]
    >>> bearing = truebed.bear(slab, xy, [0, 0, 0, "-2 mm", 0])
    >>> bool(bearing.carries[3]), bool(bearing.gaps_mm[3] > 1)
    (False, True)
    """

    tops_mm: Floats
    """Heights of the tops of the supports, mm, shape (n,)."""
    forces_n: Floats
    """What each support does to the slab, N, shape (n,): pushes are positive, the pull of a screw
    negative."""
    carries: npt.NDArray[np.bool_]
    """Whether each support carries, shape (n,): a shim that does not is loose."""
    gaps_mm: Floats
    """How far the slab clears each support, mm, shape (n,): 0 where it touches."""
    tips: tuple[tuple[int, int], float] | None
    """The two supports over whose line the slab falls, and the moment that nothing holds, N mm; None
    where it lies."""
    _laid: LaidSlab
    _shape: _truebed.BearingShape

    @property
    def laid(self) -> LaidSlab:
        """The slab on its supports."""
        return self._laid

    @property
    def ids(self) -> Ids:
        """Ids of the supports; None where they have none."""
        return self.laid.ids

    @property
    def accuracy_mm(self) -> float:
        """How well its heights are known for the mesh, mm: how far those of one half as fine are
        apart."""
        return self._shape.accuracy_mm()

    @property
    def sag_mm(self) -> float:
        """How far the surface hangs below the least-squares plane of its heights at the supports, mm."""
        return self._shape.sag_mm()

    @property
    def stress_mpa(self) -> float:
        """The largest principal bending stress, MPa."""
        stress = self._shape.stress()
        return np.nan if stress is None else stress[0]

    @property
    def stress_at(self) -> tuple[float, float]:
        """Where that is, x and y, mm."""
        stress = self._shape.stress()
        return (np.nan, np.nan) if stress is None else stress[1]

    @property
    def stress_ratio(self) -> float | None:
        """That stress over the strength divided by its factor; None where no strength is stated."""
        stress = self._shape.stress()
        return None if stress is None else stress[2]

    @strict
    def at(self, xy: Positions) -> Floats:
        """Heights of the slab's underside at places, shape (m, 2), in mm. Raises :class:`InputError`
        for places that are not on the slab.

        >>> import truebed
        >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
        >>> xy = [[50, 50], [1220, 50], [1220, 800], [50, 800]]
        >>> bool(truebed.bear(slab, xy, [0, 0, 0, 0]).at([[635, 425]])[0] < 0)
        True
        """
        return self._shape.at(_array.positions(xy))

    def __eq__(self, other: object) -> bool:
        # All the rest follows from these.
        if not isinstance(other, Bearing):
            return NotImplemented
        return np.array_equal(self.tops_mm, other.tops_mm) and self.laid == other.laid

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        if self.tips is not None:
            ids = self.ids or range(len(self.tops_mm))
            (one, other), moment = self.tips
            return f"Bearing(tips over the line from {ids[one]} to {ids[other]}, {moment / 1e3:.1f} N m)"
        forces = ", ".join(f"{force:.1f}" for force in self.forces_n[:16])
        more = ", …" if len(self.forces_n) > 16 else ""
        loose = int((~self.carries).sum())
        return f"Bearing(forces_n=[{forces}{more}], loose={loose}, {_NOT_MODELLED})"

    def __reduce__(self) -> tuple[Any, ...]:
        return (_borne, (self.laid, self.tops_mm))


_NOT_MODELLED = "without pockets, holes, grain, glue, creep and the frame's bending"


def _borne(laid: LaidSlab, tops: Floats) -> Bearing:
    return laid._laid.bear(laid, tops)


def _same(mine: Floats | None, theirs: Floats | None) -> bool:
    if mine is None or theirs is None:
        return mine is theirs
    return np.array_equal(mine, theirs)


@strict
def bear(
    slab: Slab,
    xy: Positions,
    tops_mm: Lengths,
    *,
    loads: Iterable[Load] = (),
    weight: bool = True,
    pull_n: npt.ArrayLike = 0.0,
    stiffness_n_per_mm: npt.ArrayLike | None = None,
) -> Bearing:
    """How a slab bears on supports at ``xy``, shape (n, 2) or by id, with tops at heights
    ``tops_mm``, shape (n,).

    Supports push. ``pull_n`` is what the screw at each holds, N, a number or shape (n,): with that
    force it still pulls where the slab is lifted off; 0 is push only. ``stiffness_n_per_mm`` makes
    springs of them (infinite: rigid). The slab's own ``weight`` acts by default.

    Raises :class:`InputError` for supports or loads outside the slab, two supports at one place,
    fewer than three or all on one line, and values that cannot be. A slab that tips over is an
    answer: ``tips``.

    >>> import truebed
    >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
    >>> xy = {"A": (50, 50), "B": (1220, 50), "C": (1220, 800), "D": (50, 800)}
    >>> test = truebed.point_load(635, 425, 889.5)
    >>> before, after = truebed.bear(slab, xy, [0] * 4), truebed.bear(slab, xy, [0] * 4, loads=[test])
    >>> float((before.at([(635, 425)]) - after.at([(635, 425)]))[0].round(2))
    0.56
    """
    at = points(xy, tops_mm, "tops_mm")
    laid = LaidSlab(
        slab, at.xy, loads=loads, weight=weight,
        pull_n=matched("pull_n", pull_n, at.ids) if _is_many(pull_n) else pull_n,
        stiffness_n_per_mm=stiffness_n_per_mm,
    )
    laid.ids = at.ids
    return laid.bear(at.heights)


@dataclass(frozen=True, slots=True, eq=False)
class BedPlan(Result):
    """Stacks for a slab, and how it bears on them. Not modelled: pockets and holes, a modulus that
    differs with the grain, glue, creep, and how the frame bends as a whole.

    >>> import truebed
    >>> slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
    >>> xy = [[50, 50], [1220, 50], [1220, 800], [50, 800]]
    >>> plan = truebed.plan_bed(slab, xy, [0, -0.3, -0.6, -0.31], {0.1: 20, 0.01: 20}, 0.1)
    >>> plan.status, plan.carried, bool(plan.bearing.carries.all())
    ('proven', True, True)
    """

    status: Status
    """``"proven"``: no plan is better, for a slab as it is modelled. ``"budget"``: the budget ran
    out. ``"infeasible"``: the stock cannot do it; see ``why``."""
    why: Literal["not level", "not carried"] | None
    """Where the stock cannot do it: whether no plan is level, or no level plan carries."""
    pieces: int
    """Pieces in all."""
    bound: float
    """The fewest pieces that any plan has, as far as that is proven; NaN where there is none."""
    worst_mm: float
    """Half the difference between the highest and the lowest of ``surface_mm``, mm."""
    stacks: list[list[float]]
    """The stack under each support: thickness of each piece in mm, thickest first."""
    lifts_mm: Floats
    """What each stack lifts by, mm, shape (n,)."""
    tops_mm: Floats
    """Height of each stack's top, mm, shape (n,)."""
    used: list[int]
    """Pieces used of each kind, in the order of the stock."""
    surface_mm: Floats
    """Heights of the slab's underside at the supports and then at ``at``, mm, shape (n + m,)."""
    meets_limits: bool
    """Whether these meet every limit."""
    carried: bool
    """Whether every stack, and every bare support that is not idle, carries what it should."""
    nodes: int
    """Search nodes spent."""
    ids: Ids
    """Ids of the supports; None where they have none."""
    bearing: Bearing
    """How the slab bears on these stacks."""


@strict
def plan_bed(
    slab: Slab,
    xy: Positions,
    frame_mm: Lengths,
    stock: Stock,
    limits: Length | Limits,
    *,
    at: Positions | None = None,
    loads: Iterable[Load] = (),
    weight: bool = True,
    pull_n: npt.ArrayLike = 0.0,
    stiffness_n_per_mm: npt.ArrayLike | None = None,
    idle: Sequence[Index] = (),
    least_force_n: float = 0.0,
    keep_highest: bool = True,
    max_pieces: int | None = None,
    budget: int | Budget | None = None,
) -> BedPlan:
    """The fewest pieces on which a slab lies level, with every stack carrying.

    ``frame_mm`` are the heights of the frame under the slab, shape (n,); under one that lies already,
    the heights read on top less the thickness and the gaps below. The limits hold for the
    slab's surface at the supports and at ``at``, shape (m, 2). Every stack, and every bare support
    that is not among ``idle``, carries at least ``least_force_n``; at 0 it carries
    more than nothing. The goals are fewest pieces, then smallest worst deviation of the surface, then
    fewest kinds. ``keep_highest``: of the supports that it touches, one that stands highest stays
    bare.

    The GIL is released while the search runs; Ctrl-C stops it. Raises what :func:`bear` and
    :func:`plan_shims` raise; that the stock cannot do it is the plan's ``status``.

    >>> import truebed
    >>> slab = truebed.Slab((0, 1270), (0, 850), 60, e_gpa=48.36, nu=0.25, density=2794)
    >>> xy = [[50, 50], [1220, 50], [1220, 800], [50, 800]]
    >>> plan = truebed.plan_bed(slab, xy, [0, -0.13, 0, -0.13], {0.5: 20}, 0.1)
    >>> plan.status, plan.why
    ('infeasible', 'not carried')
    """
    read = points(xy, frame_mm, "frame_mm")
    count = len(read.xy)
    loads = _array.listed("loads", loads, "loads, as point_load and patch_load make them")
    places = np.empty((0, 2)) if at is None else _array.positions(at)
    pulls = _each("pull_n", pull_n, count, read.ids)
    stiff = stiffness_n_per_mm
    stiffness = None if stiff is None else _each("stiffness_n_per_mm", stiff, count, read.ids)
    found = indices("idle", [_array.listed("idle", idle, "a list of supports")], read.ids)
    laid = LaidSlab._unlaid((slab, read.xy, pulls, stiffness, loads, weight), read.ids)
    return _truebed.plan_bed(
        slab, read.xy, read.heights, stock, limits, places, loads, weight, pulls, stiffness,
        list(found[0]), least_force_n, keep_highest, max_pieces, budget, read.ids, laid,
    )


def _is_many(values: Any) -> bool:
    """Whether there is a value for each support, and not one for all."""
    return isinstance(values, (list, tuple, dict)) or getattr(values, "ndim", 0) > 0


def _each(field: str, values: Any, count: int, ids: Ids) -> Floats:
    """A number for each support: one for all, or one by one."""
    if not _is_many(values):
        return np.full(count, float(_array.numbers(field, [values], 1)[0]))
    return _array.numbers(field, matched(field, values, ids), count)
