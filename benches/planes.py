"""Planes beside NumPy's `lstsq` and SciPy's `linprog` (HiGHS).

`python benches/planes.py [MOST]`, up to MOST points (10 million unless told); see README.md here. It
needs the Python package installed, and times the Rust calls in the same run.
"""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

import truebed

RUST = "cargo run --quiet --release --package truebed-benches --bin planes --".split()


def main() -> None:
    most = int(float(sys.argv[1])) if len(sys.argv) > 1 else 10_000_000
    here = Path(__file__).parent
    done = subprocess.run([*RUST, str(most)], cwd=here, check=True, stdout=subprocess.PIPE, text=True)
    rust = {}
    for line in done.stdout.splitlines():
        measured = json.loads(line)
        rust[measured["what"], measured["count"]] = measured["seconds"]

    print("Least squares. Times in ms; the last three columns are ratios.\n")
    print("| points | read once | Rust | Python | lstsq | lstsq / Rust | lstsq / Python | Rust / read |")
    print("|--:|--:|--:|--:|--:|--:|--:|--:|")
    count = 1000
    while count <= most:
        xy, z = plate(count)
        own, plane = timed(lambda: truebed.fit_plane(xy, z))
        peer, coefficients = timed(lambda: by_lstsq(xy, z))
        assert np.allclose([plane.slope_x, plane.slope_y], coefficients[1:], rtol=1e-6)
        fit, read = rust["least squares", count], rust["read once", count]
        times = " | ".join(map(ms, [read, fit, own, peer]))
        ratios = " | ".join(f"{it:.2f}" for it in [peer / fit, peer / own, fit / read])
        print(f"| {count} | {times} | {ratios} |", flush=True)
        count *= 10

    print("\nVertical minimum zone. HiGHS gets no more than 10^5 points.\n")
    print("| points | Rust | ns a point | Python | linprog | linprog / Rust | linprog / Python |")
    print("|--:|--:|--:|--:|--:|--:|--:|")
    count = 1000
    while count <= most:
        xy, z = plate(count)
        own, zone = timed(lambda: truebed.minimum_zone(xy, z))
        fit = rust["minimum zone", count]
        cells = [ms(fit), f"{fit / count * 1e9:.1f}", ms(own), "", "", ""]
        if count <= 100_000:
            peer, width = timed(lambda: by_linprog(xy, z))
            assert abs(zone.plane.flatness_mm - width) < 1e-6
            cells[3:] = [ms(peer), f"{peer / fit:.0f}", f"{peer / own:.0f}"]
        print(f"| {count} | {' | '.join(cells)} |", flush=True)
        count *= 10

    print("\nPlanes of four-legged tables in one call, in Rust.\n")
    print("| kind | tables | ms | ns a table |")
    print("|---|--:|--:|--:|")
    for (what, tables), seconds in rust.items():
        if what.startswith("tables, "):
            kind = what.removeprefix("tables, ")
            print(f"| {kind} | {tables} | {ms(seconds)} | {seconds / tables * 1e9:.0f} |")


def plate(count):
    """Made up as in the Rust half: a plate, tilted, with a bow and noise."""
    random = np.random.default_rng(1)
    xy = random.uniform(0, 1, (count, 2)) * [2400, 1200]
    noise = random.uniform(0, 1, count) + random.uniform(-1, 0, count)
    z = xy @ [1e-3, -2e-3] + 2e-7 * (xy[:, 0] - 1200) ** 2 + 0.05 * noise
    return xy, z


def by_lstsq(xy, z):
    design = np.column_stack([np.ones(len(z)), xy])
    return np.linalg.lstsq(design, z, rcond=None)[0]


def by_linprog(xy, z):
    ones = np.ones((len(z), 1))
    design = np.column_stack([ones, xy])
    solved = linprog(
        [0, 0, 0, 1],
        A_ub=np.block([[-design, -ones], [design, -ones]]),
        b_ub=np.concatenate([-z, z]),
        bounds=[(None, None)] * 4,
        method="highs",
    )
    return 2 * solved.fun


def timed(call):
    """The shortest of repeated calls after one to warm up, and what the last gave."""
    call()
    times, begun = [], time.perf_counter()
    while len(times) < 5 or (time.perf_counter() - begun < 0.5 and len(times) < 1000):
        start = time.perf_counter()
        result = call()
        times.append(time.perf_counter() - start)
    return min(times), result


def ms(seconds):
    return f"{seconds * 1000:.3g}"


if __name__ == "__main__":
    main()
