"""What a length may be given as."""

from typing import TypeAlias

Length: TypeAlias = float | str
"""A number of millimetres, or a text with a unit such as ``"0.010 in"`` or ``"1/64 in"``."""
