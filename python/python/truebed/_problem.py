"""Shim problems: the arguments that the shim solvers share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal, Protocol, TypeAlias, TypedDict

import numpy.typing as npt

from . import _truebed
from ._truebed import Budget, Limits, Shim, ShimProblem
from ._error import VALUE, Error, InputError, InputTypeError
from ._frame import counts
from ._length import Length, Lengths, Positions
from ._points import Ids, Index, covariance_of, indices, matched, points

Stock: TypeAlias = (
    Mapping[str, int | None]
    | Mapping[float, int | None]
    | Mapping[Length, int | None]
    | Sequence[Shim]
)
"""Counts by thickness (None for as many as it takes), or shims one by one."""

RiskOf: TypeAlias = Literal["each", "all"]
"""What a risk is one of: each difference of tops by itself, or all limits together."""

StockIs: TypeAlias = Literal["left", "whole"]
"""What the counts of a stock are where stacks are in place: what is left on hand beside them, or all
there are."""

Order: TypeAlias = Literal["fewest-pieces", "flattest", "fewest-lifts", "cheapest"]
"""The order of goals; see :func:`truebed.plan_shims`."""


class Stacked(Protocol):
    """What has stacks, as a :class:`truebed.ShimPlan` has."""

    @property
    def stacks(self) -> list[list[float]]: ...


Placed: TypeAlias = Stacked | Sequence[Sequence[Length]] | Mapping[str, Sequence[Length]]
"""Stacks in place: a plan that was carried out, or for each support (in order or by id) the thickness
of each piece."""


class TradeoffOptions(TypedDict, total=False):
    """The arguments that all shim solvers take besides the problem itself."""

    keep_highest: bool
    max_pieces: int | None
    max_stack: Length | None
    joints: Iterable[Sequence[Index]] | None
    budget: int | Budget | None
    placed: Placed | None
    covariance: npt.ArrayLike | None
    risk: float | None
    risk_of: RiskOf
    stock_is: StockIs | None


class PlanOptions(TradeoffOptions, total=False):
    """Those of a plan."""

    order: Order


class _Needed(TypedDict):
    xy: Positions
    heights: Lengths
    stock: Stock
    limits: Length | Limits


class PlanArguments(_Needed, PlanOptions):
    """The arguments of :func:`truebed.plan_shims` by name; an item of
    :func:`truebed.plan_many`.

    >>> import truebed
    >>> table: truebed.PlanArguments = {
    ...     "xy": [[0, 0], [900, 0]], "heights": [0, -1.1], "stock": {0.5: 4}, "limits": 0.1
    ... }
    >>> truebed.plan_shims(**table) == truebed.plan_many([table])[0]
    True
    """


def read(
    xy: Positions,
    heights: Lengths,
    stock: Stock,
    limits: Length | Limits,
    *,
    order: Order = "fewest-pieces",
    keep_highest: bool = True,
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    joints: Iterable[Sequence[Index]] | None = None,
    budget: int | Budget | None = None,
    placed: Placed | None = None,
    covariance: npt.ArrayLike | None = None,
    risk: float | None = None,
    risk_of: RiskOf = "each",
    stock_is: StockIs | None = None,
) -> ShimProblem:
    """The problem as the solvers take it, with everything checked. The arguments of the solvers and
    their defaults stand here."""
    at = points(xy, heights)
    ids = at.ids
    return ShimProblem(
        at.xy,
        at.heights,
        counts(stock),
        limits,
        order=order,
        keep_highest=keep_highest,
        max_pieces=max_pieces,
        max_stack=max_stack,
        joints=indices("joints", joints, ids),
        budget=budget,
        placed=_stacks(placed, ids),
        covariance=covariance_of(at, heights, covariance),
        risk=risk,
        risk_of=risk_of,
        stock_is=stock_is,
        owned=getattr(placed, "left", None),
        ids=ids,
        survey=getattr(heights, "_solution", None),
    )


def _stacks(placed: Placed | None, ids: Ids) -> Any:
    stacks: Any = getattr(placed, "stacks", placed)
    names: Ids = None if stacks is placed else getattr(placed, "ids", None)
    # A plan of supports with ids fits them in any order.
    if ids is not None and names is not None:
        stacks = dict(zip(names, stacks))
    return matched("placed", stacks, ids)


def read_many(items: Iterable[PlanArguments]) -> list[ShimProblem]:
    """A problem for each item. Everything that is wrong with any of them is reported at once."""
    if not isinstance(items, Iterable):
        got = f"{type(items).__name__}, which is no list"
        raise InputTypeError(VALUE, [("problems", got, f"a list with {_ITEM} for each plan")])
    given = list(items)
    problems: list[ShimProblem] = []
    refused: list[Error] = []
    told: list[tuple[str, str, str]] = []
    for at, problem in enumerate(_truebed.read_plain(given)):
        if problem is not None:
            problems.append(problem)
            continue
        try:
            _check_names(given[at])
            problems.append(read(**given[at]))
        except Error as error:
            refused.append(error)
            for field, got, expected in error.problems:
                told.append((f"[{at}].{field}".rstrip("."), got, expected))
    if refused:
        raise type(refused[0])(refused[0].code, told)
    return problems


_ITEM = "a dict of the arguments of plan_shims"


def _check_names(item: Mapping[str, Any]) -> None:
    if not isinstance(item, Mapping):
        raise InputTypeError(VALUE, [("", type(item).__name__, _ITEM)])
    needed, optional = PlanArguments.__required_keys__, PlanArguments.__optional_keys__
    names = ", ".join(PlanArguments.__annotations__)
    unknown = [
        (str(name), "an unknown argument", f"one of {names}")
        for name in item
        if name not in needed | optional
    ]
    missing = [
        (name, "nothing", "a value") for name in _Needed.__annotations__ if name not in item
    ]
    if unknown or missing:
        raise InputError(VALUE, unknown + missing)
