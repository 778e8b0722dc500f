"""`plan_many` on tables of four legs, beside a Python loop over HiGHS.

`python benches/plan_many.py [TABLES] [SAMPLE]`, 100000 tables and 200 of them for HiGHS by default;
see README.md here. It needs the Python package installed. Fails if any two answers disagree.
"""

import os
import sys
import time

import numpy as np

import peer_highs
import truebed
from instance import Instance

INCHES = ["1/8", "1/16", "1/32", "0.020", "0.015", "0.010", "0.005", "0.003", "0.002"]
KINDS = [round(truebed.parse_length(f"{inches} in") * 1e6) for inches in INCHES]
"""Thicknesses, nm."""
GOALS = ["pieces", "range", "kinds"]
LIMIT = round(truebed.parse_length("0.0025 in") * 1e6)
XY = [[250, 200], [2350, 200], [2350, 1150], [250, 1150]]


def main() -> int:
    tables = int(float(sys.argv[1])) if len(sys.argv) > 1 else 100_000
    sample = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    heights = np.random.default_rng(4).integers(-12_000_000, 1, (tables, len(XY)))
    stocks = [need(row) for row in heights]
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
    many = (time.perf_counter() - start) / tables
    start = time.perf_counter()
    one_by_one = [truebed.plan_shims(**problem) for problem in problems[:1000]]
    single = (time.perf_counter() - start) / len(one_by_one)
    wrong = [f"table {at}: not that of plan_shims" for at, plan in enumerate(one_by_one) if plan != plans[at]]

    first, solved = 0.0, 0.0
    start = time.perf_counter()
    for at in range(sample):
        stages = peer_highs.solve(instance(heights[at], stocks[at]), GOALS, 60)
        first += stages[0].seconds
        solved += sum(stage.seconds for stage in stages)
        reached = values(plans[at])
        for goal, stage, value in zip(GOALS, stages, reached):
            if stage.proven and stage.value != value:
                wrong.append(f"table {at}, {goal}: {value}, HiGHS {stage.value}")
    looped = (time.perf_counter() - start) / sample
    first, solved = first / sample, solved / sample

    proven = sum(plan.status == "proven" for plan in plans)
    print(f"{tables} tables, {proven} proven, on {os.cpu_count()} cores; HiGHS: {sample} of them\n")
    print("| what | µs a table | tables a second | × plan_many |")
    print("|---|--:|--:|--:|")
    for what, seconds in {
        "`plan_many`, all goals": many,
        "a loop over `plan_shims`, all goals": single,
        "a loop over HiGHS, first goal, its `run` alone": first,
        "a loop over HiGHS, all goals, its `run` alone": solved,
        "a loop over HiGHS, all goals, models built": looped,
    }.items():
        print(f"| {what} | {seconds * 1e6:.1f} | {1 / seconds:.0f} | {seconds / many:.3g} |")
    print(f"\n{len(wrong)} disagreements", *wrong[:20], sep="\n")
    return 1 if wrong else 0


def need(heights: np.ndarray) -> list[int]:
    """Half as much again as it takes from the thickest kind down, kind by kind."""
    counts = [0] * len(KINDS)
    for gap in (heights.max() - heights).tolist():
        for kind, thickness in enumerate(KINDS):
            taken, gap = divmod(gap, thickness)
            counts[kind] += taken
    return [-(-3 * count // 2) for count in counts]


def instance(heights: np.ndarray, stock: list[int]) -> Instance:
    """The same table for HiGHS."""
    below = (heights - heights.max()).tolist()
    return Instance(below, KINDS, stock, 2 * LIMIT, [], None, None, [None] * len(KINDS))


def values(plan: truebed.ShimPlan) -> list[int]:
    """What a plan reaches of each goal: pieces, range of tops in nm, kinds."""
    span = round((plan.tops_mm.max() - plan.tops_mm.min()) * 1e6)
    return [plan.pieces, span, sum(used > 0 for used in plan.used)]


if __name__ == "__main__":
    sys.exit(main())
