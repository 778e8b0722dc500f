"""What a length may be given as."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy.typing as npt

Length: TypeAlias = float | str
"""A number of millimetres, or a text with a unit such as ``"0.010 in"`` or ``"1/64 in"``."""

Lengths: TypeAlias = npt.ArrayLike | Sequence[Length] | Mapping[str, Length]
"""Lengths of n points: an array-like, shape (n,), a mapping id -> length, or a pandas Series."""

Positions: TypeAlias = npt.ArrayLike | Sequence[Sequence[Length]] | Mapping[str, Sequence[Length]]
"""Positions in plan of n points, along the bed and across it: an array-like, shape (n, 2), a
mapping id -> (x, y), or a pandas DataFrame, of whose columns x and y count where it has them."""
