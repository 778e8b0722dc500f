"""truebed's survey beside SciPy's dense and sparse least squares, network by network.

`python benches/survey_side_by_side.py`; see README.md here. Fails if any two disagree.
"""

import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import scipy.linalg
import scipy.sparse
import scipy.sparse.linalg

SURVEYS = "cargo run --quiet --release --package truebed-benches --bin surveys".split()


def arrays(rises):
    """Ends of the rises as indices, values and uncertainties, from readings by name."""
    index, ends = {}, []
    for a, b, _, _ in rises:
        ends.append((index.setdefault(a, len(index)), index.setdefault(b, len(index))))
    ends = np.array(ends)
    numbers = np.array([(value, sigma) for _, _, value, sigma in rises])
    return ends[:, 0], ends[:, 1], numbers[:, 0], numbers[:, 1], index


def dense_design(a, b, values, sigmas, points):
    """The weighted design; the first point is held at 0."""
    rows, weights = np.arange(len(values)), 1 / sigmas
    design = np.zeros((len(values), points))
    design[rows, b] = weights
    design[rows, a] = -weights
    return design[:, 1:].copy(), values * weights


def sparse_design(a, b, values, sigmas, points):
    rows, weights = np.arange(len(values)), 1 / sigmas
    entries = (np.concatenate([weights, -weights]), (np.tile(rows, 2), np.concatenate([b, a])))
    design = scipy.sparse.csr_matrix(entries, shape=(len(values), points))
    return design[:, 1:], values * weights


def dense_heights(design, values):
    return scipy.linalg.lstsq(design, values, lapack_driver="gelsy")[0], None


def dense_all(design, values):
    """Heights, covariance and redundancy by a Cholesky factor of the dense normal equations."""
    factor = scipy.linalg.cho_factor(design.T @ design)
    heights = scipy.linalg.cho_solve(factor, design.T @ values)
    covariance = scipy.linalg.cho_solve(factor, np.eye(design.shape[1]))
    redundancy = 1 - np.einsum("ij,ij->i", design @ covariance, design)
    return heights, (covariance, redundancy)


def sparse_heights(sparse, values):
    normal = (sparse.T @ sparse).tocsc()
    options = {"SymmetricMode": True}
    factor = scipy.sparse.linalg.splu(
        normal, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options
    )
    return factor.solve(sparse.T @ values), None


def sparse_all(sparse, values):
    """As `dense_all`, by a sparse factor."""
    normal = (sparse.T @ sparse).tocsc()
    options = {"SymmetricMode": True}
    factor = scipy.sparse.linalg.splu(
        normal, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options
    )
    covariance = factor.solve(np.eye(normal.shape[0]))
    # Rows of the design have two entries at most, so only their places of the covariance count.
    redundancy = 1 - np.asarray(sparse.multiply(sparse @ covariance).sum(axis=1)).ravel()
    return factor.solve(sparse.T @ values), (covariance, redundancy)


PEERS = {
    "dense, heights": (dense_design, dense_heights),
    "dense, all": (dense_design, dense_all),
    "sparse, heights": (sparse_design, sparse_heights),
    "sparse, all": (sparse_design, sparse_all),
}


def timed(call, *arguments):
    """The median of repeated calls, after one to warm up; a single one where it takes long."""
    start = time.perf_counter()
    answer = call(*arguments)
    first = time.perf_counter() - start
    if first > 5:
        return answer, first
    times = []
    begin = time.perf_counter()
    while len(times) < 5 or (time.perf_counter() - begin < 0.5 and len(times) < 5000):
        start = time.perf_counter()
        call(*arguments)
        times.append(time.perf_counter() - start)
    return answer, statistics.median(times)


def main():
    here = Path(__file__).parent
    done = subprocess.run(SURVEYS, cwd=here, check=True, stdout=subprocess.PIPE, text=True)
    heads = ["points", "readings", "truebed ms", "with covariance ms"]
    heads += [f"{name} ms (× solving, × in all)" for name in PEERS]
    rows = ["| " + " | ".join(heads) + " |", "|--:" * len(heads) + "|"]
    wrong = []
    for network in json.loads(done.stdout):
        points, count = network["points"], len(network["rises"])
        rises = [(f"P{a}", f"P{b}", value, sigma) for a, b, value, sigma in network["rises"]]
        times = [network["seconds"], network["seconds"] + network["covariance_seconds"]]
        (a, b, values, sigmas, index), named = timed(arrays, rises)
        order = np.array([int(name[1:]) for name in index])[1:]
        cells = [f"{points}", f"{count}", *(f"{seconds * 1e3:.3g}" for seconds in times)]
        for name, (make, solve) in PEERS.items():
            (design, right), made = timed(make, a, b, values, sigmas, points)
            (heights, more), solved = timed(solve, design, right)
            if not np.allclose(heights, np.array(network["mm"])[order], rtol=0, atol=1e-7):
                wrong.append(f"{points} points, {name}: heights")
            own = times[0]
            if more is not None:
                own = times[1]
                covariance, redundancy = more
                sigma = np.sqrt(np.diag(covariance))
                if not np.allclose(sigma, np.array(network["sigma_mm"])[order], rtol=1e-7):
                    wrong.append(f"{points} points, {name}: uncertainties")
                if not np.allclose(redundancy, network["redundancy"], rtol=0, atol=1e-7):
                    wrong.append(f"{points} points, {name}: redundancy")
            whole = named + made + solved
            cells.append(f"{solved * 1e3:.3g} ({solved / own:.3g}, {whole / own:.3g})")
        rows.append("| " + " | ".join(cells) + " |")
    print("\n".join(rows))
    print(f"\n{len(wrong)} disagreements", *wrong, sep="\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
