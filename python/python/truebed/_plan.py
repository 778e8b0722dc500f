"""Shim plans."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._array import listed
from ._truebed import Limits, Shim
from ._length import Length, Lengths, Positions
from ._points import Ids, Index, matched
from ._problem import PlanArguments, PlanOptions, Stock, TradeoffOptions, read, read_many
from ._progress import Progress, reported
from ._result import Result, in_words, shown
from ._signature import takes
from ._verdict import Verdict

if TYPE_CHECKING:
    import pandas
    from typing_extensions import Unpack

Status: TypeAlias = Literal["proven", "budget", "infeasible"]
"""How a search ended; see :class:`ShimPlan`."""

Units: TypeAlias = Literal["both", "metric", "inch"]
"""The units of a picture: each piece as its box names it with the other unit beside it, or one."""

_MOST_DRAWN = 60
"""How many supports a plan may have to be drawn by itself."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class ShimPlan(Result):
    """A stack of shims for every support.

    >>> import truebed
    >>> xy = {"door": (0, 0), "window": (900, 0)}
    >>> plan = truebed.plan_shims(xy, {"door": 0, "window": -1.1}, {0.5: 4}, 0.1)
    >>> plan.status, plan.pieces, plan.stacks, plan.tops_mm.tolist()
    ('proven', 2, [[], [0.5, 0.5]], [0.0, -0.1])
    """

    status: Status
    """``"proven"``: the plan meets every limit and none is better in the order of goals.
    ``"budget"``: the budget ran out, better plans may exist. ``"infeasible"``: no plan from this
    stock meets the limits; the plan is the flattest that was found at once.
    :func:`shortfall` finds the flattest of all, and what would help."""
    pieces: int
    """Pieces in all."""
    bound: float
    """Proven lower bound of the first goal in its own unit: pieces, mm of worst deviation,
    supports lifted (as always with stacks in place, unless the plan is to be flattest or cheapest)
    or price. When infeasible, the proven least worst deviation, mm."""
    worst_mm: float
    """Largest distance of a top from the target, mm."""
    target_mm: float
    """The level from which the worst deviation is smallest, mm; where the target slopes, its height
    at x = y = 0."""
    stacks: list[list[float]]
    """The stack under each support: thickness of each piece in mm, thickest first, an adjustable
    piece last and as thick as it is set."""
    lifts_mm: npt.NDArray[np.float64]
    """What each stack lifts its support by, mm, shape (n,)."""
    tops_mm: npt.NDArray[np.float64]
    """Height of each support on its stack, mm, shape (n,)."""
    used: list[int]
    """Pieces used of each kind, in the order of the stock."""
    left: list[Shim]
    """The stock that is left on hand once the plan is carried out, kind by kind: the ``stock`` of the
    next pass with this plan as ``placed``."""
    meets_limits: bool
    """Whether the tops meet every limit."""
    lifted: list[Index]
    """Supports that have to be lifted: whose stack is not what is in place; by id where they have
    ids, else by index."""
    moved: int
    """Pieces to put in, take out or set anew."""
    slopes_mm_per_m: list[float]
    """The slope of the target along and across, mm/m: level unless the limits allow another."""
    unreachable: list[Index]
    """Supports that no stack from the whole stock brings within the limits, whatever the others
    get; by id where they have ids, else by index."""
    nodes: int
    """Search nodes spent."""
    ids: Ids
    """Ids of the supports, in the order of all that the plan has of them; None where they have
    none."""
    verdict: Verdict | None
    """The verdict to expect once the plan is carried out, by the covariance of the heights and the
    uncertainties of the pieces put in or taken out, under ISO 14253-1 (at 95 %, whatever the ``risk``
    of the plan). None where all of these count as exact."""
    predicted_covariance: npt.NDArray[np.float64] | None
    """Covariance of ``tops_mm``, mm², shape (n, n): that of the heights, with the uncertainties of the
    pieces. With ``tops_mm`` it is what :func:`check` takes as ``expected``. None where all of that counts
    as exact."""
    _drawing: _truebed.Picture

    def picture(self, units: Units = "both", *, narrow: bool = False) -> str:
        """The plan as SVG text: where which shims go, how the supports lie before and after, and
        the cautions. Supports are named by their ids or else by their indices. In a notebook a plan
        shows it by itself.

        ``units`` is ``"metric"``, ``"inch"`` or ``"both"``; raises :class:`InputError` for others.
        ``narrow`` sets it for the screen of a phone, 380 pixels wide.

        >>> import truebed
        >>> plan = truebed.plan_shims([[0, 0], [900, 0]], [0, -1.1], {0.5: 4}, 0.1)
        >>> plan.picture("metric")[:4]
        '<svg'
        """
        return self._drawing.svg(units, bool(narrow))

    def _repr_svg_(self) -> str | None:
        # More than a notebook should have to hold; its text is shown instead.
        return self.picture() if len(self.stacks) <= _MOST_DRAWN else None

    def to_frame(self) -> pandas.DataFrame:
        """A pandas DataFrame with a row for each support, by its id if it has one: its stack in mm
        (thickest first), what that lifts it by, its height on it, and how many pieces it is. Needs
        pandas.

        >>> import truebed
        >>> plan = truebed.plan_shims({"A": (0, 0), "B": (900, 0)}, [0, -1.1], {0.5: 4}, 0.1)
        >>> plan.to_frame()
                   stack_mm  lift_mm  top_mm  pieces
        support
        A                []      0.0     0.0       0
        B        [0.5, 0.5]      1.0    -0.1       2
        """
        import pandas

        columns = {
            "stack_mm": self.stacks,
            "lift_mm": self.lifts_mm,
            "top_mm": self.tops_mm,
            "pieces": [len(stack) for stack in self.stacks],
        }
        return pandas.DataFrame(columns, index=self.ids).rename_axis("support")

    def settlement_mm(self, heights: Lengths) -> npt.NDArray[np.float64]:
        """How far each support settled, mm, shape (n,): the height that the plan had for its top
        (``tops_mm``), less ``heights``, shape (n,), read after the plan was carried out.

        The next plan needs no more than those readings, with the plan as ``placed``: the settlement
        is in them. To plan the same supports from their first heights, take it off those. Where the
        pieces gave way by much the same share of every lift, that share is one less the
        ``loaded_factor`` of a :class:`Shim`.

        >>> import truebed
        >>> plan = truebed.plan_shims([[0, 0], [900, 0]], [0, -1.1], {0.5: 4}, 0.1)
        >>> plan.settlement_mm([0, -0.35]).round(6).tolist()
        [0.0, 0.25]
        """
        values = matched("heights", heights, self.ids)
        return np.subtract(self.tops_mm, _array.lengths("heights", values, len(self.tops_mm)))

    def __repr__(self) -> str:
        sure = "" if self.verdict is None else f"verdict={in_words(self.verdict.met)!r}, "
        return (
            f"ShimPlan(status={self.status!r}, pieces={self.pieces}, bound={self.bound!r}, "
            f"worst_mm={self.worst_mm!r}, target_mm={self.target_mm!r}, "
            f"meets_limits={self.meets_limits}, {sure}"
            f"stacks={shown(self.stacks, names=self.ids)})"
        )


