"""Slabs on supports beside general tools: SciPy's sparse solver for the plate and HiGHS for what touches;
a loop over plans, and a mixed-integer program by HiGHS, for the stacks.

`PYTHONPATH=tests/python python benches/beds.py`, with the Python package installed; see README.md here.
The Rust calls are timed in the same run.
Fails where forces or numbers of pieces differ.
"""

import heapq
import itertools
import statistics
import subprocess
import time
from pathlib import Path

import highspy
import numpy as np

import truebed
from plate_scipy import condensed, contact

SLAB = truebed.Slab((0, 1370), (0, 880), 25.4, e_gpa=48.36, nu=0.25, density=2793.6)
EIGHT = np.array(
    [[60, 40], [685, 40], [1310, 40], [1310, 440], [1310, 840], [685, 840], [60, 840], [60, 440]],
    dtype=float,
)
SIX = EIGHT[[0, 1, 2, 4, 5, 6]]
THOU = 0.0254
KINDS = {THOU * thou: 8 for thou in (1, 2, 3, 5, 7, 10, 15, 20, 31)}
LIMITS = (0.1, 0.03)
RUST = "cargo run --quiet --release --package truebed-benches --bin beds".split()


def median_ms(call, least=0.5):
    """Median time of repeated calls, ms."""
    times = []
    while sum(times) < least or len(times) < 5:
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1e3


def bearing():
    tops = np.random.default_rng(1).normal(0, 0.03, 8)
    laid = truebed.LaidSlab(SLAB, EIGHT)
    compliance, sag = condensed(SLAB, EIGHT, laid.elements)
    theirs = contact(SLAB, EIGHT, tops, compliance, sag)
    assert np.allclose(laid.bear(tops).forces_n, theirs, atol=2e-3 * SLAB.weight_n)

    def whole():
        contact(SLAB, EIGHT, tops, *condensed(SLAB, EIGHT, laid.elements))

    print(f"bear, mesh of {laid.elements} elements, {len(EIGHT)} supports")
    with_factor = median_ms(lambda: truebed.bear(SLAB, EIGHT, tops)), median_ms(whole)
    again = (
        median_ms(lambda: laid.bear(tops)),
        median_ms(lambda: contact(SLAB, EIGHT, tops, compliance, sag)),
    )
    done = subprocess.run(
        RUST, cwd=Path(__file__).parent, check=True, stdout=subprocess.PIPE, text=True
    )
    rust = dict(line.split() for line in done.stdout.splitlines())
    for name, key, (ours, other) in [
        ("factor included", "whole", with_factor), ("same factor", "again", again)
    ]:
        alone = float(rust[key])
        print(
            f"  {name:16} SciPy and HiGHS {other:9.3f} ms, "
            f"Python {ours:.4f} ms ({other / ours:.0f} x), Rust {alone:.5f} ms ({other / alone:.0f} x)"
        )
    floors = np.random.default_rng(2).normal(0, 0.05, (10_000, 8))
    print(f"  10,000 floors in one call {median_ms(lambda: laid.bear_many(floors)):9.2f} ms")


def stacks():
    """Thickness and fewest pieces of every stack of up to four pieces."""
    fewest = {0.0: 0}
    for pieces in range(1, 5):
        for kinds in itertools.combinations_with_replacement(KINDS, pieces):
            fewest.setdefault(round(sum(kinds), 6), pieces)
    return sorted((pieces, thickness) for thickness, pieces in fewest.items())


STACKS = stacks()


def loop(frame, compliance, sag, limit):
    """The fewest pieces, candidates taken best first and settled by HiGHS one by one. The stock is taken
    to suffice; None where the time is up."""
    start, highest = time.perf_counter(), int(np.argmax(frame))
    lists = [
        [(0, 0.0)] if at == highest else
        [it for it in STACKS if abs(height + it[1] - frame[highest]) <= 2 * limit]
        for at, height in enumerate(frame)
    ]
    if not all(lists):
        return None
    first = (0,) * len(frame)
    queue, seen = [(sum(it[0][0] for it in lists), first)], {first}
    while queue and time.perf_counter() - start < 20:
        pieces, chosen = heapq.heappop(queue)
        tops = np.array([h + lists[at][which][1] for at, (h, which) in enumerate(zip(frame, chosen))])
        if np.ptp(tops) <= 2 * limit + 1e-9:
            forces = contact(SLAB, SIX, tops, compliance, sag)
            if (forces > 1e-2).all():
                return pieces
        for at in range(len(frame)):
            if chosen[at] + 1 < len(lists[at]):
                more = chosen[:at] + (chosen[at] + 1,) + chosen[at + 1 :]
                if more not in seen:
                    seen.add(more)
                    change = lists[at][chosen[at] + 1][0] - lists[at][chosen[at]][0]
                    heapq.heappush(queue, (pieces + change, more))
    return None


