"""From array-likes to the arrays that the extension takes: C-contiguous and of float64."""

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from . import _truebed
from .error import SHAPE, VALUE, InputError, InputTypeError
from .length import Lengths, Positions

Floats = npt.NDArray[np.float64]


def positions(xy: Positions) -> Floats:
    """Positions in plan, shape (n, 2), in millimetres."""
    return _array("xy", xy, (None, 2), _truebed.lengths)


def lengths(field: str, values: Lengths, count: int | None) -> Floats:
    """Lengths, shape (count,), in millimetres; any number of them where the count is None."""
    return _array(field, values, (count,), _truebed.lengths)


def numbers(field: str, values: npt.ArrayLike, count: int | None) -> Floats:
    """Plain numbers, shape (count,); any number of them where the count is None."""
    return _array(field, values, (count,), _truebed.numbers)


def place(field: str, values: Lengths) -> list[float]:
    """One position in plan, in millimetres."""
    return list(map(float, lengths(field, values, 2)))


def tables(xy: Positions | npt.ArrayLike, z: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Heights, shape (tables, points), with positions, shape (points, 2) or (tables, points, 2)."""
    z = _array("z", z, (None, None), _truebed.lengths)
    shape = (*z.shape[1:], 2) if np.ndim(xy) < 3 else (*z.shape, 2)
    return _array("xy", xy, shape, _truebed.lengths), z


def table(field: str, values: npt.ArrayLike, shape: tuple[int, int]) -> Floats:
    """Plain numbers in rows."""
    return _array(field, values, shape, _truebed.numbers)


def _array(
    field: str,
    values: npt.ArrayLike | Lengths | Positions,
    shape: tuple[int | None, ...],
    read: Callable[[str, list[Any], tuple[int, ...]], Floats],
) -> Floats:
    if type(values) is np.ndarray and values.dtype.kind in "fiu":
        _check_shape(field, values.shape, shape)
        # Always a copy: it is aligned, contiguous and nobody else's while the GIL is released.
        return np.array(values, dtype=np.float64, order="C")
    # One by one, so that a text is read with its unit and a bool or a masked value is refused.
    rows = values.tolist() if isinstance(values, np.ndarray) else values
    try:
        objects = np.asarray(rows, dtype=object)
    except ValueError as error:
        raise InputError(SHAPE, [(field, f"rows that differ ({error})", _named(shape))]) from None
    if objects.ndim == 0:
        got = f"{type(values).__name__}, which is no array"
        raise InputTypeError(VALUE, [(field, got, f"an array of {_named(shape)}")])
    _check_shape(field, objects.shape, shape)
    return read(field, objects.ravel().tolist(), objects.shape)


def _check_shape(field: str, got: tuple[int, ...], expected: tuple[int | None, ...]) -> None:
    if len(got) != len(expected) or any(e not in (None, g) for g, e in zip(got, expected)):
        raise InputError(SHAPE, [(field, f"shape {got}", _named(expected))])


def _named(shape: tuple[int | None, ...]) -> str:
    return "shape " + str(shape).replace("None", "n")
