"""Many threads at once: on problems of their own, on the same ones, and on the same results."""

import pickle
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np

import truebed

THREADS = 8
ROUNDS = 12
XY = {"A": (0, 0), "B": (1200, 0), "C": (1200, 600), "D": (0, 600), "E": (600, 300)}


def heights(seed):
    return np.random.default_rng(seed).uniform(-3, 0, len(XY)).round(3)


def plan(seed):
    stock = {1: 6, 0.5: None, "0.2 mm": 9, "0.005 in": 8}
    limits = truebed.Limits(0.5, along=0.2, named=[(["A", "C"], 0.3)])
    return truebed.plan_shims(XY, heights(seed), stock, limits, joints=[("A", "B")])


def readings(seed):
    pairs = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C")]
    values = heights(seed)
    return [truebed.rise(a, b, float(value), sigma=0.1) for (a, b), value in zip(pairs, values)]


def refused(seed):
    try:
        truebed.plan_shims(XY, heights(seed), {f"{seed} mm": -1, seed + 1: None}, 0.5)
    except truebed.InputError as error:
        return str(error)


JOBS = [
    plan,
    lambda seed: truebed.tradeoff(XY, heights(seed), {1: 6, 0.5: 9, 0.1: 9}, 0.5),
    lambda seed: truebed.plan_many(
        [{"xy": XY, "heights": heights(at), "stock": {0.5: 9}, "limits": 0.6} for at in range(seed)]
    ),
    lambda seed: truebed.shortfall(XY, heights(seed), {0.5: 1}, 0.3),
    lambda seed: truebed.adjust(readings(seed)).covariance.tolist(),
    lambda seed: truebed.adjust(readings(seed)).without(0).picture(),
    lambda seed: truebed.minimum_zone(XY, heights(seed)),
    lambda seed: truebed.check(heights(seed), 1.0),
    lambda seed: plan(seed).picture("inch"),
    refused,
]


def at_once(calls):
    """The answers to calls that all begin together."""
    gate = threading.Barrier(THREADS)

    def run(number):
        gate.wait()
        mine = calls[number::THREADS]
        return [(number + THREADS * at, call()) for at, call in enumerate(mine)]

    with ThreadPoolExecutor(THREADS) as pool:
        parts = list(pool.map(run, range(THREADS)))
    return [answer for _, answer in sorted((it for part in parts for it in part), key=lambda it: it[0])]


def test_problems_of_their_own():
    calls = [lambda job=job, seed=seed: job(seed) for seed in range(ROUNDS) for job in JOBS]
    assert at_once(calls) == [call() for call in calls]


def test_the_same_problem():
    for job in JOBS:
        assert at_once([lambda job=job: job(5)] * THREADS * 4) == [job(5)] * THREADS * 4


def test_the_same_arrays_and_results():
    """Inputs and results that threads share are only read."""
    values, places = heights(1), np.array(list(XY.values()), float)
    found, survey = plan(1), truebed.adjust(readings(1))
    stock = [truebed.Shim(1, 6), truebed.Shim(0.5, under=[1, 2, 3])]
    calls = [
        lambda: truebed.plan_shims(places, values, stock, 0.5).to_dict(),
        lambda: truebed.fit_plane(places, values),
        lambda: found.picture(),
        lambda: found.to_frame().to_dict(),
        lambda: pickle.loads(pickle.dumps(found)),
        lambda: truebed.plan_shims(XY, found.tops_mm, stock[:1], 0.5, placed=[[]] * 5),
        lambda: survey.covariance.tolist(),
        lambda: survey.without(1).mm.tolist(),
        lambda: (survey.closures(), hash(stock[1]), repr(stock)),
    ]
    assert at_once(calls * 24) == [call() for call in calls] * 24


def test_an_array_that_another_thread_writes_to():
    """Arrays are copied as they are read, so that a plan belongs to one state or the other of each
    number, whatever is written while the search runs."""
    values = np.zeros(5)
    done = threading.Event()

    def write():
        while not done.is_set():
            values[1] = -1.0
            values[1] = -2.0

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for _ in range(200):
            found = truebed.plan_shims(XY, values, {1: None}, 0.25)
            assert found.tops_mm.tolist() == [0.0] * 5 and found.pieces in (0, 1, 2)
    finally:
        done.set()
        writer.join()
