"""Slabs against SciPy's sparse solver and HiGHS, and the Python door to them."""

import pickle
from collections.abc import Callable

import numpy as np
import pytest

import truebed
from plate_scipy import borne

SLAB = truebed.Slab((0, 1370), (0, 880), 25.4, e_gpa=48.36, nu=0.25, density=2793.6)
XY = np.array(
    [[60, 40], [685, 40], [1310, 40], [1310, 440], [1310, 840], [685, 840], [60, 840], [60, 440]],
    dtype=float,
)


def test_a_support_that_is_clear_has_no_force_and_no_sign() -> None:
    slab = truebed.Slab((0, 1270), (0, 850), "1 in", e_gpa=48.36, nu=0.25, density=2794)
    corners = [(50, 50), (1220, 50), (1220, 800), (50, 800)]
    bearing = truebed.bear(slab, corners, [0, 0, 0, -1.5])
    assert bearing.gaps_mm[3] > 0 and str(bearing.forces_n[3]) == "0.0"


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
    assert "loose=0" in repr(bearing) and "without pockets, holes, grain" in repr(bearing)
    assert bearing.laid == again.laid and bearing.laid != truebed.LaidSlab(slab, XY)
    with pytest.raises(ValueError, match="read-only"):
        bearing.forces_n[0] = 0.0
    assert pickle.loads(pickle.dumps(slab)) == slab and pickle.loads(pickle.dumps(loads)) == loads
    assert bearing.stress_ratio == bearing.stress_mpa / 50
    assert 0 < bearing.sag_mm < 0.1 and bearing.accuracy_mm <= 1e-3
    plan = truebed.plan_bed(slab, XY, np.zeros(8), {0.1: 5}, 0.1)
    assert pickle.loads(pickle.dumps(plan)) == plan and plan.pieces == 0


def test_a_slab_that_tips_says_where() -> None:
    bearing = truebed.bear(SLAB, [[10, 10], [600, 10], [600, 800], [10, 800]], [0, 0, 0, 0])
    assert bearing.tips is not None and bearing.tips[0] == (1, 2)
    assert np.isnan(bearing.forces_n).all() and np.isnan(bearing.stress_mpa)
    assert "tips over the line from 1 to 2" in repr(bearing)
    corners = {"A": (10, 10), "B": (600, 10), "C": (600, 800), "D": (10, 800)}
    assert "tips over the line from B to C" in repr(truebed.bear(SLAB, corners, [0] * 4))


def slab(**other: object) -> truebed.Slab:
    """A slab that is as usual but for this."""
    usual: dict[str, object] = {
        "x": (0, 1370), "y": (0, 880), "thickness": 25.4, "e_gpa": 48.36, "nu": 0.25, "density": 2793.6,
    }
    return truebed.Slab(**(usual | other))  # type: ignore[arg-type]


FLAT = [0.0] * 8
TWICE = np.vstack([XY[:7], XY[:1]])
LINE = np.array([[100.0 * (at + 1), 50.0 * (at + 1)] for at in range(8)])


@pytest.mark.parametrize(
    ("field", "got", "expected", "call"),
    [
        ("slab.thickness", "0", "above 0 mm", lambda: slab(thickness=0)),
        ("slab.thickness", "-1", "above 0 mm", lambda: slab(thickness=-1)),
        ("slab.e_gpa", "0", "above 0 GPa", lambda: slab(e_gpa=0)),
        ("slab.e_gpa", "-5", "above 0 GPa", lambda: slab(e_gpa=-5)),
        ("slab.nu", "0.5", "from 0 to below 0.5", lambda: slab(nu=0.5)),
        ("slab.nu", "-0.1", "from 0 to below 0.5", lambda: slab(nu=-0.1)),
        ("slab.nu", "NaN", "from 0 to below 0.5", lambda: slab(nu=np.nan)),
        ("slab.density", "inf", "above 0 kg/m", lambda: slab(density=np.inf)),
        ("slab.strength_mpa", "0", "above 0 MPa", lambda: slab(strength_mpa=0)),
        ("supports[0].xy", "x = 2060", "x from 0 to 1370 mm", lambda: truebed.bear(SLAB, XY + 2000, FLAT)),
        ("supports[7].xy", "x = 60", "where supports[0] does not stand", lambda: truebed.bear(SLAB, TWICE, FLAT)),
        ("supports", "2 supports", "3 to 500 supports", lambda: truebed.bear(SLAB, XY[:2], FLAT[:2])),
        ("supports", "on one line", "not on one line", lambda: truebed.bear(SLAB, LINE, FLAT)),
        ("supports[0].pull_n", "-1", "0 to 1e9 N", lambda: truebed.bear(SLAB, XY, FLAT, pull_n=-1)),
        ("supports[0].stiffness_n_per_mm", "-1", "at least 1e-6 N/mm",
         lambda: truebed.bear(SLAB, XY, FLAT, stiffness_n_per_mm=-1)),
        ("tops[7]", "NaN", "in mm", lambda: truebed.bear(SLAB, XY, [*FLAT[:7], np.nan])),
        ("loads[0].xy", "x = 1400", "x from 0 to 1370 mm",
         lambda: truebed.bear(SLAB, XY, FLAT, loads=[truebed.point_load(1400, 5, 5)])),
        ("loads[0].newtons", "NaN", "", lambda: truebed.bear(SLAB, XY, FLAT, loads=[truebed.point_load(9, 9, np.nan)])),
        ("at[0]", "x = 2000", "x from 0 to 1370 mm",
         lambda: truebed.plan_bed(SLAB, XY, FLAT, {0.1: 5}, 0.1, at=[[2000, 5]])),
        ("least_force_n", "-1", "at least 0 N",
         lambda: truebed.plan_bed(SLAB, XY, FLAT, {0.1: 5}, 0.1, least_force_n=-1)),
    ],
)  # fmt: skip
def test_what_is_refused(field: str, got: str, expected: str, call: Callable[[], object]) -> None:
    with pytest.raises(truebed.InputError) as refused:
        call()
    problem = refused.value.problems[0]
    assert problem.field == field
    assert got in problem.got and expected in problem.expected, problem


def test_what_has_the_wrong_type() -> None:
    with pytest.raises(truebed.InputTypeError, match="slab: "):
        truebed.bear("slab", XY, FLAT)  # type: ignore[arg-type]
    with pytest.raises(truebed.InputTypeError, match=r"loads\[0\]"):
        truebed.bear(SLAB, XY, FLAT, loads=[3])  # type: ignore[list-item]


def test_many_floors_in_one_call() -> None:
    laid = truebed.LaidSlab(SLAB, XY)
    floors = np.random.default_rng(3).normal(0, 0.1, (500, 8))
    many = laid.bear_many(floors)
    for at in (0, 7, 499):
        one = laid.bear(floors[at])
        assert many.forces_n[at].tolist() == one.forces_n.tolist()
        assert many.gaps_mm[at].tolist() == one.gaps_mm.tolist()
