"""Plans and jobs over columns, by the Arrow PyCapsule interface.

Anything with ``__arrow_c_stream__`` or ``__arrow_c_array__`` goes in: tables of pyarrow, polars, DuckDB,
pandas. What comes out speaks the same protocol: ``pyarrow.table(…)``, ``polars.DataFrame(…)`` and the
others take it. truebed itself needs none of these libraries.

Rows are worked on while somebody reads, batch by batch, so memory does not grow with their number. Every
row in is a row out, in the same order. A row with something wrong has the fields and what they expect in
the column ``error``, and null in the others; it raises nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from . import _truebed
from ._estimate import Rates, by_name
from ._frame import counts
from ._length import Length
from ._problem import Order, Stock
from ._truebed import Budget, Limits

__all__ = ["Columns", "estimate", "plan", "run_jobs"]


class Columns(Protocol):
    """Columns out. They are computed anew for each reader, if the input can be read again."""

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


def estimate(
    data: Any,
    *,
    stock: Stock | None = None,
    limits: Length | Limits | None = None,
    order: Order = "fewest-pieces",
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    jobs: int = 1_000,
    seed: int = 0,
    standard_error: float | None = None,
    confidence: float = 0.95,
    prices: Rates | None = None,
    minutes: Rates | None = None,
    slates: int = 0,
    quantiles: Sequence[float] = (0.05, 0.5, 0.95),
    threads: int | None = None,
) -> Columns:
    """Estimates what jobs on the floor in each row will take, as :func:`truebed.estimate` does for one.

    Columns in: ``x_mm`` and ``y_mm``, each a list of numbers, one for each support; the floor that nobody has
    measured, either its F-numbers ``ff`` and ``fl`` or the name of a class, ``floor_class``; ``id``,
    ``stock_mm``, ``stock_count`` and ``limit_mm`` as :func:`plan` takes them. ``jobs`` are drawn for each row,
    all rows from the same ``seed``.

    Columns out: ``id``; ``served``, the share of the jobs that the stock serves, and its interval from
    ``served_least`` to ``served_most``; ``pieces``, ``lifts``, ``thickest_mm``, ``cost`` and ``minutes``, each
    a list of the ``quantiles`` over the jobs served (null where there are no ``prices`` or ``minutes``, NaN
    where no job is served); ``error``.

    The other arguments are those of :func:`truebed.estimate`. Raises :class:`truebed.InputError` for columns
    that are missing or of another type, and for arguments out of range.

    >>> import pyarrow, truebed.arrow
    >>> legs = {"x_mm": [[0, 2134, 2134, 0]] * 2, "y_mm": [[0, 0, 1016, 1016]] * 2}
    >>> floors = pyarrow.table({"id": ["hall", "cellar"], "ff": [35, 12], "fl": [25, 9], **legs})
    >>> found = truebed.arrow.estimate(floors, stock={3: 8, 1: 8, 0.2: 12}, limits=0.15, jobs=100)
    >>> hall, cellar = pyarrow.table(found).to_pylist()
    >>> hall["served"] > cellar["served"], len(hall["pieces"]), hall["cost"]
    (True, 3, None)
    """
    options = _truebed.EstimateOptions(
        jobs=jobs,
        seed=seed,
        standard_error=standard_error,
        confidence=confidence,
        again=None,
        prices=by_name("prices", prices),
        minutes=by_name("minutes", minutes),
        slates=slates,
        on_frame=None,
        threads=threads,
    )
    return _truebed.arrow_estimate(
        data,
        stock=counts(stock),
        limits=limits,
        order=order,
        max_pieces=max_pieces,
        max_stack=max_stack,
        options=options,
        quantiles=list(quantiles),
    )


def run_jobs(
    data: Any,
    *,
    column: str = "job",
    budget: int | Budget | None = None,
    threads: int | None = None,
) -> Columns:
    """Runs the job in each row, as :func:`truebed.run_job` does for one.

    Columns in: job documents as JSON text, in the ``column`` of that name; and ``id``, of any type, which
    goes out as it came in. Columns out: ``id``; ``job``, the document with its outcome; ``error``.

    ``budget`` caps what each job may take, whatever the job itself allows, and ``threads`` is the number of
    threads, by default one for each core. Raises :class:`truebed.InputError` for a column that is missing.

    >>> import pyarrow, truebed.arrow
    >>> done = pyarrow.table(truebed.arrow.run_jobs(pyarrow.table({"job": ["{}"]})))
    >>> done.column("error").to_pylist()[0][:8], done.column("job").to_pylist()
    ('version:', [None])
    """
    return _truebed.arrow_run_jobs(data, column=column, budget=budget, threads=threads)
