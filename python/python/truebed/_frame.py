"""Tables of other libraries, which are never imported for it: DataFrames of pandas and polars, tables
and record batches of pyarrow."""

from collections.abc import Mapping
from typing import Any


def is_frame(values: Any) -> bool:
    """Whether it is a table of one of these libraries."""
    return hasattr(values, "columns") and (
        hasattr(values, "to_dict") or hasattr(values, "iter_rows") or hasattr(values, "to_pylist")
    )


def names(frame: Any) -> list[str]:
    """The names of its columns."""
    columns = getattr(frame, "column_names", None)
    return list(map(str, frame.columns if columns is None else columns))


def column(frame: Any, name: str) -> list[Any]:
    """The values of one column."""
    values = frame[name]
    for method in ("to_pylist", "to_list", "tolist"):
        if hasattr(values, method):
            return list(getattr(values, method)())
    return list(values)


def rows(frame: Any) -> list[dict[str, Any]]:
    """Its rows, each by the names of the columns; empty cells are left out."""
    if hasattr(frame, "to_pylist"):
        read = frame.to_pylist()
    elif hasattr(frame, "iter_rows"):
        read = list(frame.iter_rows(named=True))
    else:
        read = frame.to_dict("records")
    return [
        {str(name): value for name, value in row.items() if not is_empty(value)} for row in read
    ]


def is_empty(value: Any) -> bool:
    """Whether a cell holds nothing: None, an empty text, or what pandas has there."""
    return (
        value is None
        or (isinstance(value, str) and not value.strip())
        or type(value).__name__ in ("NAType", "NaTType")
        or (isinstance(value, float) and value != value)
    )


def counts(stock: Any) -> Any:
    """A Series of counts by thickness as a mapping; what is none is left as it is. In a Series that
    holds an empty cell the counts are floats."""
    if isinstance(stock, Mapping) or not hasattr(stock, "index") or not hasattr(stock, "to_numpy"):
        return stock
    read = zip(list(stock.index), column({"": stock}, ""))
    return {
        thickness: None
        if is_empty(count)
        else int(count)
        if isinstance(count, float) and count.is_integer()
        else count
        for thickness, count in read
    }
