"""Signatures that several calls share and one place holds."""

import inspect
from collections.abc import Callable
from typing import Any, TypeVar

Call = TypeVar("Call", bound=Callable[..., Any])


def takes(read: Callable[..., Any], *, besides: tuple[str, ...] = ()) -> Callable[[Call], Call]:
    """Shows the arguments of ``read``, but for those ``besides``, as the signature of a call that
    hands its options on to it. Arguments that the call has of its own stay."""

    def shown(call: Call) -> Call:
        own = inspect.signature(call)
        handed = inspect.signature(read).parameters
        options = [
            it for name, it in handed.items()
            if name not in own.parameters and name not in besides
        ]
        named = [it for it in own.parameters.values() if it.kind is not it.VAR_KEYWORD]
        setattr(call, "__signature__", own.replace(parameters=[*named, *options]))
        return call

    return shown
