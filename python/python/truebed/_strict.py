"""What the extension refuses in words of its own, said as every refusal is: field, got, expected."""

import functools
import re
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

from ._error import VALUE, Error, InputTypeError

P = ParamSpec("P")
T = TypeVar("T")

_NAMED = re.compile(r"(?:while processing|argument) '(\w+)'")
_KINDS = {
    "bool": "True or False",
    "str": "a text",
    "Sequence": "a list",
    "real number": "a number",
    "integer": "a whole number",
    "int": "a whole number of at least 0 that is not huge",
}


def strict(call: Callable[P, T]) -> Callable[P, T]:
    """The call with its arguments refused by :class:`InputTypeError` where the extension cannot take
    them. Any other error stays what it is."""

    @functools.wraps(call)
    def checked(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return call(*args, **kwargs)
        except Error:
            raise
        except (TypeError, ValueError, OverflowError) as error:
            said = [str(error), *getattr(error, "__notes__", [])]
            named = _NAMED.search(" ".join(said))
            if named is None:
                raise
            raise InputTypeError(VALUE, [(named[1], _got(said[0]), _expected(said[0]))]) from error

    return checked


def _got(text: str) -> str:
    first = re.sub(r"^argument '\w+': ", "", text).split("\n")[0]
    return f"a value of another type ({first[:80]})"


def _expected(text: str) -> str:
    for kind, expected in _KINDS.items():
        if kind in text:
            return expected
    return "a value of the type that the signature has"


def listed_pair(field: str, items: Any, expected: str) -> tuple[Any, Any]:
    """Two items."""
    from ._array import listed

    pair = listed(field, items, expected)
    if len(pair) != 2:
        raise InputTypeError(VALUE, [(field, f"{len(pair)} items", expected)])
    return pair[0], pair[1]
