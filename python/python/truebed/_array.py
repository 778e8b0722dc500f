"""From array-likes to the arrays that the extension takes: C-contiguous and of float64."""

from collections.abc import Callable, Iterable, Sequence
from itertools import chain
from typing import Any

import numpy as np
import numpy.typing as npt

from . import _truebed
from ._error import SHAPE, VALUE, InputError, InputTypeError
from ._length import Lengths, Positions

Floats = npt.NDArray[np.float64]

Read = Callable[[str, list[Any], tuple[int, ...]], Floats]
"""Reads elements one by one into an array of a shape."""


def positions(xy: Positions, field: str = "xy") -> Floats:
    """Positions in plan, shape (n, 2), in millimetres."""
    return _array(field, xy, (None, 2), _truebed.lengths)


def lengths(field: str, values: Lengths, count: int | None) -> Floats:
    """Lengths, shape (count,), in millimetres; any number of them where the count is None."""
    return _array(field, values, (count,), _truebed.lengths)


def numbers(field: str, values: npt.ArrayLike, count: int | None) -> Floats:
    """Plain numbers, shape (count,); any number of them where the count is None."""
    return _array(field, values, (count,), _truebed.numbers)


def polygon(field: str, corners: Positions) -> Floats:
    """The corners of a polygon, shape (k, 2), in millimetres."""
    return _array(field, corners, (None, 2), _truebed.lengths)


def place(field: str, values: Lengths) -> list[float]:
    """One position in plan, in millimetres."""
    return list(map(float, lengths(field, values, 2)))


