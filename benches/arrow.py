"""Four-leg tables from Arrow to Arrow, beside `plan_many` from dicts; memory over the rows.

`python benches/arrow.py [TABLES] [MOST]`: 100000 tables for the speed, and up to 10000000 rows for the
memory by default. It needs the Python package installed, and pyarrow. Fails if the answers disagree.
"""

import os
import resource
import sys
import time

import numpy as np
import pyarrow

import truebed
import truebed.arrow
from plan_many import INCHES, XY, need

BATCH = 8192


def main() -> int:
    tables = int(float(sys.argv[1])) if len(sys.argv) > 1 else 100_000
    most = int(float(sys.argv[2])) if len(sys.argv) > 2 else 10_000_000
    heights = np.random.default_rng(4).integers(-12_000_000, 1, (tables, len(XY)))
    stocks = [need(row) for row in heights]
    data = pyarrow.table(
        {
            "x_mm": [[float(x) for x, _ in XY]] * tables,
            "y_mm": [[float(y) for _, y in XY]] * tables,
            "height_mm": (heights / 1e6).tolist(),
            "stock_mm": [[truebed.parse_length(f"{inches} in") for inches in INCHES]] * tables,
            "stock_count": stocks,
        }
    )
    start = time.perf_counter()
    planned = pyarrow.table(truebed.arrow.plan(data, limits="0.0025 in"))
    arrow = (time.perf_counter() - start) / tables

    problems = [
        {
            "xy": XY,
            "heights": row / 1e6,
            "stock": {f"{inches} in": count for inches, count in zip(INCHES, stock)},
            "limits": "0.0025 in",
        }
        for row, stock in zip(heights, stocks)
    ]
    start = time.perf_counter()
    plans = truebed.plan_many(problems)
    dicts = (time.perf_counter() - start) / tables
    same = planned["stacks"].to_pylist() == [plan.stacks for plan in plans]

    print(f"{tables} tables of four legs on {os.cpu_count()} cores; the same answers: {same}\n")
    print("| what | µs a table | tables a second |")
    print("|---|--:|--:|")
    print(f"| `truebed.arrow.plan` | {arrow * 1e6:.1f} | {1 / arrow:.0f} |")
    print(f"| `plan_many` from dicts | {dicts * 1e6:.1f} | {1 / dicts:.0f} |")

    print("\n| rows | most memory of the process, MB |")
    print("|--:|--:|")
    del problems, plans, planned
    batch = data.slice(0, min(BATCH, tables)).combine_chunks().to_batches()[0]
    rows = 100_000
    while rows <= most:
        many = pyarrow.RecordBatchReader.from_batches(
            batch.schema, (batch for _ in range(rows // len(batch)))
        )
        for _ in pyarrow.RecordBatchReader.from_stream(truebed.arrow.plan(many, limits="0.0025 in")):
            pass
        print(f"| {rows} | {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} |")
        rows *= 10
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
