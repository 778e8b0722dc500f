"""What results have in common."""

import ast
import functools
import inspect
from collections.abc import Sequence
from typing import Any

import numpy as np

from ._truebed import Shim


class Result:
    """Base of the frozen result classes: arrays that cannot be written to, equality by value,
    pickling through the constructor."""

    __slots__ = ()

    def __init_subclass__(cls) -> None:
        if vars(cls).get("__slots__"):
            # Where this is a mapping, help finds the docstrings of the fields in it.
            setattr(cls, "__slots__", _Docs(cls))

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
        as dicts. What is private to the result is left out.

        >>> import truebed
        >>> truebed.check([0, 0.3], 0.1).findings[0].to_dict()["found_mm"]
        0.3
        """
        names: tuple[str, ...] = tuple(self.__slots__)
        fields = zip(names, map(_plain, self._values()))
        return {name: value for name, value in fields if name[0] != "_"}

    def _values(self) -> tuple[Any, ...]:
        # The slots of a dataclass are its fields.
        names: tuple[str, ...] = self.__slots__
        return tuple([getattr(self, name) for name in names])


class _Docs(dict[str, str]):
    """The docstrings of the fields of a class. They stand in its source below each field, where Python
    does not keep them, and are read when somebody asks."""

    def __init__(self, cls: type) -> None:
        super().__init__(dict.fromkeys(cls.__slots__, ""))  # type: ignore[attr-defined]
        self._cls = cls

    def __getitem__(self, name: str) -> str:
        return _docs(self._cls.__module__, self._cls.__qualname__).get(name, "")


@functools.cache
def _docs(module: str, name: str) -> dict[str, str]:
    try:
        tree = ast.parse(inspect.getsource(__import__(module, fromlist=[name])))
    except OSError:
        return {}
    docs = {}
    for cls in tree.body:
        if isinstance(cls, ast.ClassDef) and cls.name == name:
            for field, doc in zip(cls.body, cls.body[1:]):
                match field, doc:
                    case ast.AnnAssign(target=ast.Name(id=of)), ast.Expr(value=ast.Constant(str(text))):
                        docs[of] = inspect.cleandoc(text)
    return docs


def _plain(value: Any) -> Any:
    if isinstance(value, Result):
        return value.to_dict()
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, Shim):
        return {
            "thickness_mm": value.thickness,
            "count": value.count,
            "price": value.price,
            **({"name": value.name} if value.name else {}),
        }
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


def shown(items: Sequence[object], most: int = 16, names: Sequence[str] | None = None) -> str:
    """A list as a repr shows it, or a dict where the items have names: its first items, and how
    many more there are."""
    told = list(map(repr, items[:most]))
    if names is not None:
        told = [f"{name!r}: {item}" for name, item in zip(names, told)]
    more = [f"… {len(items) - most} more"] if len(items) > most else []
    inside = ", ".join([*told, *more])
    return f"[{inside}]" if names is None else f"{{{inside}}}"


def in_words(met: bool | None) -> str:
    """A verdict in one of three words, as sheets and pictures have it."""
    return "cannot tell" if met is None else "met" if met else "not met"


def told(ids: Sequence[str] | None) -> str:
    """What a repr adds of ids, where there are any."""
    return "" if ids is None else f", ids={shown(ids)}"
