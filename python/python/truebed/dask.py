"""Shim plans over folders of Parquet files, on the workers of Dask.

Needs ``pip install "truebed[dask]"``. On one machine, :mod:`truebed.arrow` with pyarrow, polars or DuckDB
does the same without a cluster.

A task may run more than once: a worker is lost, or its answer. Every row is there once all the same. The
name of a file that comes out follows from the content of the file that went in, from all parameters, and
from the version of truebed; a task writes to a temporary file and renames it when it is whole. So a run
that is started again goes on from what is there, and other parameters never mix with these.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import json
import os
import pickle
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from . import Budget, Limits, __version__, arrow
from ._error import VALUE, InputError
from ._length import Length
from ._problem import Order, Stock

__all__ = ["Manifest", "plan_dataset"]

_ROWS = 65_536
"""Rows in a row group of what comes out, whatever the batches are."""


@dataclass(frozen=True)
class Manifest:
    """What a run made, and what it could not make."""

    files: dict[str, str]
    """For each file that went in, by its path below the source, the file that came out of it."""
    rows: dict[str, int]
    """The rows of each file that came out."""
    failed: dict[str, str]
    """Files that went in and have nothing to show: what went wrong with each."""
    path: str
    """Where this stands in the destination, as JSON."""


def plan_dataset(
    src: str | os.PathLike[str],
    dst: str | os.PathLike[str],
    *,
    client: Any,
    stock: Stock | None = None,
    limits: Length | Limits | None = None,
    order: Order = "fewest-pieces",
    keep_highest: bool = True,
    max_pieces: int | None = None,
    max_stack: Length | None = None,
    budget: int | Budget | None = None,
    batch_rows: int = 65_536,
) -> Manifest:
    """Chooses shims for every row of the Parquet files in the folder ``src`` and below, as
    :func:`truebed.arrow.plan` does, and writes one Parquet file for each to the folder ``dst``.

    ``client`` is a ``distributed.Client``; its workers see both folders. Each file is one task, read
    ``batch_rows`` rows at a time. The other arguments are those of :func:`truebed.arrow.plan`.

    A file that takes its workers down, or cannot be read, is named in the manifest with what went wrong;
    all others finish. A budget in milliseconds is refused, since the plans would depend on the machine.

    Raises :class:`truebed.InputError` for folders that are none, and where another run is at work in
    ``dst``; and what :func:`truebed.arrow.plan` raises for its arguments.
    """
    source, target = Path(src), Path(dst)
    if not source.is_dir():
        raise InputError(VALUE, [("src", repr(str(source)), "a folder with Parquet files")])
    if isinstance(budget, Budget) and budget.time_ms is not None:
        raise InputError(VALUE, [("budget", repr(budget), "a number of search nodes")])
    settings = {
        "stock": dict(stock) if isinstance(stock, dict) else stock,
        "limits": limits,
        "order": order,
        "keep_highest": keep_highest,
        "max_pieces": max_pieces,
        "max_stack": max_stack,
        "budget": budget,
    }
    target.mkdir(parents=True, exist_ok=True)
    with _alone(target):
        _clean(target)
        key = _digest(repr(sorted(settings.items())).encode(), __version__.encode())
        paths = {path.relative_to(source).as_posix(): path for path in sorted(source.rglob("*.parquet"))}

        def submitted(name: str) -> Any:
            return client.submit(
                _plan_file,
                str(paths[name]),
                str(target),
                name,
                key,
                pickle.dumps(settings),
                batch_rows,
                key=f"truebed-{key}-{_digest(name.encode())}-{uuid.uuid4().hex}",
                pure=False,
            )

        files: dict[str, str] = {}
        rows: dict[str, int] = {}
        failed: dict[str, str] = {}
        killed: list[str] = []

        def finish(name: str, task: Any) -> None:
            try:
                files[name], rows[files[name]] = task.result()
                failed.pop(name, None)
            except Exception as error:
                failed[name] = f"{type(error).__name__}: {error}"
                if type(error).__name__ == "KilledWorker":
                    killed.append(name)

        for name, task in {name: submitted(name) for name in paths}.items():
            finish(name, task)
        # What takes a worker down is blamed on all that the worker had: each is tried once more, alone.
        for name in list(killed):
            finish(name, submitted(name))
        _clean(target)
        path = target / f"manifest-{key}.json"
        _write(path, json.dumps({"files": files, "rows": rows, "failed": failed}, indent=1).encode())
    return Manifest(files, rows, failed, str(path))


def _plan_file(
    path: str, target: str, name: str, key: str, settings: bytes, batch_rows: int
) -> tuple[str, int]:
    """Plans one file, unless it was; its name in the target, and its rows."""
    pyarrow = _pyarrow()
    made = Path(target) / f"{Path(name).stem}-{_digest(key.encode(), name.encode(), _content(path))}.parquet"
    if made.exists():
        return made.name, pyarrow.parquet.read_metadata(made).num_rows
    with pyarrow.parquet.ParquetFile(path) as file:
        batches = file.iter_batches(batch_size=batch_rows)
        reader = pyarrow.RecordBatchReader.from_batches(file.schema_arrow, batches)
        # One thread: Dask has a worker for each core.
        plans = arrow.plan(reader, threads=1, **pickle.loads(settings))
        planned = pyarrow.RecordBatchReader.from_stream(plans)
        rows = 0
        with _temporary(made) as temporary:
            with pyarrow.parquet.ParquetWriter(temporary, planned.schema) as writer:
                for table in _regrouped(planned):
                    writer.write_table(table, row_group_size=_ROWS)
                    rows += table.num_rows
    return made.name, rows


def _pyarrow() -> Any:
    # Not every tool that reads this has pyarrow.
    importlib.import_module("pyarrow.parquet")
    return importlib.import_module("pyarrow")


def _regrouped(reader: Any) -> Iterator[Any]:
    """Tables of as many rows as a row group, so that what is written does not tell how it was read."""
    pyarrow = _pyarrow()
    held: list[Any] = []
    count = 0
    for batch in reader:
        held.append(batch)
        count += batch.num_rows
        while count >= _ROWS:
            table = pyarrow.Table.from_batches(held, reader.schema)
            yield table.slice(0, _ROWS).combine_chunks()
            held = table.slice(_ROWS).to_batches()
            count -= _ROWS
    if held:
        yield pyarrow.Table.from_batches(held, reader.schema).combine_chunks()


@contextlib.contextmanager
def _temporary(path: Path) -> Iterator[Path]:
    """A file that gets the name of the path once it is whole and on the disk."""
    temporary = path.with_name(f".{path.name}.{uuid.uuid4().hex}.tmp")
    try:
        yield temporary
        with open(temporary, "rb") as file:
            os.fsync(file.fileno())
        os.replace(temporary, path)
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    finally:
        temporary.unlink(missing_ok=True)


def _clean(target: Path) -> None:
    """Removes what workers that were killed have left."""
    for left in target.glob(".*.tmp"):
        left.unlink(missing_ok=True)


def _write(path: Path, content: bytes) -> None:
    with _temporary(path) as temporary:
        temporary.write_bytes(content)


@contextlib.contextmanager
def _alone(target: Path) -> Iterator[None]:
    """Holds the folder against a second run; the hold ends with this process, however it ends."""
    import fcntl

    with open(target / ".lock", "w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            got = f"{str(target)!r}, where another run is at work"
            raise InputError(VALUE, [("dst", got, "a folder of its own")]) from None
        yield


def _content(path: str) -> bytes:
    digest = hashlib.sha256()
    with open(path, "rb") as file:
        while part := file.read(1 << 20):
            digest.update(part)
    return digest.digest()


def _digest(*parts: bytes) -> str:
    digest = hashlib.sha256()
    for part in parts:
        digest.update(len(part).to_bytes(8, "little"))
        digest.update(part)
    return digest.hexdigest()[:16]