@takes(read)
def plan_shims(
    xy: Positions,
    heights: Lengths,
    stock: Stock,
    limits: Length | Limits,
    **options: Unpack[PlanOptions],
) -> ShimPlan:
    """Chooses a stack of shims for every support, so that the limits are met.

    ``xy``, shape (n, 2), and ``heights``, shape (n,), are the supports; ``limits`` is what counts
    as level, a plain length being the overall ±. ``joints`` are pairs of indices of the supports
    on the two sides of a slate joint.

    Where ``xy`` maps ids to positions (or is a DataFrame with ids as its index), ``heights`` and
    ``placed`` may be by id too. Joints, ``named`` limits and the supports that a shim may go ``under``
    then take ids for indices, and the plan names the supports by them.

    ``order`` is the order of goals: ``"fewest-pieces"`` (then smallest worst deviation, then
    fewest kinds), ``"flattest"`` (smallest worst deviation, then pieces, then kinds),
    ``"fewest-lifts"`` (supports lifted, then pieces, worst deviation, kinds), ``"cheapest"``
    (total price, then pieces, worst deviation, kinds). With ``keep_highest`` a support that
    stands highest stays bare; at least one support stays bare in any case. ``max_pieces`` is the
    most pieces under one support, ``max_stack`` the thickest stack, a length. ``budget`` is a
    number of search nodes or a :class:`Budget`.

    ``placed`` makes it the next pass: the plan that was carried out, or the thickness of each piece
    under each support. ``heights`` are then those of the tops as they stand, and ``stock`` is what
    is on hand besides (a kind that has run out has count 0), which a plan has as ``left``; pieces
    taken out go back to it. With ``stock_is="whole"`` the counts are all there are, the pieces in
    place among them. A stock that has more than the plan in place left of it is refused, unless
    ``stock_is="left"`` says that more were bought. The
    plan lifts the fewest supports again, then moves the fewest pieces; a support that is bare may
    stay so though another is read a hair higher.

    ``covariance`` is that of the heights, mm², shape (n, n) in their order; adjusted
    :class:`Heights` bring their own. The plan then has a ``verdict``: how sure it is to be level. With
    a ``risk`` (above 0, below 0.5) the plan keeps its distance from the limits, by what is known of
    the heights and of the pieces: each difference of tops is within its limit with a probability of
    at least one less the risk, or with ``risk_of="all"`` all limits together are. A plan for all that
    is not proven to be the best has the status ``"budget"`` and a bound.

    The GIL is released while the search runs; Ctrl-C stops it. Raises :class:`InputError` and
    :class:`InputTypeError` with every problem of the input; that the stock cannot do it, or that
    the budget ran out, is no error but the plan's ``status``.

    >>> import truebed
    >>> xy = {"A": (0, 0), "B": ("84 in", 0), "C": ("84 in", "40 in"), "D": (0, "40 in")}
    >>> heights = {"A": "0 in", "B": "-0.165 in", "C": "-0.043 in", "D": "-0.098 in"}
    >>> stock = {"1/16 in": 8, "0.020 in": 8, "0.005 in": None}
    >>> plan = truebed.plan_shims(xy, heights, stock, limits="0.1 mm")
    >>> plan.status, plan.pieces, plan.worst_mm
    ('proven', 9, 0.09525)
    """
    return _truebed.plan_shims(read(xy, heights, stock, limits, **options))


