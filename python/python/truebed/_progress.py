"""How far a long batch has come."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeAlias

from ._error import VALUE, InputTypeError

Progress: TypeAlias = bool | Callable[[int, int], object]
"""True for a bar, which takes tqdm to be installed; or what is called with the number of problems
that are done and that of all."""


@contextmanager
def reported(progress: Progress, total: int) -> Iterator[Callable[[int], object] | None]:
    """What to call with the number of problems that are done, if anything."""
    if callable(progress):
        yield lambda done: progress(done, total)
        progress(total, total)
        return
    if not isinstance(progress, bool):
        got = f"{progress!r} ({type(progress).__name__})"
        raise InputTypeError(VALUE, [("progress", got, "True, False or what can be called")])
    tqdm = _tqdm() if progress else None
    if tqdm is None:
        yield None
        return
    with tqdm(total=total, unit="plan") as bar:
        yield lambda done: bar.update(done - bar.n)
        bar.update(total - bar.n)


def _tqdm() -> Any:
    try:
        from tqdm.auto import tqdm
    except ImportError:
        return None
    return tqdm
