"""Heights held against limits: whether they conform, and how sure that is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy.typing as npt

from . import _array, _truebed
from ._truebed import Limits
from ._error import VALUE, InputTypeError
from ._length import Length, Lengths, Positions
from ._points import Index, covariance_of, heights_of, indices
from ._result import Result, in_words, shown

if TYPE_CHECKING:
    from ._plan import ShimPlan

Limit: TypeAlias = Literal["overall", "along", "across", "joint_step", "named"]
"""Which of the limits."""

Axis: TypeAlias = Literal["along", "across"]
"""Along or across the bed."""

Rule: TypeAlias = Literal["iso-14253-1", "guard-band", "simple-acceptance"]
"""How a verdict is reached; see :func:`truebed.check`."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Finding(Result):
    """Whether one limit is met over the points that it binds.

    >>> import truebed
    >>> finding = truebed.check([0, 0.3], 0.1).findings[0]
    >>> finding.limit, finding.met, round(finding.margin_mm, 6)
    ('overall', False, -0.1)
    """

    limit: Limit
    """Which limit."""
    points: list[int]
    """Indices of the points that it binds."""
    found_mm: float
    """The difference between the highest and the lowest of them, mm."""
    allowed_mm: float
    """The largest difference allowed, mm: twice a ± limit, once a joint step."""
    margin_mm: float
    """What is left to the limit, mm: below zero beyond it."""
    margin_in: float
    """The same in inches."""
    met: bool | None
    """The verdict on this limit by itself; None where the readings do not tell."""
    sigma_mm: float
    """Standard uncertainty of the difference found, mm; NaN where no uncertainties are given."""
    probability: float
    """The probability that this limit by itself is met; NaN where no uncertainties are given."""
    probability_error: float
    """Standard error of that number; 0 where it is not simulated."""

    def __repr__(self) -> str:
        sure = "" if self.probability != self.probability else f", probability={self.probability!r}"
        return (
            f"Finding(limit={self.limit!r}, points={shown(self.points)}, "
            f"found_mm={self.found_mm!r}, allowed_mm={self.allowed_mm!r}, verdict={in_words(self.met)!r}{sure})"
        )


