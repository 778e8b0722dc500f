"""Four-leg tables from Arrow to Arrow, beside `plan_many` from dicts, that of another build, and a loop over
HiGHS; memory over the rows.

`python benches/arrow.py [TABLES] [MOST] [BEFORE]`: 100000 tables for the speed, and up to 10000000 rows for
the memory by default. BEFORE is a folder with the package of another build, whose `plan_many` and import are
timed in the same run. It needs the Python package installed, pyarrow and highspy. Fails if the answers
disagree.
"""

import os
import pickle
import subprocess
import sys
import time

import numpy as np
import pyarrow

import peer_highs
import truebed
import truebed.arrow
from plan_many import INCHES, XY, instance, need

BATCH, ROUNDS, SAMPLE = 8192, 5, 20

# In a process of its own, so that both builds are read from disk alike.
MANY = """
import pickle, sys, time
import truebed
problems = pickle.load(sys.stdin.buffer)
start = time.perf_counter()
plans = truebed.plan_many(problems)
print(time.perf_counter() - start, sum(plan.pieces for plan in plans))
"""
IMPORT = """
import numpy, time
start = time.perf_counter()
import truebed
print(time.perf_counter() - start)
"""
MEMORY = """
import pickle, resource, sys
import pyarrow, truebed.arrow
batch, rows = pickle.load(sys.stdin.buffer)
many = (batch for _ in range(rows // len(batch)))
reader = pyarrow.RecordBatchReader.from_batches(batch.schema, many)
for _ in pyarrow.RecordBatchReader.from_stream(truebed.arrow.plan(reader, limits="0.0025 in")):
    pass
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def child(code: str, path: str, given: bytes = b"") -> list[float]:
    environment = {**os.environ, "PYTHONPATH": path}
    done = subprocess.run([sys.executable, "-c", code], input=given, capture_output=True, env=environment)
    if done.returncode != 0:
        raise RuntimeError(done.stderr.decode())
    return [float(number) for number in done.stdout.split()]


def main() -> int:
    tables = int(float(sys.argv[1])) if len(sys.argv) > 1 else 100_000
    most = int(float(sys.argv[2])) if len(sys.argv) > 2 else 10_000_000
    builds = {"this build": os.path.dirname(os.path.dirname(truebed.__file__))}
    if len(sys.argv) > 3:
        builds["the build before"] = sys.argv[3]
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
    problems = [
        {
            "xy": XY,
            "heights": row / 1e6,
            "stock": {f"{inches} in": count for inches, count in zip(INCHES, stock)},
            "limits": "0.0025 in",
        }
        for row, stock in zip(heights, stocks)
    ]
    pickled = pickle.dumps(problems)

    # Interleaved, and the least of each counts: others may share the machine.
    least: dict[str, float] = {}

    def timed(what: str, seconds: float) -> None:
        least[what] = min(least.get(what, seconds), seconds)

    wrong = 0
    for _ in range(ROUNDS):
        start = time.perf_counter()
        planned = pyarrow.table(truebed.arrow.plan(data, limits="0.0025 in"))
        timed("`truebed.arrow.plan`", (time.perf_counter() - start) / tables)
        start = time.perf_counter()
        alone = pyarrow.table(truebed.arrow.plan(data, limits="0.0025 in", threads=1))
        timed("`truebed.arrow.plan` on one thread", (time.perf_counter() - start) / tables)
        wrong += planned != alone
        pieces = sum(planned["pieces"].to_pylist())
        for build, path in builds.items():
            seconds, found = child(MANY, path, pickled)
            timed(f"`plan_many` from dicts, {build}", seconds / tables)
            wrong += found != pieces
            timed(f"`import truebed` after NumPy, {build}", child(IMPORT, path)[0])
    plans = truebed.plan_many(problems[:1000])
    wrong += planned["stacks"].to_pylist()[:1000] != [plan.stacks for plan in plans]
    for at in range(SAMPLE):
        start = time.perf_counter()
        stages = peer_highs.solve(instance(heights[at], stocks[at]), ["pieces"], 60)
        timed("a loop over HiGHS, first goal", time.perf_counter() - start)
        wrong += stages[0].proven and stages[0].value != plans[at].pieces

    imports = {what: least.pop(what) for what in list(least) if "import" in what}
    print(f"{tables} tables of four legs on {os.cpu_count()} cores; {wrong} disagreements\n")
    print("| what | µs a table | tables a second |")
    print("|---|--:|--:|")
    for what, seconds in least.items():
        print(f"| {what} | {seconds * 1e6:.1f} | {1 / seconds:.0f} |")
    print("\n| what | ms |\n|---|--:|")
    for what, seconds in imports.items():
        print(f"| {what} | {seconds * 1e3:.1f} |")

    print("\n| rows | most memory of a process, MB |")
    print("|--:|--:|")
    batch = data.slice(0, min(BATCH, tables)).combine_chunks().to_batches()[0]
    rows = 100_000
    while rows <= most:
        kilobytes = child(MEMORY, builds["this build"], pickle.dumps((batch, rows)))[0]
        print(f"| {rows} | {kilobytes / 1024:.0f} |")
        rows *= 10
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
