"""What results have in common."""

from collections.abc import Sequence
from typing import Any

import numpy as np


class Result:
    """Base of the frozen result classes: arrays that cannot be written to, equality by value,
    pickling through the constructor."""

    __slots__ = ()

    def __post_init__(self) -> None:
        for value in self._values():
            if isinstance(value, np.ndarray):
                value.flags.writeable = False

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, type(self)):
            return NotImplemented
        return all(map(_same, self._values(), other._values()))

    def __reduce__(self) -> tuple[type, tuple[Any, ...]]:
        return type(self), self._values()

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, as plain values that JSON can hold: arrays as lists, results in it
        as dicts. What is private to the result is left out."""
        names: tuple[str, ...] = self.__slots__
        fields = zip(names, map(_plain, self._values()))
        return {name: value for name, value in fields if name[0] != "_"}

    def _values(self) -> tuple[Any, ...]:
        # The slots of a dataclass are its fields.
        names: tuple[str, ...] = self.__slots__
        return tuple([getattr(self, name) for name in names])


def _plain(value: Any) -> Any:
    if isinstance(value, Result):
        return value.to_dict()
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value


def _same(mine: Any, theirs: Any) -> bool:
    """Whether two values of a field are alike; what both do not know is."""
    if isinstance(mine, np.ndarray):
        return np.array_equal(mine, theirs, equal_nan=True)
    if isinstance(mine, float) and mine != mine:
        return bool(theirs != theirs)
    return bool(mine == theirs)


def shown(items: Sequence[object], most: int = 16) -> str:
    """A list as a repr shows it: its first items, and how many more there are."""
    more = [f"… {len(items) - most} more"] if len(items) > most else []
    return f"[{', '.join([*map(repr, items[:most]), *more])}]"
