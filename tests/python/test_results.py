"""What comes out: values that print, compare, pickle, and cannot be changed."""

import copy
import dataclasses
import pickle

import numpy as np
import pytest

import truebed

XY = [[0, 0], [1000, 0], [1000, 500], [0, 500]]
PLANE = truebed.fit_plane(XY, [0.5, -0.5, 0.5, -0.5])
PLAN = truebed.plan_shims(XY, [0, 0, 0, 0], {1: None}, 0.5)
VERDICT = truebed.check([0, 1, 0, 0], 0.25, xy=XY)
INPUTS = [
    truebed.Shim("0.010 in", 4, 30),
    truebed.Shim(1),
    truebed.Limits("0.1 mm", joint_step="0.005 in"),
    truebed.Limits.preset("WPA 2001"),
    truebed.Budget(5, 10),
    truebed.Budget(),
]
ZONE = truebed.minimum_zone(XY, [0.5, -0.5, 0.5, -0.5])
STANCE = truebed.resting(XY, [0, 0, 0, -2], (510, 245))
LINE = [[x, 0] for x in range(0, 3600, 300)]
PLANES = [
    ZONE,
    ZONE.contacts[0],
    STANCE,
    STANCE.rocks[0],
    truebed.fit_planes(XY, [[0, 1, 0, 2]]),
    truebed.least_squares(XY, [0, 1, 0, 2]),
    truebed.highest([1, 2], sigmas=[1, 1]),
    truebed.local_slopes(LINE, range(12)),
    truebed.local_slopes(LINE, range(12)).along[0],
    truebed.straightedge(LINE, range(12), 2000),
    *truebed.check_floor(LINE, [0, 1] * 6, "ACI 117 flat")[:2],
    truebed.floor_numbers([[0, 1] * 6]),
]
VALUES = [PLANE, PLAN, VERDICT, *PLANES, *VERDICT.findings, *INPUTS]


@pytest.mark.parametrize("value", VALUES, ids=repr)
def test_pickle_and_equality(value):
    for again in [pickle.loads(pickle.dumps(value)), copy.copy(value), copy.deepcopy(value)]:
        assert again == value
        assert type(again) is type(value)
        assert repr(again) == repr(value)
    others = [other for other in VALUES if other is not value]
    assert all(value != other for other in [*others, None, 1])


@pytest.mark.parametrize("value", VALUES, ids=repr)
def test_nothing_can_be_changed(value):
    for name in [name for name in dir(value) if not name.startswith("_")]:
        # Of a method's name a frozen class with slots raises TypeError up to CPython 3.12.
        with pytest.raises((AttributeError, TypeError)):
            setattr(value, name, 0)
        if isinstance(getattr(value, name), np.ndarray):
            with pytest.raises(ValueError):
                getattr(value, name)[0] = 1
            with pytest.raises(ValueError):
                getattr(pickle.loads(pickle.dumps(value)), name)[0] = 1


def test_inputs_are_told_as_they_are_written():
    assert repr(truebed.Shim("0.010 in", 4)) == "Shim(thickness=0.254, count=4, price=0)"
    assert repr(truebed.Limits(0.1)) == "Limits(overall=0.1, line_width=20)"
    assert repr(truebed.Budget(5)) == "Budget(nodes=5, time_ms=None)"
    for value in INPUTS:
        assert eval(repr(value), vars(truebed)) == value


def test_limits_of_2001():
    limits = truebed.Limits.preset("WPA 2001")
    assert limits == truebed.Limits(along="0.020 in", across="0.010 in", joint_step="0.005 in")
    assert (limits.overall, limits.along, limits.line_width) == (None, 0.508, 20.0)


def test_shims_can_be_keys():
    assert len({truebed.Shim("0.010 in"), truebed.Shim(0.254), truebed.Shim(0.254, 3)}) == 2


def test_plan():
    assert PLAN.stacks == [[], [], [], []]
    assert PLAN.lifts_mm.tolist() == PLAN.tops_mm.tolist() == [0.0] * 4
    assert (PLAN.pieces, PLAN.worst_mm, PLAN.target_mm, PLAN.used) == (0, 0.0, 0.0, [0])
    assert PLAN.meets_limits and PLAN.unreachable == []
    assert repr(PLAN) == (
        f"ShimPlan(status={PLAN.status!r}, pieces=0, bound=0.0, worst_mm=0.0, target_mm=0.0, "
        "meets_limits=True, stacks=[[], [], [], []])"
    )


def test_a_long_plan_is_told_in_short():
    xy = [[x, 0] for x in range(30)]
    plan = truebed.plan_shims(xy, [0] * 30, {1: None}, 0.5)
    assert repr(plan).endswith(f"stacks=[{'[], ' * 16}… 14 more])")


def test_plane():
    assert PLANE.deviations_mm.dtype == float
    assert "slope_x=" in repr(PLANE) and repr(PLANE).endswith("; 4 points)")
    assert dataclasses.replace(PLANE, rms_mm=2.0) != PLANE


def test_errors_are_caught_as_what_they_are():
    assert issubclass(truebed.InputError, truebed.Error)
    assert issubclass(truebed.InputError, ValueError)
    assert issubclass(truebed.InputTypeError, truebed.Error)
    assert issubclass(truebed.InputTypeError, TypeError)
    with pytest.raises(truebed.Error) as caught:
        truebed.parse_length("3")
    assert caught.value.problems[0].field == "length"
    assert caught.value.problems[0].got == '"3"'
