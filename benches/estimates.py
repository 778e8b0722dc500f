"""An estimate of many jobs, beside a Python loop that draws floors with NumPy and plans with HiGHS.

`python benches/estimates.py [JOBS] [SAMPLE]`, 100,000 jobs and 200 of them for HiGHS by default; see
README.md here. It needs the Python package installed. Fails where the two do not agree on the share
of jobs served, or on the mean of pieces, within four standard errors.
"""

import os
import sys
import time

import numpy as np

import peer_highs
import truebed
from instance import Instance

STOCK = {"1/8 in": 8, "1/16 in": 8, "1/32 in": 8, "0.015 in": 8, "0.005 in": 12, "0.002 in": 12}
LIMIT = "0.0025 in"
XY = np.array([[0, 0], [2134, 0], [2134, 1016], [0, 1016]], float)
FLOOR = truebed.FloorModel.of("DIN 18202 row 3")


def main() -> int:
    jobs = int(float(sys.argv[1])) if len(sys.argv) > 1 else 100_000
    sample = int(sys.argv[2]) if len(sys.argv) > 2 else 200

    start, used = time.perf_counter(), time.process_time()
    found = truebed.estimate(FLOOR, XY, STOCK, LIMIT, jobs=jobs)
    clock, on_cores = time.perf_counter() - start, time.process_time() - used
    estimated = on_cores / jobs

    used = time.process_time()
    pieces = [planned(heights) for heights in drawn(sample)]
    looped = (time.process_time() - used) / sample

    start, used = time.perf_counter(), time.process_time()
    kit = truebed.kit(FLOOR, XY, STOCK, LIMIT, training_jobs=2000)
    chosen, on_cores_too = time.perf_counter() - start, time.process_time() - used

    served = [it for it in pieces if it is not None]
    mine = found.pieces[np.isfinite(found.pieces)]
    share = (found.served, len(served) / sample)
    mean = (mine.mean(), np.mean(served))
    spread = (np.sqrt(share[0] * (1 - share[0]) / sample), mine.std() / np.sqrt(len(served)))
    wrong = [a for a, s in zip((share, mean), spread) if abs(a[0] - a[1]) > 4 * s + 1 / sample]

    print(f"{jobs} jobs on {os.cpu_count()} cores; {sample} in the loop\n")
    print(f"`estimate`: {clock:.2f} s by the clock, {on_cores:.2f} s on the cores\n")
    print("| what | µs a job, on a core | ratio | served | mean of pieces |")
    print("|---|--:|--:|--:|--:|")
    print(f"| `estimate` | {estimated * 1e6:.1f} | 1 | {share[0]:.3f} | {mean[0]:.2f} |")
    print(
        f"| NumPy and HiGHS, first goal | {looped * 1e6:.0f} | {looped / estimated:.0f} |"
        f" {share[1]:.3f} | {mean[1]:.2f} |"
    )
    print(f"\nkit of {len(STOCK)} kinds, 2,000 jobs of training: {chosen:.1f} s by the clock,")
    print(f"{on_cores_too:.1f} s on the cores, counts {kit.counts}, proven {kit.proven},")
    print(f"{kit.attempts} attempts, {kit.solved} plans solved, {kit.spared} spared")
    print(f"{len(wrong)} disagreements", *wrong)
    return 1 if wrong else 0


def drawn(count: int) -> np.ndarray:
    """Floors of the same model by NumPy: heights against the first leg, nm."""
    between = np.linalg.norm(XY[:, None] - XY[None], axis=2)
    sigmas = [[FLOOR.sigma_of_difference_mm(d) if d else 0.0 for d in row] for row in between.tolist()]
    variance = np.square(sigmas)
    covariance = (variance[0] + variance[:, :1] - variance) / 2
    heights = np.random.default_rng(5).multivariate_normal(np.zeros(len(XY)), covariance, count)
    return np.rint(heights * 1e6).astype(int)


def planned(heights: np.ndarray) -> float | None:
    """The fewest pieces by HiGHS; None where there is no plan."""
    kinds = [round(truebed.parse_length(thickness) * 1e6) for thickness in STOCK]
    below = (heights - heights.max()).tolist()
    limit = 2 * round(truebed.parse_length(LIMIT) * 1e6)
    counts = list(STOCK.values())
    instance = Instance(below, kinds, counts, limit, [], None, None, [None] * len(kinds))
    return peer_highs.solve(instance, ["pieces"], 60)[0].value


if __name__ == "__main__":
    sys.exit(main())
