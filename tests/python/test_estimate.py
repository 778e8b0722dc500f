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


def test_the_rest_of_a_floor_is_the_conditional_normal():
    read, asked = LEGS[:2], [*LEGS[2:], [1000, 500]]
    rest = FLOOR.given(read, [0.5, -1], asked, sigma="0.2 mm")
    places = np.array(read + asked, dtype=float)
    variance = np.array(
        [[FLOOR.sigma_of_difference_mm(math.dist(a, b)) ** 2 for b in places] for a in places]
    )
    # Fractional Brownian motion held at the first place; the datum has a variance of its own.
    covariance = (variance[:, :1] + variance[:1] - variance) / 2 + 1e6
    covariance[[0, 1], [0, 1]] += 0.04
    weights = np.linalg.solve(covariance[:2, :2], covariance[:2, 2:])
    np.testing.assert_allclose(rest.heights_mm, weights.T @ [0.5, -1], atol=1e-4)
    left = covariance[2:, 2:] - weights.T @ covariance[:2, 2:]
    np.testing.assert_allclose(rest.covariance_mm2, left, atol=1e-3)
    drawn = rest.sample(20_000, seed=1)
    np.testing.assert_allclose(np.cov(drawn.T), rest.covariance_mm2, rtol=0.06, atol=0.06)


def test_a_floor_that_was_read_updates_the_model():
    flat = FLOOR.updated(LEGS, [0, 0.1, 0, -0.1])
    bumpy = FLOOR.updated(LEGS, [0, 9, -9, 3], worth=10)
    assert flat.factor < 1 < bumpy.factor and flat.percentile < 0.1 and bumpy.percentile > 0.99
    assert (bumpy.differences, bumpy.worth) == (3, 13)
    assert bumpy.interval[0] < bumpy.factor < bumpy.interval[1]
    before, after = (it.sigma_of_difference_mm(1000) for it in (FLOOR, bumpy.model))
    assert after == pytest.approx(before * math.sqrt(bumpy.factor))


def test_readings_that_are_needed_leave_no_more_doubt():
    found = truebed.readings_needed(LEGS, 0.15, sigma=0.12, left=0.04, doubt=0.1)
    assert found.readings == 4 * found.rounds and found.doubt <= 0.1
    rng = np.random.default_rng(8)
    errors = rng.normal(0, 0.12 / math.sqrt(found.rounds), (40_000, 4))
    broken = np.mean(np.ptp(errors, axis=1) > 2 * (0.15 - 0.04))
    assert broken == pytest.approx(found.doubt, abs=0.008)
    fewer = rng.normal(0, 0.12 / math.sqrt(found.rounds - 1), (40_000, 4))
    assert np.mean(np.ptp(fewer, axis=1) > 2 * (0.15 - 0.04)) > 0.1


def test_the_front_rises():
    front = truebed.kit_front(
        FLOOR, LEGS, [2, 0.25], 0.15, shares=[0.9, 0.3, 0.6], training_jobs=60, fresh_jobs=100
    )
    pieces = [kit.pieces for kit in front.kits]
    assert pieces == sorted(set(pieces)) and len(pieces) >= 2
    assert all(kit.interval[0] <= kit.served <= kit.interval[1] for kit in front.kits)
    assert front.svg().startswith("<svg") and "jobs served" in front.svg()


def test_kits_for_a_day():
    arguments = {"share": 0.8, "confidence": 0.8, "training_jobs": 60, "fresh_jobs": 60}
    one = truebed.kit(FLOOR, LEGS, [2, 0.25], 0.15, **arguments)
    two = truebed.kit(FLOOR, LEGS, [2, 0.25], 0.15, jobs_a_day=2, most=90, **arguments)
    assert sum(two.counts) > sum(one.counts) and two.meets_share and not two.proven


def test_operations_are_counted():
    found = truebed.estimate(FLOOR, LEGS, STOCK, 0.15, jobs=40, slates=3, minutes={"slate": 7})
    served = ~np.isnan(found.pieces)
    assert found.operations.shape == (40, 6)
    assert (found.operations[served] >= 0).all() and np.isnan(found.operations[~served]).all()
    assert (found.operations[served, 3] == 3).all() and (found.minutes[served] == 21).all()
    np.testing.assert_array_equal(found.operations[served, 2], found.pieces[served])