def tables(xy: Positions | npt.ArrayLike, z: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Heights, shape (tables, points), with positions, shape (points, 2) or (tables, points, 2)."""
    z = _array("z", z, (None, None), _truebed.lengths)
    each = (*z.shape, 2)
    shape = each if _depth(xy, len(each)) == len(each) else each[1:]
    return _array("xy", xy, shape, _truebed.lengths), z


def table(field: str, values: npt.ArrayLike, shape: tuple[int | None, int]) -> Floats:
    """Plain numbers in rows."""
    return _array(field, values, shape, _truebed.numbers)


def listed(field: str, items: Any, expected: str) -> list[Any]:
    """The items of what has some, but for a text."""
    if isinstance(items, str) or not isinstance(items, Iterable):
        got = f"{type(items).__name__}, which is no list"
        raise InputTypeError(VALUE, [(field, got, expected)])
    return list(items)


def _array(
    field: str,
    values: npt.ArrayLike | Lengths | Positions,
    shape: tuple[int | None, ...],
    read: Read,
) -> Floats:
    if isinstance(values, (list, tuple)):
        return _of_list(field, values, shape, read)
    if _has_unit(values):
        values = _in_mm(field, values, read)
    if hasattr(values, "__array__"):
        given = np.asanyarray(values)
        if given.ndim > 0:
            return _of_array(field, given, shape, read)
    try:
        objects = np.asarray(values, dtype=object)
    except ValueError as error:
        raise _rows_differ(field, error, shape) from None
    if objects.ndim == 0:
        got = f"{type(values).__name__}, which is no array"
        raise InputTypeError(VALUE, [(field, got, f"an array of {_named(shape)}")])
    return _of_objects(field, objects, shape, read)


def _has_unit(values: Any) -> bool:
    return hasattr(values, "magnitude") or hasattr(values, "to_value")


def _in_mm(field: str, values: Any, read: Read) -> Any:
    """The millimetres of what carries a unit, as the arrays and numbers of Pint and Astropy do."""
    unit = str(getattr(values, "units", getattr(values, "unit", "a unit"))) or "no unit"
    got = f"{'an array' if getattr(values, 'ndim', 1) else 'a quantity'} in {unit}"
    if read is not _truebed.lengths:
        raise InputTypeError(VALUE, [(field, got, "plain numbers")])
    try:
        return values.to_value("mm") if hasattr(values, "to_value") else values.to("mm").magnitude
    except Exception as error:
        raise InputError(VALUE, [(field, got, "lengths")]) from error


def _listed_in_mm(field: str, values: Sequence[Any], read: Read) -> list[Any]:
    """The same of the rows and the elements of a list: NumPy would drop their units."""
    each = []
    for at, value in enumerate(values):
        if _has_unit(value):
            value = _in_mm(f"{field}[{at}]", value, read)
        elif isinstance(value, (list, tuple)):
            value = _listed_in_mm(f"{field}[{at}]", value, read)
        each.append(value)
    return each


def _of_array(
    field: str, values: npt.NDArray[Any], shape: tuple[int | None, ...], read: Read
) -> Floats:
    _check_kind(field, values, shape)
    masked = isinstance(values, np.ma.MaskedArray)
    if values.dtype.kind in "fiu" and not masked:
        _check_shape(field, values.shape, shape)
        # What is beyond the range of a float becomes infinite, and is refused like it.
        with np.errstate(over="ignore"):
            # Always a copy: it is aligned, contiguous and nobody else's while the GIL is released.
            return np.array(values, dtype=np.float64, order="C", subok=False)
    # One by one, so that a text is read with its unit and a bool or a masked value is refused.
    objects = np.array(values, dtype=object, subok=False)
    if masked:
        objects[np.ma.getmaskarray(values)] = None
    return _of_objects(field, objects, shape, read)


def _of_list(
    field: str,
    values: list[Any] | tuple[Any, ...],
    shape: tuple[int | None, ...],
    read: Read,
) -> Floats:
    if _are_plain(values, len(shape)):
        # By far the most common, and read ten times as fast.
        try:
            floats = np.array(values, dtype=np.float64)
        except (OverflowError, ValueError):
            pass
        else:
            _check_shape(field, floats.shape, shape)
            return floats
    for row in values:
        if isinstance(row, np.ndarray):
            _check_kind(field, row, shape)
    if _depth(values, len(shape) + 1) > len(shape):
        # NumPy does not come back from a list that holds itself.
        raise InputError(SHAPE, [(field, "lists nested too deep", _named(shape))])
    values = _listed_in_mm(field, values, read)
    try:
        objects = np.asarray(values, dtype=object)
    except ValueError as error:
        raise _rows_differ(field, error, shape) from None
    return _of_objects(field, objects, shape, read)


def _of_objects(
    field: str, objects: npt.NDArray[Any], shape: tuple[int | None, ...], read: Read
) -> Floats:
    _check_shape(field, objects.shape, shape)
    return read(field, objects.ravel().tolist(), objects.shape)


def _are_plain(values: Sequence[Any], depth: int) -> bool:
    """Whether lists of this depth hold nothing but floats and ints."""
    for _ in range(depth - 1):
        if not {*map(type, values)} <= {list, tuple}:
            return False
        values = [*chain.from_iterable(values)]
    return {*map(type, values)} <= {float, int}


def _depth(values: Any, most: int) -> int:
    """How deep arrays and lists are nested, counted as far as ``most``."""
    if not isinstance(values, (list, tuple)):
        return np.ndim(values) if hasattr(values, "__array__") else 0
    nests = (list, tuple, np.ndarray)
    if most == 1 or not any(issubclass(kind, nests) for kind in set(map(type, values))):
        return 1
    return 1 + max(_depth(row, most - 1) for row in values)


def _check_kind(field: str, values: npt.NDArray[Any], shape: tuple[int | None, ...]) -> None:
    # Of some times NumPy makes plain numbers, and of records rows, whatever their fields are called.
    if values.dtype.kind in "mMV":
        expected = f"an array of numbers or texts of {_named(shape)}"
        raise InputTypeError(VALUE, [(field, f"an array of {values.dtype}", expected)])


def _check_shape(field: str, got: tuple[int, ...], expected: tuple[int | None, ...]) -> None:
    if len(got) != len(expected) or any(e not in (None, g) for g, e in zip(got, expected)):
        raise InputError(SHAPE, [(field, f"shape {got}", _named(expected))])


def _rows_differ(field: str, error: ValueError, shape: tuple[int | None, ...]) -> InputError:
    return InputError(SHAPE, [(field, f"rows that differ ({error})", _named(shape))])


def _named(shape: tuple[int | None, ...]) -> str:
    return "shape " + str(shape).replace("None", "n")
