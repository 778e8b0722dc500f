"""Verdicts beside SciPy's multivariate normal: the probability that a bed meets its limits.

`python benches/verdicts.py`, with the Python package installed; see README.md here. Fails where the
two differ by more than their errors.
"""

import statistics
import sys
import time

import numpy as np
import scipy.stats

import truebed

POINTS = 24


def bed(seed, pairs):
    """Heights of 3 × 8 points, a covariance with a part that all points share, and limits on pairs
    that are met with a probability of a half or so."""
    rng = np.random.default_rng(seed)
    heights = np.round(rng.uniform(-0.03, 0.03, POINTS), 6)
    factors = rng.normal(size=(POINTS, POINTS)) * 0.002
    own = np.diag(rng.uniform(0.008, 0.012, POINTS) ** 2)
    covariance = factors @ factors.T + own + 4.0
    chosen = [(at, at + 1) for at in range(POINTS - 1)]
    others = [(a, b) for a in range(POINTS) for b in range(a + 2, POINTS)]
    chosen += [others[at] for at in rng.permutation(len(others))[: pairs - len(chosen)]]
    return heights, covariance, chosen[:pairs]


def ms(call, least=0.2):
    """Median time of repeated calls, and what the last one gave."""
    times, given = [], call()
    while sum(times) < least or len(times) < 5:
        start = time.perf_counter()
        given = call()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1e3, given


def main():
    print("| pairs | probability | truebed ms | standard error | SciPy ms | its error | ratio |")
    print("|--:|--:|--:|--:|--:|--:|--:|")
    apart = 0
    for pairs in (10, 23, 60):
        for seed in range(3):
            heights, covariance, chosen = bed(seed, pairs)
            rows = np.zeros((pairs, POINTS))
            for row, (a, b) in enumerate(chosen):
                rows[row, a], rows[row, b] = 1, -1
            steps, spread = rows @ heights, rows @ covariance @ rows.T
            width = np.round(np.abs(steps).max() + 0.03, 6)
            limits = truebed.Limits(named=[(pair, width) for pair in chosen])
            ours, verdict = ms(lambda: truebed.check(heights, limits, covariance=covariance))
            # As precise as the standard error: SciPy bounds its error by 3 standard errors or so.
            error = 3e-3
            normal = scipy.stats.multivariate_normal(
                steps, spread, allow_singular=True, abseps=error, releps=0, maxpts=10_000_000
            )
            upper = np.full(pairs, width)
            theirs, probability = ms(lambda: normal.cdf(upper, lower_limit=-upper))
            off = abs(probability - verdict.probability)
            apart += off > error + 4 * verdict.probability_error
            print(
                f"| {pairs} | {verdict.probability:.4f} | {ours:.3g} | "
                f"{verdict.probability_error:.1e} | {theirs:.3g} | {error:.0e} | {theirs / ours:.3g} |"
            )
    print(f"\n{apart} disagreements")
    return apart > 0


if __name__ == "__main__":
    sys.exit(main())
