"""Why a stock cannot do it, and what would help."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from . import _truebed
from ._truebed import Limits
from ._length import Length, Lengths, Positions
from ._plan import ShimPlan
from ._points import Ids
from ._problem import Stock, TradeoffOptions, read
from ._result import Result, shown, told
from ._signature import takes
from ._verdict import Limit

if TYPE_CHECKING:
    from typing_extensions import Unpack


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class ConflictLimit(Result):
    """One limit that is in conflict.

    >>> import truebed
    >>> short = truebed.shortfall([[0, 0], [900, 0]], [0, -1.1], {0.5: 1}, 0.1)
    >>> short.conflict.limits
    [ConflictLimit(limit='overall', points=[0, 1], allowed_mm=0.2)]
    """

    limit: Limit
    """Which limit."""
    points: list[int]
    """Indices of the supports that it binds."""
    allowed_mm: float
    """The largest difference that it allows, mm: twice a ± limit, once a joint step."""
    ids: Ids
    """The ids of the points; None where they have none."""

    def __repr__(self) -> str:
        return (
            f"ConflictLimit(limit={self.limit!r}, points={shown(self.points)}, "
            f"allowed_mm={self.allowed_mm!r}{told(self.ids)})"
        )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Conflict(Result):
    """A part of the problem that has no plan by itself: these supports, held to these limits alone,
    with as many pieces as it takes of all kinds but the scarce ones.

    >>> import truebed
    >>> xy = {"A": (0, 0), "B": (900, 0), "C": (0, 900)}
    >>> conflict = truebed.shortfall(xy, [0, -1.1, -0.1], {0.5: 1}, 0.1).conflict
    >>> conflict.ids, conflict.scarce, conflict.minimal
    (['A', 'B'], [0], True)
    """

    supports: list[int]
    """Supports, by index; those that may stay bare are always among them."""
    limits: list[ConflictLimit]
    """The limits over the supports that they bind."""
    scarce: list[int]
    """The kinds of which too few are on hand, by index in the stock."""
    max_pieces: bool
    """Whether the most pieces under one support stand in the way."""
    max_stack: bool
    """Whether the thickest stack stands in the way."""
    minimal: bool
    """Whether nothing of this can be left out; not known where the budget ran out."""
    ids: Ids
    """The ids of the supports; None where they have none."""

    def __repr__(self) -> str:
        return (
            f"Conflict(supports={shown(self.supports)}, limits={shown(self.limits)}, "
            f"scarce={self.scarce}, max_pieces={self.max_pieces}, max_stack={self.max_stack}, "
            f"minimal={self.minimal}{told(self.ids)})"
        )


@dataclass(frozen=True, slots=True, eq=False)
class Addition(Result):
    """The cheapest pieces that make a plan possible.

    >>> import truebed
    >>> short = truebed.shortfall([[0, 0], [900, 0]], [0, -1.1], {0.5: 1}, 0.1)
    >>> short.addition.pieces, short.addition.plan.stacks
    ([1], [[], [0.5, 0.5]])
    """

    pieces: list[int]
    """Pieces of each kind of the catalogue."""
    price: int
    """The sum of their prices, or where no kind of the catalogue has one, their number."""
    bound: float
    """No other addition costs less than this; the price itself where that is proven."""
    plan: ShimPlan
    """A plan with them."""


@dataclass(frozen=True, slots=True, eq=False)
class Shortfall(Result):
    """What stands in the way of a plan, and what would make one possible.

    >>> import truebed
    >>> short = truebed.shortfall([[0, 0], [900, 0]], [0, -1.1], {0.5: 1}, 0.1)
    >>> isinstance(short, truebed.Shortfall), short.flattest.worst_mm
    (True, 0.3)
    """

    conflict: Conflict
    """A part of the problem that has no plan by itself."""
    addition: Addition | None
    """The cheapest addition to the stock; None where nothing of the catalogue helps, or the budget
    ran out before a plan was found."""
    flattest: ShimPlan
    """The flattest plan that the stock allows, whatever the limits; that no plan is flatter is
    proven where its ``worst_mm`` is its ``bound``."""


@takes(read, besides=("order",))
def shortfall(
    xy: Positions,
    heights: Lengths,
    stock: Stock,
    limits: Length | Limits,
    *,
    catalogue: Stock | None = None,
    **options: Unpack[TradeoffOptions],
) -> Shortfall | None:
    """Finds why no plan meets the limits, and the cheapest addition to the stock with which one
    does: from ``catalogue``, a stock whose counts do not matter, or without one from more of the
    kinds at hand. None where the stock suffices, or the budget ran out before that was known.

    The other arguments are those of :func:`plan_shims`. The budget is for the conflict, the
    addition and the flattest plan each.

    The GIL is released while the search runs; Ctrl-C stops it. Raises what
    :func:`plan_shims` raises.

    >>> import truebed
    >>> site = dict(xy=[[0, 0], [900, 0]], heights=[0, -1.1], stock={0.5: 1}, limits=0.1)
    >>> short = truebed.shortfall(**site, catalogue={0.5: None, 1: None})
    >>> short.conflict.supports, short.addition.pieces  # of the catalogue
    ([0, 1], [0, 1])
    """
    return _truebed.shortfall(
        read(xy, heights, stock, limits, order="fewest-pieces", **options), catalogue
    )
