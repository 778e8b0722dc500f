"""Floors that nobody has measured, estimates and kits, from Python."""

import math
import pickle

import numpy as np
import pytest

import truebed

LEGS = [[0, 0], [2134, 0], [2134, 1016], [0, 1016]]
FLOOR = truebed.FloorModel(ff=35, fl=25)
STOCK = {2: 6, 0.5: 8, 0.2: 8}


def test_samples_have_the_covariance_of_brownian_motion():
    heights = FLOOR.sample(LEGS, 20_000, seed=4)
    assert heights.shape == (20_000, 4)
    for a, b in [(0, 1), (0, 3), (1, 3)]:
        distance = math.dist(LEGS[a], LEGS[b])
        sigma = np.std(heights[:, a] - heights[:, b])
        assert sigma == pytest.approx(FLOOR.sigma_of_difference_mm(distance), rel=0.03)


def test_estimate_is_the_plans_of_its_floors():
    found = truebed.estimate(FLOOR, LEGS, STOCK, 0.15, jobs=150, seed=3, minutes={"lift": 10})
    tables = [
        {"xy": LEGS, "heights": row, "stock": STOCK, "limits": 0.15}
        for row in FLOOR.sample(LEGS, 150, seed=3)
    ]
    plans = truebed.plan_many(tables)
    for job, plan in enumerate(plans):
        if plan.status == "infeasible":
            assert np.isnan(found.pieces[job]) and np.isnan(found.used[job]).all()
        else:
            assert found.pieces[job] == plan.pieces
            assert found.minutes[job] == 10 * len(plan.lifted)
            np.testing.assert_array_equal(found.lifts_mm[job], plan.lifts_mm)
            np.testing.assert_array_equal(found.used[job], plan.used)
    served = sum(plan.status != "infeasible" for plan in plans)
    assert found.served == served / 150
    assert sum(count for _, count in found.reasons) == 150 - served
    known = found.pieces[~np.isnan(found.pieces)]
    assert found.quantile("pieces", 0.5) == np.quantile(known, 0.5, method="inverted_cdf")
    assert math.isnan(found.quantile("cost", 0.5))


def test_threads_and_progress():
    one = truebed.estimate(FLOOR, LEGS, STOCK, 0.15, jobs=300, threads=1)
    assert one == truebed.estimate(FLOOR, LEGS, STOCK, 0.15, jobs=300, threads=2)
    told = []
    truebed.estimate(FLOOR, LEGS, STOCK, 0.15, jobs=50, progress=lambda done, of: told.append(done))
    assert told[-1] == 50


def test_again_asks_for_a_second_visit():
    found = truebed.estimate(FLOOR, LEGS, {1: None, 0.2: None}, 0.15, jobs=60, again=(1, "0.1 mm"))
    assert found.again > 0.5


def test_kits_serve_their_share():
    found = truebed.kit(FLOOR, LEGS, ["2 mm", 0.25], 0.15, share=0.9, training_jobs=200)
    assert found.meets_share and found.interval[0] <= found.served <= found.interval[1]
    assert found.failures == found.fresh_jobs - round(found.served * found.fresh_jobs)
    stock = dict(zip([2, 0.25], found.counts))
    again = truebed.estimate(FLOOR, LEGS, stock, 0.15, jobs=4000, seed=77)
    assert again.served > 0.89
    packed = truebed.kit(FLOOR, LEGS, [2, 0.25], 0.15, share=0.9, packs=[5, 10], most=60)
    assert all(count % pack == 0 for count, pack in zip(packed.counts, [5, 10]))


def test_models_do_not_change():
    models = [
        FLOOR,
        truebed.FloorModel.of("DIN 18202 row 3", fall=1),
        truebed.FloorModel(sigma="1 mm"),
    ]
    for model in models:
        copy = pickle.loads(pickle.dumps(model))
        assert copy == model and repr(copy) == repr(model)
        with pytest.raises(AttributeError):
            model.hurst = 1
    assert models[0] != models[1]


@pytest.mark.parametrize(
    "call, field",
    [
        (lambda: truebed.FloorModel(), "floor"),
        (lambda: truebed.FloorModel(ff=20), "floor"),
        (lambda: truebed.FloorModel(ff=20, fl=15, sigma=1), "floor"),
        (lambda: truebed.FloorModel(ff=-1, fl=15), "ff"),
        (lambda: truebed.FloorModel(ff=4, fl=20), "ff"),
        (lambda: truebed.FloorModel(sigma=-1), "sigma"),
        (lambda: truebed.FloorModel.of("DIN 1"), "floor_class"),
        (lambda: FLOOR.sample([[0, float("nan")]]), "xy"),
        (lambda: truebed.estimate("flat", LEGS, STOCK, 0.15), "floor"),
        (lambda: truebed.estimate(FLOOR, LEGS, STOCK, 0.15, jobs=0), "jobs"),
        (lambda: truebed.estimate(FLOOR, LEGS, STOCK, 0.15, prices={"gold": 1}), "prices.gold"),
        (lambda: truebed.estimate(FLOOR, LEGS, STOCK, 0.15, prices={"lift": -1}), "prices.lift"),
        (lambda: truebed.estimate(FLOOR, LEGS, {}, 0.15), "stock"),
        (lambda: truebed.kit(FLOOR, LEGS, [1], 0.15, share=1), "share"),
        (lambda: truebed.kit(FLOOR, LEGS, [1], 0.15, most=[1, 2]), "most"),
        (lambda: truebed.kit(FLOOR, LEGS, [1], 0.15, packs=[0]), "packs[0]"),
        (lambda: truebed.fit_floor([(LEGS, [0, 0, 0, 0])]), "floors"),
        (lambda: truebed.estimate(FLOOR, LEGS, {1: 9}, 0.5, jobs=9).quantile("gold", 0.5), "name"),
    ],
)
def test_bad_input(call, field):
    with pytest.raises(truebed.Error) as raised:
        call()
    fields = [problem[0] for problem in raised.value.problems]
    assert any(it.startswith(field) for it in fields), raised.value
