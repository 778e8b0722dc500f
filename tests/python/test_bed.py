"""Slabs against SciPy's sparse solver and HiGHS, and the Python door to them."""

import pickle

import numpy as np
import pytest

import truebed
from plate_scipy import borne

SLAB = truebed.Slab((0, 1370), (0, 880), 25.4, e_gpa=48.36, nu=0.25, density=2793.6)
XY = np.array(
    [[60, 40], [685, 40], [1310, 40], [1310, 440], [1310, 840], [685, 840], [60, 840], [60, 440]],
    dtype=float,
)


@pytest.mark.parametrize("seed", range(6))
def test_forces_are_those_of_scipy_and_highs(seed: int) -> None:
    chance = np.random.default_rng(seed)
    tops = chance.normal(0, 0.05, len(XY)) if seed else np.zeros(len(XY))
    laid = truebed.LaidSlab(SLAB, XY)
    bearing = laid.bear(tops)
    forces = borne(SLAB, XY, tops, laid.elements)
    assert np.allclose(bearing.forces_n, forces, atol=2e-3 * SLAB.weight_n)
    assert (bearing.carries == (forces > 1e-3)).mean() >= 7 / 8


def test_one_support_by_id_and_in_any_order() -> None:
    xy = {"A": (50, 50), "B": (1220, 50), "C": (1220, 800), "D": (50, 800)}
    slab = truebed.Slab((0, 1270), (0, 850), 25.4, e_gpa=48.36, nu=0.25, density=2794)
    one = truebed.bear(slab, xy, {"D": -0.2, "C": 0, "B": 0, "A": 0})
    other = truebed.bear(slab, list(xy.values()), [0, 0, 0, -0.2])
    assert one.ids == list("ABCD")
    assert one.forces_n.tolist() == other.forces_n.tolist()


def test_pickles_and_shows() -> None:
    loads = [truebed.point_load(600, 400, 100), truebed.patch_load((0, 100), (0, 100), 5)]
    slab = truebed.Slab((0, 1370), (0, 880), 25, e_gpa=40, nu=0.2, density=2800, strength_mpa=50)
    bearing = truebed.bear(slab, XY, np.zeros(8), loads=loads, pull_n=10)
    again = pickle.loads(pickle.dumps(bearing))
    assert again == bearing and again.forces_n.tolist() == bearing.forces_n.tolist()
    assert "loose=0" in repr(bearing)
    assert pickle.loads(pickle.dumps(slab)) == slab and pickle.loads(pickle.dumps(loads)) == loads
    assert bearing.stress_ratio == bearing.stress_mpa / 50
    assert 0 < bearing.sag_mm < 0.1 and bearing.accuracy_mm <= 1e-3
    plan = truebed.plan_bed(slab, XY, np.zeros(8), {0.1: 5}, 0.1)
    assert pickle.loads(pickle.dumps(plan)) == plan and plan.pieces == 0


def test_a_slab_that_tips_says_where() -> None:
    bearing = truebed.bear(SLAB, [[10, 10], [600, 10], [600, 800], [10, 800]], [0, 0, 0, 0])
    assert bearing.tips is not None and bearing.tips[0] == (1, 2)
    assert np.isnan(bearing.forces_n).all() and np.isnan(bearing.stress_mpa)
    assert "tips" in repr(bearing)


def test_what_is_refused() -> None:
    def told(*arguments: object, **more: object) -> str:
        with pytest.raises(truebed.InputError) as refused:
            truebed.bear(*arguments, **more)  # type: ignore[arg-type]
        return refused.value.problems[0].field

    flat = [0.0] * 8
    assert told(SLAB, XY + 2000, flat) == "supports[0].xy"
    assert told(SLAB, XY[:2], flat[:2]) == "supports"
    assert told(SLAB, XY, flat, pull_n=-1) == "supports[0].pull_n"
    assert told(SLAB, XY, flat, stiffness_n_per_mm=-1) == "supports[0].stiffness_n_per_mm"
    assert told(SLAB, XY, [*flat[:7], np.nan]) == "tops[7]"
    with pytest.raises(truebed.InputError, match="slab.nu"):
        truebed.Slab((0, 1), (0, 1), 1, e_gpa=1, nu=0.5, density=1)
    with pytest.raises(truebed.InputTypeError, match="slab: "):
        truebed.bear("slab", XY, flat)  # type: ignore[arg-type]
    with pytest.raises(truebed.InputTypeError, match=r"loads\[0\]"):
        truebed.bear(SLAB, XY, flat, loads=[3])  # type: ignore[list-item]
    with pytest.raises(truebed.InputError, match="least_force_n"):
        truebed.plan_bed(SLAB, XY, flat, {0.1: 5}, 0.1, least_force_n=-1)


def test_many_floors_in_one_call() -> None:
    laid = truebed.LaidSlab(SLAB, XY)
    floors = np.random.default_rng(3).normal(0, 0.1, (500, 8))
    many = laid.bear_many(floors)
    for at in (0, 7, 499):
        one = laid.bear(floors[at])
        assert many.forces_n[at].tolist() == one.forces_n.tolist()
        assert many.gaps_mm[at].tolist() == one.gaps_mm.tolist()