@dataclass(frozen=True, slots=True, eq=False)
class SlopeFinding(Result):
    """Whether a limit on the slope of the target is met.

    >>> import truebed
    >>> limits = truebed.Limits(0.1, slope_along=0.25)
    >>> verdict = truebed.check([0, 0.5], limits, xy=[[0, 0], [1000, 0]])
    >>> verdict.slopes[0].axis, verdict.slopes[0].met, round(verdict.slopes[0].found_mm_per_m, 6)
    ('along', False, 0.3)
    """

    axis: Axis
    """Along or across."""
    found_mm_per_m: float
    """The least slope along this axis above which the limits on heights are met, whatever the slope
    along the other, mm/m; NaN where they are met above none."""
    allowed_mm_per_m: float
    """The greatest slope allowed, mm/m."""
    met: bool | None
    """The verdict on this limit; None where the readings do not tell."""
    probability: float
    """The probability that it is met; NaN where no uncertainties are given."""
    probability_error: float
    """Standard error of that number."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Verdict(Result):
    """Whether heights meet the limits, and how sure that is.

    >>> import truebed
    >>> verdict = truebed.check([0, 0.15], 0.1, covariance=[[4e-4, 0], [0, 4e-4]])
    >>> verdict.met, round(verdict.probability, 4), verdict.meets_limits
    (True, 0.9615, True)
    """

    met: bool | None
    """The verdict on all limits together; None where the readings do not tell at the risk asked
    for."""
    probability: float
    """The probability that all limits are met, by the whole covariance of the heights; NaN where no
    uncertainties are given."""
    probability_error: float
    """Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    computed outright."""
    basis: Literal["estimates", "exact", "probability"]
    """What the verdict rests on: on the heights as they are, since no uncertainties are given; on
    differences that are known exactly; or on the probability."""
    reasons: list[str]
    """Why ``met`` is None whatever the probability, the first reason first; or what was overruled."""
    beforehand: Literal["nothing", "prediction"]
    """What the probability takes to be known of the heights before they were read: nothing, every height
    being equally likely, or what a plan predicted."""
    excess_p: float | None
    """The probability of reading heights at least so far beyond the limits although the true heights meet
    them, at most; ``met`` is only False where it is at most the risk. None where no such test is made."""
    meets_limits: bool
    """Whether the heights as they are given meet all limits."""
    slopes_mm_per_m: list[float]
    """The slope of the target along and across, mm/m: the one nearest to level that the limits allow
    and with which they are met."""
    findings: list[Finding]
    """One for each set of points that a limit binds: all of them, every line, every joint."""
    slopes: list[SlopeFinding]
    """One for each axis, where the limits allow the target to slope."""
    off_lines: list[list[int]]
    """Points, by index, that lie on no line along and on no line across, where limits ask for such
    lines: no limit on lines binds them."""

    def __repr__(self) -> str:
        sure = "" if self.basis == "estimates" else f", probability={self.probability!r}"
        why = f", reasons={self.reasons!r}" if self.reasons else ""
        return f"Verdict(verdict={in_words(self.met)!r}{why}{sure}, findings={shown(self.findings)})"


def check(
    heights: Lengths,
    limits: Length | Limits,
    *,
    covariance: npt.ArrayLike | None = None,
    joints: Iterable[Sequence[Index]] | None = None,
    xy: Positions | None = None,
    rule: Rule | None = None,
    risk: float | None = None,
    level: float = 0.05,
    overrule: bool = False,
    scale: bool = False,
    expected: ShimPlan | tuple[npt.ArrayLike, npt.ArrayLike] | None = None,
    settlement: Length = 0,
) -> Verdict:
    """Holds ``heights``, shape (n,), against ``limits``, a plain length being the overall ±.

    ``joints`` are pairs of points, by index or by id, on the two sides of a slate joint. ``xy``,
    shape (n, 2), is where the points lie in plan; only limits along and across lines and slopes need
    it. All is exact to the nanometre: a difference of just the limit is met.

    With a ``covariance`` of the heights, mm², shape (n, n) in the order of ``heights`` (that of
    :class:`Heights` is taken from them), there is a probability for each limit and for all together,
    and ``met`` is the verdict of the ``rule``: ``"iso-14253-1"``, the default, says that limits are
    met where that has a probability of 95 % or more, not met where heights that meet them would be read
    so far beyond with a probability of 5 % or less, and nothing in between (None);
    ``"guard-band"`` does so for the ``risk`` of your choice; ``"simple-acceptance"`` takes the heights
    as they are, and always says something (JCGM 106:2012).

    Where ``heights`` are :class:`Heights` whose readings contradict each other (``p_value`` below
    ``level``), were read by a laser without ``points``, or of which one reading was left out that no data
    can tell from another, ``met`` is None and ``reasons`` says so; ``overrule`` gives a verdict all the same.
    ``scale`` is for uncertainties that hold up to a common factor only: the covariance is multiplied by
    the variance factor, with Student's t in place of the normal distribution.

    ``expected`` is the plan that was carried out before ``heights`` were read, or heights and their
    covariance, mm and mm²: what it predicted then counts beside the readings. ``settlement`` is by how
    much each point may have sunk since, as a standard uncertainty.

    Raises :class:`InputError` for sizes that differ, no heights at all, limits that are negative
    or none, limits along or across without ``xy`` or without a line of two points, a joint step
    without ``joints``, joints of points that are not there, a covariance
    that is none, a risk that is not above 0 and below 0.5; :class:`InputTypeError` for what is of
    another type.

    >>> import truebed
    >>> truebed.check([0, 0.15, 0.05], "0.1 mm").met
    True
    >>> readings = [truebed.rise("A", "B", 0.15, 0.03), truebed.rise("A", "C", 0.05, 0.03)]
    >>> verdict = truebed.check(truebed.adjust(readings), "0.1 mm", risk=0.01)
    >>> print(verdict.met, round(verdict.probability, 2))
    None 0.95
    """
    at = heights_of(xy, heights)
    survey: Any = getattr(heights, "_solution", None)
    return _truebed.check(
        at.xy,
        at.heights,
        covariance_of(at, heights, covariance),
        limits,
        indices("joints", joints, at.ids),
        rule,
        risk,
        at.ids,
        survey,
        level,
        bool(overrule),
        bool(scale),
        _prediction(expected, settlement, len(at.heights)),
    )


def _prediction(expected: Any, settlement: Length, count: int) -> Any:
    """Heights, covariance and settlement of what was expected."""
    if expected is None:
        return None
    from ._plan import ShimPlan

    if isinstance(expected, ShimPlan):
        heights, covariance = expected.tops_mm, expected.predicted_covariance
        if covariance is None:
            said = ("expected", "a plan made without a covariance", "a plan made with one")
            raise InputTypeError(VALUE, [said])
    elif isinstance(expected, tuple) and len(expected) == 2:
        heights, covariance = expected
    else:
        form = "a ShimPlan, or a pair of heights and their covariance"
        raise InputTypeError(VALUE, [("expected", type(expected).__name__, form)])
    return (
        _array.lengths("expected", heights, count),
        _array.table("expected.covariance", covariance, (count, count)),
        settlement,
    )


@dataclass(frozen=True, slots=True, eq=False)
class GlobalRisks(Result):
    """How often a rule of acceptance goes wrong over many beds.

    >>> import truebed
    >>> risks = truebed.global_risks(("gamma", 4, 0.25), 0.25, tolerance=2, acceptance=2)
    >>> round(risks.consumer, 4), round(risks.producer, 4)
    (0.008, 0.0174)
    """

    consumer: float
    """The probability that a bed is accepted and does not conform."""
    producer: float
    """The probability that a bed is rejected and does conform."""
    nonconforming: float
    """The probability that a bed does not conform."""


Prior: TypeAlias = tuple[Literal["normal", "gamma"], float, float]
"""What is known before anything is measured: ``("normal", mean, sigma)`` or
``("gamma", shape, scale)``."""


def global_risks(
    prior: Prior, sigma: float, *, tolerance: float, acceptance: float
) -> GlobalRisks:
    """The risks (JCGM 106:2012, 9.5) of accepting what is measured to be at most ``acceptance`` where
    at most ``tolerance`` is allowed, with a standard uncertainty ``sigma`` of measurement; all in one
    unit.

    Raises :class:`InputError` for uncertainties and scales that are not from 1e-9 to 1e9, shapes not
    from 1e-3 to 1e4, a mean or a tolerance not from -1e9 to 1e9, and an acceptance that is not finite.

    >>> import truebed
    >>> risks = truebed.global_risks(("gamma", 4, 0.25), 0.25, tolerance=2, acceptance=1.7)
    >>> round(risks.consumer, 5)
    0.00126
    """
    return _truebed.global_risks(prior, _truebed.plain("sigma", sigma), _truebed.plain("tolerance", tolerance), _truebed.plain("acceptance", acceptance))


def guard_band(prior: Prior, sigma: float, *, tolerance: float, risk: float) -> float:
    """The guard band that brings the consumer's risk of :func:`global_risks` down to ``risk``: what is
    measured is accepted up to the tolerance less this.

    Raises what :func:`global_risks` does, and for a risk that is not above 0 and below 0.5 or no
    smaller than the part of beds that do not conform.

    >>> import truebed
    >>> round(truebed.guard_band(("gamma", 4, 0.25), 0.25, tolerance=2, risk=0.001), 4)
    0.3282
    """
    return _truebed.guard_band(prior, _truebed.plain("sigma", sigma), _truebed.plain("tolerance", tolerance), _truebed.plain("risk", risk))