def program(frame, compliance, sag, limit):
    """The fewest pieces by HiGHS, all supports carrying: forces are linear in the tops."""
    n = len(frame)
    rows = np.c_[np.ones(n), SIX - SIX.mean(axis=0)]
    whole = np.block([[compliance, rows], [rows.T, np.zeros((3, 3))]])
    inverse = np.linalg.inv(whole)
    middle = np.array([685.0, 440.0]) - SIX.mean(axis=0)
    right = np.r_[sag, SLAB.weight_n * np.r_[1.0, middle]]
    resists, at_zero = inverse[:n, :n], (inverse @ right)[:n]
    kinds = list(KINDS)
    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("time_limit", 20.0)
    columns = n * len(kinds)
    highest = int(np.argmax(frame))
    for at in range(n):
        for kind in kinds:
            highs.addCol(1.0, 0.0, 0.0 if at == highest else KINDS[kind], 0, [], [])
    level = columns
    highs.addCol(0.0, -1e3, 1e3, 0, [], [])
    highs.changeColsIntegrality(
        columns, np.arange(columns), np.full(columns, highspy.HighsVarType.kInteger)
    )
    inf = highspy.kHighsInf
    for at in range(n):
        own = list(range(at * len(kinds), (at + 1) * len(kinds)))
        highs.addRow(-limit - frame[at], limit - frame[at], len(own) + 1,
                     np.array([*own, level]), np.array([*kinds, -1.0]))
    for at in range(n):
        by = np.outer(resists[at], kinds).ravel()
        least = 1e-2 - at_zero[at] - resists[at] @ frame
        highs.addRow(least, inf, columns, np.arange(columns), by)
    for which, kind in enumerate(kinds):
        own = np.arange(which, columns, len(kinds))
        highs.addRow(-inf, KINDS[kind], n, own, np.ones(n))
    highs.run()
    proven = highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(highs.getInfo().objective_function_value) if proven else None


def plans(limit):
    laid = truebed.LaidSlab(SLAB, SIX)
    ready = condensed(SLAB, SIX, laid.elements)
    # Of the slab alone, as every call of truebed starts.
    peers = {
        "loop": loop, "program": program,
        "loop, slab laid": lambda frame, *_: loop(frame, *condensed(SLAB, SIX, laid.elements), limit),
        "program, slab laid":
            lambda frame, *_: program(frame, *condensed(SLAB, SIX, laid.elements), limit),
    }
    calls = {"truebed": lambda frame, *_: truebed.plan_bed(SLAB, SIX, frame, KINDS, limit)} | peers
    times = {name: [] for name in calls}
    differ = 0
    for seed in range(15):
        frame = np.round(np.random.default_rng(seed).uniform(-1.2, 0, 6), 3)
        found = {}
        for name, call in calls.items():
            start = time.perf_counter()
            found[name] = call(frame, *ready, limit)
            times[name].append((time.perf_counter() - start) * 1e3)
        plan = found["truebed"]
        ours = plan.pieces if plan.status == "proven" else None
        differ += any(found[name] not in (None, ours) for name in peers)
    print(f"plan_bed, 6 supports, 9 inch kinds, ±{limit} mm, 15 floors (others: 20 s at the most)")
    ours = statistics.median(times["truebed"])
    for name, each in times.items():
        median = statistics.median(each)
        print(f"  {name:18} median {median:10.2f} ms, most {max(each):10.1f} ms  {median / ours:7.1f} x")
    assert not differ, f"{differ} plans differ"


if __name__ == "__main__":
    bearing()
    for limit in LIMITS:
        plans(limit)
