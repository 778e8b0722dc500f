"""What a length may be given as."""

from collections.abc import Sequence
from typing import TypeAlias

import numpy.typing as npt

Length: TypeAlias = float | str
"""A number of millimetres, or a text with a unit such as ``"0.010 in"`` or ``"1/64 in"``."""

Lengths: TypeAlias = npt.ArrayLike | Sequence[Length]
"""An array-like of lengths, shape (n,)."""

Positions: TypeAlias = npt.ArrayLike | Sequence[Sequence[Length]]
"""An array-like of positions in plan, shape (n, 2): along the bed and across it."""
