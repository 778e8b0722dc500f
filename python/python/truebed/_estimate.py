"""Before the visit: floors that nobody has measured, what a job will take, what must be in the van."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._bed import LaidSlab
from ._error import UNKNOWN, VALUE, Error, InputError, InputTypeError
from ._length import Length, Lengths, Positions
from ._points import points
from ._problem import Stock, read
from ._progress import Progress, reported
from ._result import Result
from ._strict import listed_pair, strict
from ._truebed import Limits, Shim

if TYPE_CHECKING:
    from ._problem import Order

Figure: TypeAlias = Literal["pieces", "lifts", "thickest_mm", "cost", "minutes"]
"""A figure of a job; see :class:`Estimate`."""


class FloorModel:
    """How the heights of a floor that nobody has measured may differ: a normal model, from the
    F-numbers of ASTM E1155 (``ff`` and ``fl``, each above 0) or from the standard deviation of single
    heights (``sigma``, a length). ``fall`` is the standard deviation of a mean slope along x and along
    y, mm/m, as where a floor falls towards a drain.

    >>> import truebed
    >>> floor = truebed.FloorModel(ff=20, fl=15)
    >>> round(floor.hurst, 3), round(floor.sigma_of_difference_mm(1016), 2)
    (0.654, 3.44)
    >>> floor.sample([[0, 0], [2134, 0]], 3).shape
    (3, 2)
    """

    __slots__ = ("_model",)
    _model: _truebed.Floor

    def __init__(
        self,
        *,
        ff: float | None = None,
        fl: float | None = None,
        sigma: Length | None = None,
        fall: float = 0.0,
    ) -> None:
        if sigma is None and ff is not None and fl is not None:
            model = _truebed.Floor.from_f_numbers(
                _truebed.plain("ff", ff), _truebed.plain("fl", fl)
            )
        elif sigma is not None and ff is None and fl is None:
            model = _truebed.Floor.from_sigma(_truebed.parse_length(sigma))
        else:
            given = [name for name, it in (("ff", ff), ("fl", fl), ("sigma", sigma)) if it is not None]
            expected = "ff and fl, or sigma; or FloorModel.of a class"
            raise InputError(VALUE, [("floor", ", ".join(given) or "nothing", expected)])
        self._hold(model, fall)

    def _hold(self, model: _truebed.Floor, fall: float) -> None:
        steep = _truebed.plain("fall", fall)
        object.__setattr__(self, "_model", model.with_fall(steep) if steep else model)

    @classmethod
    @strict
    def of(cls, floor_class: str, *, fall: float = 0.0) -> FloorModel:
        """A floor that just keeps a class of DIN 18202, BS 8204 or ACI 117. What the class fixes and
        what is assumed beyond it is in :attr:`assumptions`.

        >>> import truebed
        >>> truebed.FloorModel.of("DIN 18202 row 3").assumptions[0][:30]
        'The floor just keeps its class'
        """
        return cls._around(_truebed.Floor.of(floor_class), fall)

    @classmethod
    def _around(cls, model: _truebed.Floor, fall: float = 0.0) -> FloorModel:
        made = cls.__new__(cls)
        made._hold(model, fall)
        return made

    @property
    def hurst(self) -> float:
        """H: how fast unevenness grows with distance, between 0 and 1."""
        return self._model.hurst

    @property
    def assumptions(self) -> list[str]:
        """What was assumed beyond what is known of the floor: whole sentences."""
        return self._model.assumptions

    @strict
    def sigma_of_difference_mm(self, distance: Length) -> float:
        """Standard deviation of the difference of two heights that are so far apart, mm.

        >>> import truebed
        >>> truebed.FloorModel(sigma="1 mm").sigma_of_difference_mm("1 m") ** 2
        2.0000000000000004
        """
        return self._model.sigma_of_difference_mm(_truebed.parse_length(distance))

    @strict
    def sample(self, xy: Positions, n: int = 1, seed: int = 0) -> npt.NDArray[np.float64]:
        """Draws ``n`` floors: heights at the places ``xy``, shape (k, 2), in mm, shape (n, k). The
        same seed gives the same digits on every machine.

        >>> import truebed
        >>> floor = truebed.FloorModel.of("ACI 117 flat")
        >>> bool((floor.sample([[0, 0]], 2, seed=1) == floor.sample([[0, 0]], 2, seed=1)).all())
        True
        """
        return self._model.sample(_array.positions(xy), n, seed)

    def given(
        self, read_xy: Positions, heights: Lengths, xy: Positions, *, sigma: Length = 0
    ) -> RestOfFloor:
        """What heights that were read at the places ``read_xy``, with a standard uncertainty of
        ``sigma`` each, say of the heights at other places ``xy`` of the same floor.

        >>> import truebed
        >>> floor = truebed.FloorModel.of("ACI 117 flat")
        >>> rest = floor.given([[0, 0], [1000, 0]], [0, 1], [[500, 0]])
        >>> round(float(rest.heights_mm[0]), 6)
        0.5
        """
        at = points(read_xy, heights)
        rest = self._model.given(
            at.xy, at.heights, _truebed.parse_length(sigma), _array.positions(xy)
        )
        return RestOfFloor(rest.heights_mm, rest.covariance_mm2)

    def updated(
        self, xy: Positions, heights: Lengths, *, sigma: Length = 0, worth: float = 30
    ) -> UpdatedFloor:
        """The model updated by heights that were read on one floor of its kind. ``worth`` is how many
        differences of height the model was worth before: the larger, the less a new floor changes
        it.

        >>> import truebed
        >>> floor = truebed.FloorModel(sigma=1)
        >>> floor.updated([[0, 0], [900, 0], [900, 900]], [0, 3, 0]).factor > 1
        True
        """
        at = points(xy, heights)
        model, factor, interval, differences, after, percentile = self._model.updated(
            at.xy, at.heights, _truebed.parse_length(sigma), float(worth)
        )
        return UpdatedFloor(
            FloorModel._around(model), factor, interval, differences, after, percentile
        )

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"cannot assign to {name!r}: a floor model does not change")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FloorModel) and self._model == other._model

    def __reduce__(self) -> tuple[Any, tuple[_truebed.Floor]]:
        return FloorModel._around, (self._model,)

    def __repr__(self) -> str:
        at_1m = self.sigma_of_difference_mm("1 m")
        return f"FloorModel(hurst={self.hurst:.3g}, σ of a difference over 1 m = {at_1m:.3g} mm)"


@dataclass(frozen=True, slots=True, eq=False)
class RestOfFloor(Result):
    """What is known of heights at further places of a floor that was read at some.

    >>> import truebed
    >>> floor = truebed.FloorModel.of("ACI 117 flat")
    >>> rest = floor.given([[0, 0], [1000, 0]], [0, 1], [[500, 0], [900, 300]])
    >>> rest.sample(3, seed=1).shape
    (3, 2)
    """

    heights_mm: npt.NDArray[np.float64]
    """Expected height at each place, mm, from the datum of the readings, shape (k,)."""
    covariance_mm2: npt.NDArray[np.float64]
    """Their covariance, mm², shape (k, k)."""

    def sample(self, n: int = 1, seed: int = 0) -> npt.NDArray[np.float64]:
        """Draws heights at the places, mm, shape (n, k).

        >>> import truebed
        >>> floor = truebed.FloorModel(sigma=1)
        >>> floor.given([[0, 0]], [2], [[900, 0]]).sample(5).shape
        (5, 1)
        """
        return _truebed.Rest(self.heights_mm, self.covariance_mm2).sample(n, seed)


@dataclass(frozen=True, slots=True, eq=False)
class UpdatedFloor(Result):
    """A floor model after a floor was read.

    >>> import truebed
    >>> updated = truebed.FloorModel(sigma=1).updated([[0, 0], [900, 0]], [0, 0.1], worth=10)
    >>> updated.worth, updated.factor < 1
    (11.0, True)
    """

    model: FloorModel
    """The model with all its variances multiplied by ``factor``."""
    factor: float
    """By how much the variances are multiplied."""
    interval: list[float]
    """Where the factor lies with a probability of 95 %."""
    differences: int
    """How many differences of height were read."""
    worth: float
    """How many differences the updated model is worth: the ``worth`` of the next update."""
    percentile: float
    """The part of all floors of the model before that are evener than the one read."""


@dataclass(frozen=True, slots=True, eq=False)
class ReadingsNeeded(Result):
    """The smallest survey that leaves no more doubt than asked for.

    >>> import truebed
    >>> truebed.readings_needed([[0, 0], [900, 0]], 0.1, sigma=0.1).rounds
    2
    """

    rounds: int
    """How often the pattern is gone through."""
    readings: int
    """How many readings that is."""
    doubt: float
    """The doubt that it leaves."""
    sigma_mm: float
    """The standard uncertainty of the largest difference of two heights that it leaves, mm."""


@strict
def readings_needed(
    xy: Positions,
    limits: Length | Limits,
    *,
    sigma: Length,
    pattern: Literal["heights", "loop"] = "heights",
    left: Length = 0,
    doubt: float = 0.05,
    joints: Iterable[Sequence[int | str]] | None = None,
) -> ReadingsNeeded:
    """The fewest rounds of a survey of the places ``xy`` that leave at most the ``doubt``: the
    probability that a bed that is brought level by these readings does not keep the limits. Each
    round of ``"heights"`` reads every point once from one set-up; each of ``"loop"`` reads the rise
    from each point to the next and from the last to the first. ``sigma`` is the standard uncertainty
    of a reading, and ``left`` how far the plan leaves the bed from level (±).

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> truebed.readings_needed(legs, 0.15, sigma="0.1 mm", left="0.05 mm").readings
    16
    """
    problem = _template(xy, [Shim(1)], limits, joints=joints)
    found: ReadingsNeeded = _truebed.readings_needed(
        problem, pattern, _truebed.parse_length(sigma), _truebed.parse_length(left), doubt
    )
    return found


@dataclass(frozen=True, slots=True, eq=False)
class FittedFloor(Result):
    """A floor model fitted to floors that were measured.

    >>> import truebed
    >>> xy = [[0, 0], [1000, 0], [2000, 0], [3000, 0]]
    >>> heights = truebed.FloorModel(ff=20, fl=15).sample(xy, 50)
    >>> fitted = truebed.fit_floor([(xy, row) for row in heights])
    >>> abs(fitted.hurst - 0.654) < 3 * fitted.hurst_sigma
    True
    """

    model: FloorModel
    """The likeliest self-affine floor."""
    hurst: float
    """H: how fast differences grow with distance."""
    hurst_sigma: float
    """Standard uncertainty of H."""
    sigma_at_1m_mm: float
    """Standard deviation of the difference of two heights 1 m apart, mm."""
    sigma_at_1m_relative: float
    """Its standard uncertainty, as a part of it."""
    differences: int
    """How many independent differences of height the fit rests on."""


@strict
def fit_floor(floors: Iterable[tuple[Positions, Lengths]]) -> FittedFloor:
    """The self-affine floor under which floors that were measured are the likeliest: a pair of places
    and heights for each. Takes three differences of height or more, over several distances; raises
    :class:`InputError` where there is too little to tell.

    >>> import truebed
    >>> xy = [[0, 0], [1000, 0], [2000, 0], [3000, 500]]
    >>> truebed.fit_floor([(xy, [0, 1, 2.5, 2]), (xy, [0, -0.5, -2, -2.5])]).differences
    6
    """
    form = "a pair of places and heights for each floor"
    pairs = [
        listed_pair(f"floors[{at}]", it, form)
        for at, it in enumerate(_array.listed("floors", floors, form))
    ]
    read_floors = [points(xy, heights) for xy, heights in pairs]
    model, numbers, differences = _truebed.fit_floor([(it.xy, it.heights) for it in read_floors])
    hurst, hurst_sigma, at_1m, relative = numbers
    return FittedFloor(
        FloorModel._around(model), hurst, hurst_sigma, at_1m, relative, differences
    )


@dataclass(frozen=True, slots=True, eq=False)
class Estimate(Result):
    """What jobs on a floor that nobody has measured will take: a row for each job that was drawn. Of a
    job that the stock does not serve the figures are NaN.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel.of("ACI 117 flat")
    >>> found = truebed.estimate(floor, legs, {3: 8, 1: 8, 0.2: 12}, 0.15, jobs=200)
    >>> found.pieces.shape, found.lifts_mm.shape, found.used.shape
    ((200,), (200, 4), (200, 3))
    >>> found.interval[0] <= found.served <= found.interval[1]
    True
    """

    jobs: int
    """How many jobs were drawn."""
    served: float
    """The share of the jobs that the stock serves."""
    interval: list[float]
    """The exact two-sided interval of that share (Clopper-Pearson)."""
    reasons: list[tuple[str, int]]
    """Why other jobs are not served, and how many: ``"counts"``: more pieces of the same kinds would
    do; ``"stacks"``: stacks may not be as thick, or have as many pieces, as the floor asks;
    ``"kinds"``: no sums of these thicknesses keep the limits; ``"loose"``: no plan has every slate lie
    on all its stacks; ``"unsettled"``: the search ended before it was known."""
    again: float
    """The share of the jobs served that need a lift again after settlement; NaN where it was not
    asked."""
    pieces: npt.NDArray[np.float64]
    """Pieces of each job, shape (jobs,)."""
    lifts: npt.NDArray[np.float64]
    """Supports lifted in each job, shape (jobs,): legs, and points of slates where they are planned."""
    thickest_mm: npt.NDArray[np.float64]
    """The thickest stack of each job, mm, shape (jobs,)."""
    lifts_mm: npt.NDArray[np.float64]
    """How far each leg is lifted, mm, shape (jobs, k)."""
    used: npt.NDArray[np.float64]
    """Pieces used of each kind, shape (jobs, kinds)."""
    cost: npt.NDArray[np.float64]
    """The price of each job, pieces included, shape (jobs,); empty where it was not asked."""
    minutes: npt.NDArray[np.float64]
    """Minutes for each job, shape (jobs,); empty where it was not asked."""
    operations: npt.NDArray[np.float64]
    """How often each job takes each operation, a second pass included, shape (jobs, 6): readings,
    lifts, pieces put in, taken out or set anew, slates, joints, and passes after the first."""

    def quantile(self, name: Figure, p: float) -> float:
        """The smallest value of a figure that at least a part ``p`` of the jobs served do not exceed;
        NaN where none is served.

        >>> import truebed
        >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
        >>> floor = truebed.FloorModel.of("ACI 117 flat")
        >>> found = truebed.estimate(floor, legs, {3: None, 1: None, 0.2: None}, 0.15, jobs=200)
        >>> found.quantile("pieces", 0.5) <= found.quantile("pieces", 0.95)
        True
        """
        figures = ("pieces", "lifts", "thickest_mm", "cost", "minutes")
        if name not in figures:
            raise InputError(UNKNOWN, [("name", repr(name), "one of " + ", ".join(figures))])
        if not 0 <= p <= 1:
            raise InputError(VALUE, [("p", repr(p), "a number from 0 to 1")])
        return _truebed.quantile(getattr(self, name), p)


@dataclass(frozen=True, slots=True, eq=False)
class MorePieces(Result):
    """What one more pack of a kind would bring to a kit.

    >>> import truebed
    >>> truebed.MorePieces(kind=0, pieces=10, share=0.97).share
    0.97
    """

    kind: int
    """Index of the kind."""
    pieces: int
    """Pieces of the pack."""
    share: float
    """The share of the training jobs that the kit then serves."""


@dataclass(frozen=True, slots=True, eq=False)
class Kit(Result):
    """The smallest stock that serves a share of the jobs to come, proven on jobs that its choice never
    saw.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel.of("ACI 117 superflat")
    >>> found = truebed.kit(floor, legs, [2, 0.5, 0.2], 0.15, share=0.8, training_jobs=50)
    >>> len(found.counts), found.fresh_jobs
    (3, 1000)
    """

    counts: list[int]
    """Pieces of each kind; all that is allowed where even that does not serve the share."""
    served: float
    """The share of the fresh jobs that it serves."""
    interval: list[float]
    """The exact two-sided interval of that share (Clopper-Pearson)."""
    meets_share: bool
    """Whether the fresh jobs prove the share at the confidence asked for."""
    attempts: int
    """How often a kit was chosen and tried on fresh jobs."""
    fresh_jobs: int
    """Fresh jobs of the attempt that decided."""
    failures: int
    """Fresh jobs that it does not serve."""
    proven: bool
    """Whether no smaller kit serves as many of the training jobs; False for days of several jobs and for
    jobs with slates."""
    training_share: float
    """The share of the training jobs that it was chosen to serve."""
    additions: list[MorePieces]
    """What one more pack of each kind would bring, the best first."""
    solved: int
    """Plans that were solved for the choice."""
    spared: int
    """Plans that followed from others and were spared: one for each job and each kit that was told without."""


_RATES = ("job", "reading", "lift", "piece", "slate", "joint", "repeat")

Rates: TypeAlias = Mapping[str, float]
"""Prices, or minutes, by what they are for: ``job``, ``reading``, ``lift``, ``piece``, ``slate``,
``joint``, ``repeat`` (a pass after the first). What is left out costs nothing."""


def by_name(field: str, rates: Rates | None) -> list[float] | None:
    if rates is None:
        return None
    if not isinstance(rates, Mapping):
        got = f"{rates!r} ({type(rates).__name__})"
        raise InputTypeError(VALUE, [(field, got, "a mapping of names to numbers")])
    unknown = [
        (f"{field}.{name}", "an unknown name", "one of " + ", ".join(_RATES))
        for name in rates
        if name not in _RATES
    ]
    if unknown:
        raise InputError(UNKNOWN, unknown)
    return [_truebed.plain(f"{field}.{name}", rates.get(name, 0.0)) for name in _RATES]


def _floor(floor: FloorModel, field: str = "floor") -> _truebed.Floor:
    if not isinstance(floor, FloorModel):
        got = f"{floor!r} ({type(floor).__name__})"
        raise InputTypeError(VALUE, [(field, got, "a FloorModel")])
    return floor._model


@dataclass(frozen=True, slots=True, eq=False)
class SlatesOnFrame:
    """The slates that each job lays on its frame. Those that ``slabs`` describes are plates, which must lie
    on all their stacks; the others are planned as points.

    >>> import truebed
    >>> frame = truebed.FloorModel(sigma="0.2 mm")
    >>> truebed.SlatesOnFrame([[0, 0], [900, 0]], "0.1 mm", frame).limits
    '0.1 mm'
    """

    xy: Positions
    """The points of the slates in plan, shape (k, 2), mm."""
    limits: Length | Limits
    """What counts as level."""
    frame: FloorModel
    """How the heights of the bare frame under the slates may differ once its legs are level."""
    joints: Iterable[Sequence[int | str]] | None = None
    """Pairs of points on two sides of a joint."""
    max_pieces: int | None = None
    """The most pieces of a stack."""
    max_stack: Length | None = None
    """The thickest stack."""
    slabs: Iterable[LaidSlab] = ()
    """The slates that are plates, each support at the place of a point."""
    least_force_n: float = 0.0
    """What each support of a slab should carry at the least, N, with what its screw can add; at 0 more than
    nothing."""


def _laid(
    name: str, slates: SlatesOnFrame | None, kinds: Any
) -> tuple[Any, _truebed.Floor, list[_truebed.Laid], float] | None:
    if slates is None:
        return None
    if not isinstance(slates, SlatesOnFrame):
        got = f"{slates!r} ({type(slates).__name__})"
        raise InputTypeError(VALUE, [(name, got, "None or a SlatesOnFrame")])
    frame = _floor(slates.frame, f"{name}.frame")
    options = {"max_pieces": slates.max_pieces, "max_stack": slates.max_stack}
    try:
        problem = _template(slates.xy, kinds, slates.limits, joints=slates.joints, **options)
    except Error as error:
        problems = [(f"{name}.{field}", got, expected) for field, got, expected in error.problems]
        raise type(error)(error.code, problems) from error
    slabs = _array.listed(f"{name}.slabs", slates.slabs, "slabs, as LaidSlab makes them")
    for at, slab in enumerate(slabs):
        if not isinstance(slab, LaidSlab):
            got = f"{slab!r} ({type(slab).__name__})"
            raise InputTypeError(VALUE, [(f"{name}.slabs[{at}]", got, "a LaidSlab")])
    force = slates.least_force_n
    if isinstance(force, bool) or not isinstance(force, (int, float)):
        got = f"{force!r} ({type(force).__name__})"
        raise InputTypeError(VALUE, [(f"{name}.least_force_n", got, "a force, N")])
    return problem, frame, [slab._laid for slab in slabs], force


@strict
def estimate(
    floor: FloorModel,
    xy: Positions,
    stock: Stock,
    limits: Length | Limits,
    *,
    jobs: int = 10_000,
    seed: int = 0,
    prices: Rates | None = None,
    minutes: Rates | None = None,
    slates: int = 0,
    on_frame: SlatesOnFrame | None = None,
    again: tuple[Length, Length] | None = None,
    standard_error: float | None = None,
    confidence: float = 0.95,
    joints: Iterable[Sequence[int | str]] | None = None,
    order: Order = "fewest-pieces",
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    threads: int | None = None,
    progress: Progress = False,
) -> Estimate:
    """What jobs on a floor will take: draws floors at the places ``xy``, shape (k, 2), and plans each
    with the solver, on all cores.

    ``prices`` and ``minutes`` give the parts of a job a price and a time; pieces cost what their
    :class:`Shim` says; ``slates`` is how many slates each job lays. With ``on_frame`` they are planned
    too, from what the legs leave, and all figures are of legs and slates together, but for ``lifts_mm``
    and second passes, which are of the legs. ``again`` is the standard deviation of how far a support
    settles, and the standard uncertainty of a reading after that: the share of second passes is counted.
    ``standard_error`` stops as soon as the share served is known to this standard error. The other arguments are those
    of :func:`plan_shims`. Ctrl-C stops it.

    Raises :class:`InputError` for what :func:`plan_shims` refuses, and for options out of range.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel(ff=35, fl=25)
    >>> found = truebed.estimate(
    ...     floor, legs, {3: 8, 1: 8, 0.2: 12}, 0.15, jobs=100, minutes={"job": 30, "lift": 10}
    ... )
    >>> found.minutes.shape, found.cost.shape
    ((100,), (0,))
    >>> bed = truebed.SlatesOnFrame(
    ...     [[100, 50], [1067, 50], [2034, 50]], "0.2 mm", truebed.FloorModel(sigma="0.3 mm")
    ... )
    >>> with_slates = truebed.estimate(
    ...     floor, legs, {3: 8, 1: 8, 0.2: 12}, 0.15, jobs=100, on_frame=bed
    ... )
    >>> bool(with_slates.pieces.mean() > found.pieces.mean())
    True
    """
    problem = _template(
        xy, stock, limits, joints=joints, order=order, max_pieces=max_pieces, max_stack=max_stack
    )
    form = "two lengths: of settlement, and of a reading"
    after = None if again is None else [
        _truebed.parse_length(sigma) for sigma in listed_pair("again", again, form)
    ]
    options = _truebed.EstimateOptions(
        jobs=jobs,
        seed=seed,
        standard_error=standard_error,
        confidence=confidence,
        again=after,
        prices=by_name("prices", prices),
        minutes=by_name("minutes", minutes),
        slates=slates,
        on_frame=_laid("on_frame", on_frame, stock),
        threads=threads,
    )
    with reported(progress, jobs) as report:
        found: Estimate = _truebed.estimate(_floor(floor), problem, options, report)
    return found


@strict
def kit(
    floor: FloorModel,
    xy: Positions,
    kinds: Stock | Sequence[Length],
    limits: Length | Limits,
    *,
    share: float = 0.95,
    confidence: float = 0.95,
    seed: int = 0,
    most: int | Sequence[int] | None = None,
    packs: Sequence[int] | None = None,
    cheapest: bool = False,
    jobs_a_day: int = 1,
    slates: SlatesOnFrame | None = None,
    training_jobs: int = 1000,
    fresh_jobs: int = 1000,
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    threads: int | None = None,
) -> Kit:
    """The smallest stock of these ``kinds`` (thicknesses, or shims) that serves a ``share`` of the jobs
    on a floor, with a ``confidence`` that fresh jobs prove.

    ``most`` bounds the pieces of each kind, by default 50. ``packs`` are the numbers in which pieces
    are sold. ``cheapest`` asks for the least sum of prices instead of the fewest pieces. With several
    ``jobs_a_day`` the share is that of days whose jobs are all served from one stock. ``slates`` are to be
    served too, from what the legs leave.

    Raises :class:`InputError` for shares that are not between 0 and 1 and for lists of another size
    than the kinds.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel.of("ACI 117 superflat")
    >>> truebed.kit(floor, legs, [2, 0.5, 0.2], 0.15, share=0.8, training_jobs=50).meets_share
    True
    """
    listed = _kinds(kinds)
    problem = _template(xy, listed, limits, max_pieces=max_pieces, max_stack=max_stack)
    found: Kit = _truebed.kit(
        _floor(floor),
        problem,
        share=share,
        confidence=confidence,
        seed=seed,
        most=_most(most, len(listed)),
        packs=_counts("packs", packs),
        cheapest=cheapest,
        jobs_a_day=jobs_a_day,
        slates=_laid("slates", slates, listed),
        training_jobs=training_jobs,
        fresh_jobs=fresh_jobs,
        threads=threads,
    )
    return found


@dataclass(frozen=True, slots=True, eq=False)
class FrontKit(Result):
    """A kit of a front: the smallest that serves a share of the training jobs.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel.of("ACI 117 superflat")
    >>> front = truebed.kit_front(floor, legs, [2, 0.2], 0.2, shares=[0.5, 0.9], training_jobs=40)
    >>> front.kits[0].pieces < front.kits[1].pieces
    True
    """

    counts: list[int]
    """Pieces of each kind."""
    pieces: int
    """Pieces in all."""
    training_share: float
    """The share of the training jobs that it was chosen to serve."""
    served: float
    """The share of the fresh jobs that it serves."""
    interval: list[float]
    """The exact two-sided interval of that share (Clopper-Pearson), for this kit by itself."""
    proven: bool
    """Whether no smaller kit serves as many of the training jobs."""


@dataclass(frozen=True, slots=True, eq=False)
class KitFront(Result):
    """Pieces in the van against the share of jobs that they serve. A notebook draws it.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel.of("ACI 117 superflat")
    >>> front = truebed.kit_front(floor, legs, [2, 0.2], 0.2, shares=[0.5, 0.9], training_jobs=40)
    >>> front.svg()[:4]
    '<svg'
    """

    kits: list[FrontKit]
    """The kits, the fewest pieces first."""
    _svg: str

    def svg(self) -> str:
        """The front as SVG text.

        >>> import truebed
        >>> truebed.KitFront([], "<svg/>").svg()
        '<svg/>'
        """
        return self._svg

    def _repr_svg_(self) -> str:
        return self._svg


@strict
def kit_front(
    floor: FloorModel,
    xy: Positions,
    kinds: Stock | Sequence[Length],
    limits: Length | Limits,
    *,
    shares: Sequence[float] = (0.5, 0.7, 0.8, 0.9, 0.95, 0.98),
    confidence: float = 0.95,
    seed: int = 0,
    most: int | Sequence[int] | None = None,
    packs: Sequence[int] | None = None,
    cheapest: bool = False,
    training_jobs: int = 1000,
    fresh_jobs: int = 1000,
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    threads: int | None = None,
) -> KitFront:
    """The smallest kit for each of the ``shares`` of the training jobs, with the share of fresh jobs
    that it serves. Shares that no kit reaches are left out. The other arguments are those of
    :func:`kit`.

    >>> import truebed
    >>> legs = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
    >>> floor = truebed.FloorModel.of("ACI 117 superflat")
    >>> front = truebed.kit_front(floor, legs, [2, 0.2], 0.2, shares=[0.5, 0.9], training_jobs=40)
    >>> [kit.training_share for kit in front.kits]
    [0.5, 0.9]
    """
    listed = _kinds(kinds)
    problem = _template(xy, listed, limits, max_pieces=max_pieces, max_stack=max_stack)
    kits, svg = _truebed.kit_front(
        _floor(floor),
        problem,
        shares=_array.listed("shares", shares, "shares between 0 and 1"),
        confidence=confidence,
        seed=seed,
        most=_most(most, len(listed)),
        packs=_counts("packs", packs),
        cheapest=cheapest,
        training_jobs=training_jobs,
        fresh_jobs=fresh_jobs,
        threads=threads,
    )
    return KitFront(kits, svg)


def _kinds(kinds: Stock | Sequence[Length]) -> Any:
    listed: Any = kinds
    if not isinstance(kinds, Mapping):
        listed = list(_array.listed("kinds", kinds, "thicknesses or shims"))
        if not any(isinstance(kind, Shim) for kind in listed):
            listed = [Shim(kind) for kind in listed]
    return listed


def _most(most: int | Sequence[int] | None, count: int) -> list[int]:
    return [most] * count if isinstance(most, int) else _counts("most", most)


def _template(xy: Positions, stock: Any, limits: Length | Limits, **options: Any) -> Any:
    """The problem on a level floor: heights are drawn later."""
    places: Any = xy if hasattr(xy, "__len__") else _array.positions(xy)
    flat = dict.fromkeys(places, 0.0) if isinstance(xy, Mapping) else [0.0] * len(places)
    return read(places, flat, stock, limits, **options)


def _counts(field: str, counts: Any) -> list[Any]:
    return [] if counts is None else _array.listed(field, counts, "a number for each kind")