@takes(read, besides=("order",))
def tradeoff(
    xy: Positions,
    heights: Lengths,
    stock: Stock,
    limits: Length | Limits,
    **options: Unpack[TradeoffOptions],
) -> list[ShimPlan]:
    """The whole trade-off between pieces and flatness: first the plan with the fewest pieces, then
    every plan that is flatter than all with no more pieces than it has, up to the flattest. Pieces
    rise and ``worst_mm`` falls from each plan to the next.

    The arguments are those of :func:`plan_shims`, but for the order of goals, which is what the
    list leaves open. Where the limits cannot be met there is one plan, the same as there. The
    budget is for all plans together; where it runs out, the last plan has the status
    ``"budget"``.

    The GIL is released while the search runs; Ctrl-C stops it. Raises what
    :func:`plan_shims` raises.

    >>> import truebed
    >>> plans = truebed.tradeoff([[0, 0], [900, 0]], [0, -1.1], {0.5: 4, 0.1: 9}, 0.2)
    >>> [(plan.pieces, plan.worst_mm) for plan in plans]
    [(2, 0.05), (3, 0.0)]
    """
    return _truebed.tradeoff(
        read(xy, heights, stock, limits, order="fewest-pieces", **options)
    )


def plan_many(
    problems: Iterable[PlanArguments],
    *,
    progress: Progress = False,
    threads: int | None = None,
) -> list[ShimPlan]:
    """Plans many problems, on all cores or on a number of ``threads``. Each problem is a dict of the
    arguments of :func:`plan_shims` by name, and gets the same plan as there.

    ``progress`` is True for a bar of tqdm, if that is installed, or what is called with the number
    of problems that are done and that of all: some ten times a second, and once more at the end.
    What it raises stops the searches and is raised.

    The GIL is released while the searches run; Ctrl-C stops it. Raises
    :class:`InputError` and :class:`InputTypeError` with the problems of all items, at most 50, as
    in ``[3].stock[0].count``; nothing is solved then.

    >>> import truebed
    >>> table = {"xy": [[0, 0], [900, 0]], "heights": [0, -1.1], "stock": {0.5: 4}, "limits": 0.1}
    >>> told = []
    >>> plans = truebed.plan_many([table, table], progress=lambda done, of: told.append((done, of)))
    >>> [plan.pieces for plan in plans], told[-1]
    ([2, 2], (2, 2))
    """
    read_all = read_many(problems)
    with reported(progress, len(read_all)) as report:
        return _truebed.plan_many(read_all, report, threads)


def tradeoff_picture(
    plans: Iterable[ShimPlan], units: Units = "both", *, narrow: bool = False
) -> str:
    """Draws the plans of a :func:`tradeoff`, pieces against worst deviation, as SVG text; in a
    notebook, hand it to ``IPython.display.SVG``. ``narrow`` sets it for the screen of a phone, 380
    pixels wide.

    >>> import truebed
    >>> plans = truebed.tradeoff([[0, 0], [900, 0]], [0, -1.1], {0.5: 4, 0.1: 9}, 0.2)
    >>> truebed.tradeoff_picture(plans)[:4]
    '<svg'
    """
    plans = listed("plans", plans, "a list of ShimPlan")
    return _truebed.tradeoff_picture(plans, units, bool(narrow))
