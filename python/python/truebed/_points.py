"""Points as a call gets them: where they lie, how high, and by which names they go."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._error import DUPLICATE, UNKNOWN, VALUE, InputError, InputTypeError
from ._frame import column, is_frame, names
from ._length import Lengths, Positions

Ids: TypeAlias = list[str] | None
"""The ids of points in their order; None where they have none."""

Index: TypeAlias = int | str
"""A point by its place in the order, from 0 on, or by its id."""


class Points(NamedTuple):
    """Points as the extension takes them."""

    xy: _array.Floats
    """Positions in plan, mm, shape (n, 2)."""
    heights: _array.Floats
    """Heights, mm, shape (n,)."""
    ids: Ids
    """Their ids."""
    order: list[int] | None = None
    """Where the height of each point stands among the heights as they were given, where that is
    another order."""


class Heights(NamedTuple):
    """Heights of points that may lie anywhere."""

    xy: _array.Floats | None
    """Positions in plan, mm, shape (n, 2), where they are given."""
    heights: _array.Floats
    """Heights, mm, shape (n,)."""
    ids: Ids
    """Their ids."""
    order: list[int] | None
    """As in :class:`Points`."""


def points(xy: Positions, heights: Lengths, field: str = "heights") -> Points:
    """Points with heights. Values by id, or by the labels of pandas, are matched by it. Values in order
    keep their order and take the ids of the other."""
    labels, rows = _labelled("xy", xy)
    others, values = _labelled(field, heights)
    if labels is not None and others is not None and _are_texts(labels) != _are_texts(others):
        # Of ids and the numbers that pandas counts rows by, the ids are meant as labels.
        labels, others = _unless_numbered(labels), _unless_numbered(others)
    places = _array.positions(rows)
    if labels is None and _ids(field, others) is not None:
        expected = "values in order, since the points of xy have no ids"
        raise InputError(UNKNOWN, [(field, "values by id", expected)])
    if labels is None or others is None or labels == others:
        return Points(places, _array.lengths(field, values, len(places)), _ids("xy", labels))
    order = _order(field, others, labels)
    read = _array.lengths(field, values, len(others))
    return Points(places, read[order], _ids("xy", labels), order)


def heights(values: Lengths, field: str = "heights") -> tuple[_array.Floats, Ids]:
    """Heights of points, shape (n,), wherever these lie, and the ids of the points."""
    labels, values = _labelled(field, values)
    return _array.lengths(field, values, None), _ids(field, labels)


def heights_of(xy: Positions | None, values: Lengths) -> Heights:
    """Heights of points, with or without their places."""
    if xy is None:
        read, ids = heights(values)
        return Heights(None, read, ids, None)
    return Heights(*points(xy, values))


def covariance_of(
    at: Points | Heights, values: Any, covariance: npt.ArrayLike | None
) -> _array.Floats | None:
    """The covariance of heights, shape (n, n), in the order of the points: as it is given, or that of
    adjusted heights; None where there is neither."""
    if covariance is None and hasattr(values, "ids") and hasattr(values, "mm"):
        covariance = getattr(values, "covariance", None)
    if covariance is None:
        return None
    count = len(at.heights)
    read = _array.table("covariance", covariance, (count, count))
    return read if at.order is None else np.ascontiguousarray(read[np.ix_(at.order, at.order)])


def matched(field: str, values: Any, ids: Ids) -> Any:
    """A value for each point, in the order of the points where both are by id."""
    labels, rows = _labelled(field, values)
    if ids is None:
        if isinstance(values, Mapping):
            expected = "values in order, since the points have no ids"
            raise InputError(UNKNOWN, [(field, "values by id", expected)])
        return rows
    if labels is None or labels == ids or not _are_texts(labels):
        return rows
    order = _order(field, labels, ids)
    rows = list(rows)
    return [rows[at] for at in order]


def indices(field: str, groups: Any, ids: Ids) -> Any:
    """Groups of points, such as the pairs of joints, with indices in place of ids. What is neither
    is left as it is, for the extension to refuse."""
    if groups is None or isinstance(groups, str) or not isinstance(groups, Iterable):
        return groups
    at = {} if ids is None else {id: at for at, id in enumerate(ids)}
    told: list[tuple[str, str, str]] = []
    read = []
    for number, group in enumerate(groups):
        if ids is not None and isinstance(group, Iterable) and not isinstance(group, str):
            group = list(group)
            unknown = [id for id in group if isinstance(id, str) and id not in at]
            told += [(f"{field}[{number}]", repr(id), _EXPECTED) for id in unknown]
            group = [at[id] if isinstance(id, str) and id in at else id for id in group]
        read.append(group)
    if told:
        raise InputError(UNKNOWN, told)
    return read


_EXPECTED = "an index, or the id of a point"


def _labelled(field: str, values: Any) -> tuple[list[Any] | None, Any]:
    """By which labels the values go, if by any, and the values."""
    if type(values) in _PLAIN:
        return None, values
    if isinstance(values, Mapping):
        labels = list(values)
        wrong = [label for label in labels if not isinstance(label, str)]
        if wrong:
            got = f"{wrong[0]!r} ({type(wrong[0]).__name__})"
            raise InputTypeError(VALUE, [(f"{field}, ids", got, "a mapping by ids, which are texts")])
        return labels, list(values.values())
    # Adjusted heights.
    if hasattr(values, "ids") and hasattr(values, "mm"):
        return values.ids, values.mm
    if is_frame(values) and {"x", "y"} <= {*(columns := names(values))}:
        rows = [list(row) for row in zip(column(values, "x"), column(values, "y"))]
        if "id" in columns:
            return column(values, "id"), rows
        return (list(values.index) if hasattr(values, "index") else None), rows
    # A Series or a DataFrame, without importing pandas.
    if hasattr(values, "index") and hasattr(values, "to_numpy"):
        return list(values.index), values
    return None, values


_PLAIN = (list, tuple, np.ndarray)
"""Types that have no labels and are common: recognised first."""


def _are_texts(labels: Sequence[Any]) -> bool:
    return all(isinstance(label, str) for label in labels)


def _unless_numbered(labels: list[Any]) -> list[Any] | None:
    return None if labels == list(range(len(labels))) else labels


def _ids(field: str, labels: Sequence[Any] | None) -> Ids:
    """Labels that can be ids, which are texts; what pandas numbers has none."""
    if not labels or not _are_texts(labels):
        return None
    ids = _truebed.texts(f"{field}, ids", list(labels))
    _check_once(field, ids)
    return ids


def _check_once(field: str, labels: Sequence[Any]) -> None:
    first: dict[Any, int] = {}
    told = [
        (f"{field}[{at}]", repr(label), f"a label that {field}[{first[label]}] does not have")
        for at, label in enumerate(labels)
        if first.setdefault(label, at) != at
    ]
    if told:
        raise InputError(DUPLICATE, told)


def _order(field: str, labels: Sequence[Any], wanted: Sequence[Any]) -> list[int]:
    """Where each of the wanted labels stands among the labels, which must be the same ones."""
    _check_once(field, labels)
    _check_once("xy", wanted)
    at = {label: at for at, label in enumerate(labels)}
    known = set(wanted)
    told = [(f"{field}[{it!r}]", "nothing", "a value") for it in wanted if it not in at]
    told += [(f"{field}[{it!r}]", "a value", "points of xy only") for it in at if it not in known]
    if told:
        raise InputError(UNKNOWN, told)
    return [at[label] for label in wanted]
