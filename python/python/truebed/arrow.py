"""Plans and jobs over columns, by the Arrow PyCapsule interface.

Anything with ``__arrow_c_stream__`` or ``__arrow_c_array__`` goes in: tables of pyarrow, polars, DuckDB,
pandas. What comes out speaks the same protocol: ``pyarrow.table(…)``, ``polars.DataFrame(…)`` and the
others take it. truebed itself needs none of these libraries.

Rows are worked on while somebody reads, batch by batch, so memory does not grow with their number. Every
row in is a row out, in the same order. A row with something wrong has the fields and what they expect in
the column ``error``, and null in the others; it raises nothing.
"""

from __future__ import annotations

from typing import Any, Protocol

from . import _truebed
from ._frame import counts
from ._length import Length
from ._problem import Order, Stock
from ._truebed import Budget, Limits

__all__ = ["Columns", "plan", "run_jobs"]


class Columns(Protocol):
    """Columns that go out: worked out anew for each reader, if what went in can be read again."""

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...


def plan(
    data: Any,
    *,
    stock: Stock | None = None,
    limits: Length | Limits | None = None,
    order: Order = "fewest-pieces",
    keep_highest: bool = True,
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    budget: int | Budget | None = None,
    threads: int | None = None,
) -> Columns:
    """Chooses shims for the table in each row, as :func:`truebed.plan_shims` does for one.

    Columns in: ``x_mm``, ``y_mm`` and ``height_mm``, each a list of numbers, one for each support; and
    ``id``, of any type, which goes out as it came in. ``stock`` and ``limits`` are those of all rows.
    Without a ``stock`` each row has its own in the columns ``stock_mm`` and ``stock_count`` (lists; a
    null count is as many as it takes); without ``limits`` each row has its overall ± in the column
    ``limit_mm``.

    Columns out: ``id``; ``status`` ("proven", "budget" or "infeasible"); ``pieces``; ``worst_mm``;
    ``stacks``, for each support a list of the thicknesses in mm, thickest first; ``error``.

    ``threads`` is the number of threads, by default one for each core. The other arguments are those of
    :func:`truebed.plan_shims`. Raises :class:`truebed.InputError` for columns that are missing or of
    another type, and what :func:`truebed.plan_shims` raises for the stock, the limits and the options.

    >>> import pyarrow, truebed.arrow
    >>> data = pyarrow.table({"id": ["hall"], "x_mm": [[0, 900]], "y_mm": [[0, 0]], "height_mm": [[0, -1.1]]})
    >>> plans = pyarrow.table(truebed.arrow.plan(data, stock={0.5: 4}, limits=0.1))
    >>> plans.select(["id", "status", "pieces", "stacks"]).to_pylist()
    [{'id': 'hall', 'status': 'proven', 'pieces': 2, 'stacks': [[], [0.5, 0.5]]}]
    """
    return _truebed.arrow_plan(
        data,
        stock=counts(stock),
        limits=limits,
        order=order,
        keep_highest=keep_highest,
        max_pieces=max_pieces,
        max_stack=max_stack,
        budget=budget,
        threads=threads,
    )


def run_jobs(data: Any, *, column: str = "job", threads: int | None = None) -> Columns:
    """Runs the job in each row, as :func:`truebed.run_job` does for one.

    Columns in: job documents as JSON text, in the ``column`` of that name; and ``id``, of any type, which
    goes out as it came in. Columns out: ``id``; ``job``, the document with its outcome; ``error``.

    ``threads`` is the number of threads, by default one for each core. Raises
    :class:`truebed.InputError` for a column that is missing.

    >>> import pyarrow, truebed.arrow
    >>> done = pyarrow.table(truebed.arrow.run_jobs(pyarrow.table({"job": ["{}"]})))
    >>> done.column("error").to_pylist()[0][:8], done.column("job").to_pylist()
    ('version:', [None])
    """
    return _truebed.arrow_run_jobs(data, column=column, threads=threads)