@pytest.mark.parametrize(
    "call, field",
    [
        (lambda: FLOOR.given([[0, 0], [0, 0], [0, 0]], [0, 1, 2], LEGS), "xy"),
        (lambda: FLOOR.updated(LEGS, [0, 1, 2, 3], worth=0), "worth"),
        (lambda: FLOOR.sample(LEGS, 10**9), "n"),
        (lambda: truebed.readings_needed(LEGS, 0.1, sigma=0), "sigma"),
        (lambda: truebed.readings_needed(LEGS, 0.1, sigma=1, left=0.1), "limits.overall"),
        (lambda: truebed.readings_needed(LEGS, 0.1, sigma=1, doubt=1), "doubt"),
        (lambda: truebed.readings_needed(LEGS, 0.1, sigma=1, pattern="star"), "pattern"),
        (lambda: truebed.kit_front(FLOOR, LEGS, [1], 0.15, shares=[]), "shares"),
        (lambda: truebed.kit_front(FLOOR, LEGS, [1], 0.15, shares=[0.5, 1]), "shares[1]"),
        (lambda: truebed.kit(FLOOR, LEGS, [1], 0.15, jobs_a_day=0), "jobs_a_day"),
        (lambda: truebed.kit(FLOOR, LEGS, [], 0.15), "stock"),
        (lambda: truebed.kit(FLOOR, LEGS, [1], 0.15, training_jobs=0), "training_jobs"),
        (lambda: truebed.estimate(FLOOR, LEGS, STOCK, 0.15, confidence=1), "confidence"),
        (lambda: truebed.estimate(FLOOR, LEGS, STOCK, 0.15, standard_error=2), "standard_error"),
        (lambda: truebed.estimate(FLOOR, LEGS, STOCK, 0.15, again=(-1, 0)), "again.settlement"),
    ],
)
def test_more_bad_input(call, field):
    with pytest.raises(truebed.Error) as raised:
        call()
    fields = [problem[0] for problem in raised.value.problems]
    assert any(it.startswith(field) for it in fields), raised.value


def test_what_is_lifted():
    mass = truebed.slate_mass([[0, 0], [700, 0], [700, 1000], [0, 1000]], "25 mm")
    # 0.7 × 1 × 0.025 m³ of 2793.6 kg/m³.
    assert mass.kg == pytest.approx(48.888) and (mass.x_mm, mass.y_mm) == pytest.approx((350, 500))
    legs = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    loads = truebed.leg_loads(legs, 400, ("0.9 m", 600))
    assert loads.stands_kg.sum() == pytest.approx(400)
    assert loads.stands_kg @ np.array(legs) == pytest.approx([400 * 900, 400 * 600])
    assert (loads.raises_kg > loads.stands_kg).all()
    assert np.isnan(truebed.leg_loads(legs, 400, (3000, 500)).raises_kg[0])
    assert [truebed.people(kg) for kg in (0, 23, 23.1)] == [0, 1, 2]
    assert truebed.people(100, 25) == 4


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: truebed.slate_mass([[0, 0], [1, 0]], 25), "outline"),
        (lambda: truebed.slate_mass([[0, 0, 1]], 25), "outline"),
        (lambda: truebed.slate_mass(LEGS, 0), "thickness"),
        (lambda: truebed.slate_mass(LEGS, 25, "dense"), "density"),
        (lambda: truebed.leg_loads(LEGS, -1, (0, 0)), "kg"),
        (lambda: truebed.leg_loads(LEGS, 400, (0,)), "at"),
        (lambda: truebed.people(float("nan")), "kg"),
        (lambda: truebed.people(9, 0), "kg_a_person"),
    ],
)
def test_what_lifting_refuses(call, field):
    with pytest.raises(truebed.Error, match=field):
        call()


