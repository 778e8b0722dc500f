"""Heights held against limits."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from . import _truebed, array
from ._truebed import Limits
from .length import Length, Lengths, Positions
from .result import Result, shown

Limit: TypeAlias = Literal["overall", "along", "across", "joint_step", "named"]
"""Which of the limits."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Finding(Result):
    """Whether one limit is met over the points that it binds."""

    limit: Limit
    """Which limit."""
    points: list[int]
    """Indices of the points that it binds."""
    found_mm: float
    """The difference between the highest and the lowest of them, mm."""
    allowed_mm: float
    """The largest difference allowed, mm: twice a ± limit, once a joint step."""
    met: bool
    """Whether the difference is allowed."""

    def __repr__(self) -> str:
        return (
            f"Finding(limit={self.limit!r}, points={shown(self.points)}, "
            f"found_mm={self.found_mm!r}, allowed_mm={self.allowed_mm!r}, met={self.met})"
        )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Verdict(Result):
    """Whether heights meet the limits."""

    met: bool
    """Whether every limit is met."""
    findings: list[Finding]
    """One for each set of points that a limit binds: all of them, every line, every joint. A
    limit along or across lines of which none has two points, and a joint step without joints,
    have none."""

    def __repr__(self) -> str:
        return f"Verdict(met={self.met}, findings={shown(self.findings)})"


def check(
    heights: Lengths,
    limits: Length | Limits,
    *,
    joints: Iterable[Sequence[int]] | None = None,
    xy: Positions | None = None,
) -> Verdict:
    """Holds ``heights``, shape (n,), against ``limits``, a plain length being the overall ±.

    ``joints`` are pairs of indices of the points on the two sides of a slate joint. ``xy``, shape
    (n, 2), is where the points lie in plan; only limits along and across lines and slopes need it. All is
    exact to the nanometre: a difference of just the limit is met.

    Raises :class:`InputError` for sizes that differ, no heights at all, limits that are negative
    or none, limits along or across without ``xy``, and joints of points that are not there;
    :class:`InputTypeError` for what is of another type.
    """
    places = None if xy is None else array.positions(xy)
    count = None if places is None else len(places)
    heights = array.lengths("heights", heights, count)
    met, findings = _truebed.check(places, heights, limits, joints)
    return Verdict(met, [Finding(*finding) for finding in findings])