def test_an_estimate_of_legs_and_slates():
    stock, options = {2: None, 0.25: None}, {"jobs": 60, "seed": 3}
    slates = truebed.SlatesOnFrame(
        LEGS, truebed.Limits(0.15, joint_step=0.3), truebed.FloorModel(sigma="0.3 mm"),
        joints=[(1, 2)],
    )
    legs = truebed.estimate(FLOOR, LEGS, stock, 0.15, **options)
    both = truebed.estimate(FLOOR, LEGS, stock, 0.15, on_frame=slates, **options)
    # The legs are those of the same floors; the slates come on top of them.
    assert (both.lifts_mm == legs.lifts_mm).all() and both.served == legs.served == 1
    assert (both.pieces >= legs.pieces).all() and (both.pieces > legs.pieces).any()
    assert (both.used.sum(axis=1) == both.pieces).all()
    # Readings, and joints.
    assert ((both.operations - legs.operations)[:, [0, 4]] == [4, 1]).all()
    for bad, field in [
        (truebed.SlatesOnFrame([[0, 0, 0]], 0.15, FLOOR), "on_frame.xy"),
        (truebed.SlatesOnFrame(LEGS, -1, FLOOR), "on_frame.limits"),
        (truebed.SlatesOnFrame(LEGS, 0.15, "level"), "on_frame.frame"),
        (7, "on_frame"),
    ]:
        with pytest.raises(truebed.Error, match=field):
            truebed.estimate(FLOOR, LEGS, stock, 0.15, on_frame=bad, **options)


def test_slates_on_the_frame_as_plates():
    stock, options = {2: None, 0.25: None}, {"jobs": 60, "seed": 3}
    xy = [[50, 50], [650, 50], [650, 450], [50, 450]]

    def bed(thickness, **more):
        slab = truebed.Slab((0, 700), (0, 500), thickness, e_gpa=48.36, nu=0.25, density=2794)
        laid = truebed.LaidSlab(slab, xy)
        frame = truebed.FloorModel(sigma="0.3 mm")
        return truebed.SlatesOnFrame(xy, 0.15, frame, slabs=[laid], **more)

    def estimated(slates):
        return truebed.estimate(FLOOR, LEGS, stock, 0.15, on_frame=slates, **options)
    
    points = estimated(truebed.SlatesOnFrame(xy, 0.15, truebed.FloorModel(sigma="0.3 mm")))
    soft, stiff = estimated(bed(3)), estimated(bed(60, least_force_n=20))
    # A thin slab lies where points would; a thick one rocks on some of these stacks.
    assert (soft.pieces == points.pieces).all() and soft.served == 1
    assert stiff.served < 1 and dict(stiff.reasons)["loose"] > 0
    for bad, field in [
        (bed(25, least_force_n=-1), r"on_frame.slabs\[0\].least_force_n"),
        (bed(25, least_force_n="20"), "on_frame.least_force_n"),
        (truebed.SlatesOnFrame(LEGS, 0.15, FLOOR, slabs=[7]), r"on_frame.slabs\[0\]"),
        (truebed.SlatesOnFrame(xy[:3], 0.15, FLOOR, slabs=bed(25).slabs), r"slabs\[0\].supports\[3\]"),
    ]:
        with pytest.raises(truebed.Error, match=field):
            estimated(bad)
    # A kit for the thick slab is no smaller than one for points.
    alone = {"share": 0.5, "confidence": 0.5, "training_jobs": 40, "fresh_jobs": 40}
    kits = [
        truebed.kit(FLOOR, LEGS, [2, 0.25, 0.05], 0.15, slates=slates, **alone)
        for slates in (truebed.SlatesOnFrame(xy, 0.15, FLOOR), bed(60))
    ]
    assert sum(kits[1].counts) > 0 and kits[1].meets_share


def test_a_kit_for_legs_and_slates():
    alone = {"share": 0.7, "confidence": 0.7, "training_jobs": 40, "fresh_jobs": 40}
    slates = truebed.SlatesOnFrame(LEGS, 0.15, truebed.FloorModel(sigma="0.3 mm"))
    legs = truebed.kit(FLOOR, LEGS, [2, 0.25], 0.15, **alone)
    both = truebed.kit(FLOOR, LEGS, [2, 0.25], 0.15, slates=slates, **alone)
    assert sum(both.counts) > sum(legs.counts) and legs.proven and not both.proven
    assert both.solved == 2 * 40
    for bad, field in [
        (truebed.SlatesOnFrame([[0, 0, 0]], 0.15, FLOOR), "slates.xy"),
        (truebed.SlatesOnFrame(LEGS, -1, FLOOR), "slates.limits"),
        (truebed.SlatesOnFrame(LEGS, 0.15, "level"), "slates.frame"),
        (7, "slates"),
    ]:
        with pytest.raises(truebed.Error, match=field):
            truebed.kit(FLOOR, LEGS, [2, 0.25], 0.15, slates=bad, **alone)
