"""Supports and points by id: whatever may be told by it, and whatever tells it."""

import pickle

import pandas
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import truebed

XY = {"A": (0, 0), "B": ("2 m", 0), "C": (2000, 900), "D": (0, 900)}
HEIGHTS = {"A": 0, "B": "-1.1 mm", "C": -0.5, "D": -0.8}
STOCK = {0.5: 9, 0.1: None}
ROWS = [[0, 0], [2000, 0], [2000, 900], [0, 900]]
IN_ORDER = [0, -1.1, -0.5, -0.8]
PLACES = [*ROWS, [900, 400]]
PLAN = truebed.plan_shims(XY, HEIGHTS, STOCK, 0.1)


def turned(mapping):
    return dict(reversed(mapping.items()))


def frame(mapping):
    return pandas.DataFrame(list(mapping.values()), index=list(mapping), columns=["x", "y"])


SURVEY = truebed.adjust([truebed.height(id, height) for id, height in turned(HEIGHTS).items()])


@pytest.mark.parametrize(
    "xy, heights",
    [
        (XY, turned(HEIGHTS)),
        (XY, IN_ORDER),
        (XY, pandas.Series(turned(HEIGHTS))),
        (XY, SURVEY),
        (frame(XY), HEIGHTS),
        (frame(XY).assign(note="of no interest")[["note", "y", "x"]], SURVEY),
        # What pandas numbers is in order beside ids.
        (XY, pandas.Series(IN_ORDER)),
    ],
)
def test_ids_in_every_form(xy, heights):
    assert truebed.plan_shims(xy, heights, STOCK, 0.1) == PLAN
    assert PLAN.ids == ["A", "B", "C", "D"]
    plane = truebed.fit_plane(xy, heights)
    assert plane.ids == PLAN.ids
    assert plane.to_dict() == truebed.fit_plane(ROWS, IN_ORDER).to_dict() | {"ids": PLAN.ids}


def test_the_plan_is_that_of_arrays_but_for_the_ids():
    plain = truebed.plan_shims(ROWS, IN_ORDER, STOCK, 0.1)
    assert plain.ids is None and plain != PLAN
    lifted = [PLAN.ids.index(id) for id in PLAN.lifted]
    assert plain.to_dict() == PLAN.to_dict() | {"ids": None, "lifted": lifted}


def test_ids_are_told():
    assert repr(PLAN).endswith("stacks={'A': [], 'B': [0.5, 0.5], 'C': [0.5], 'D': [0.5, 0.1]})")
    assert PLAN.to_frame().index.tolist() == list("ABCD")
    assert all(f">{id}<" in PLAN.picture() for id in PLAN.ids)
    again = pickle.loads(pickle.dumps(PLAN))
    assert again == PLAN and again.picture() == PLAN.picture()
    numbered = truebed.plan_shims(ROWS, IN_ORDER, STOCK, 0.1)
    assert numbered.to_frame().index.tolist() == [0, 1, 2, 3]
    many = {f"leg {at}": (at, 0) for at in range(30)}
    assert "'leg 15': [], … 14 more}" in repr(truebed.plan_shims(many, [0] * 30, {1: 1}, 0.5))


def test_the_next_pass():
    tops = {id: top - 0.3 * (id == "C") for id, top in zip(PLAN.ids, PLAN.tops_mm)}
    placed = {id: stack for id, stack in zip(PLAN.ids, PLAN.stacks)}
    plan = truebed.plan_shims(turned(XY), tops, STOCK, 0.1, placed=PLAN, stock_is="left")
    assert plan == truebed.plan_shims(turned(XY), tops, STOCK, 0.1, placed=placed, stock_is="left")
    assert plan.lifted == ["C"]
    assert "Lift again: C." in plan.picture()
    same = truebed.plan_shims(ROWS, list(tops.values()), STOCK, 0.1, placed=PLAN, stock_is="left")
    assert sorted(plan.stacks) == sorted(same.stacks)
    settled = PLAN.settlement_mm(turned(tops))
    assert settled.round(6).tolist() == [0, 0, 0.3, 0]


def test_joints_named_limits_and_kinds_for_some():
    limits = truebed.Limits(0.3, joint_step=0.05, named=[(["A", "C"], 0.02)])
    by_index = truebed.Limits(0.3, joint_step=0.05, named=[([0, 2], 0.02)])
    stock = [truebed.Shim(0.5), truebed.Shim(0.1, under=["B", "D"]), truebed.Shim(0.01)]
    same = [truebed.Shim(0.5), truebed.Shim(0.1, under=[1, 3]), truebed.Shim(0.01)]
    plan = truebed.plan_shims(XY, HEIGHTS, stock, limits, joints=[("A", "B"), (2, "D")])
    plain = truebed.plan_shims(ROWS, IN_ORDER, same, by_index, joints=[(0, 1), (2, 3)])
    lifted = [PLAN.ids[at] for at in plain.lifted]
    more = {"ids": PLAN.ids, "lifted": lifted, "left": plan.to_dict()["left"]}
    assert plan.to_dict() == plain.to_dict() | more
    assert plan == truebed.plan_shims(XY, HEIGHTS, same, by_index, joints=[(0, 1), (2, 3)])
    assert limits.named == [(["A", "C"], 0.02)] and stock[1].under == ["B", "D"]
    for value in [limits, *stock]:
        assert eval(repr(value), vars(truebed)) == value == pickle.loads(pickle.dumps(value))
    turn = truebed.plan_shims(turned(XY), HEIGHTS, stock, limits, joints=[("A", "B"), ("C", "D")])
    assert turn.pieces == plan.pieces and turn.worst_mm == plan.worst_mm


def test_the_trade_off_shortfalls_and_batches():
    plans = truebed.tradeoff(XY, HEIGHTS, STOCK, 0.3)
    assert all(plan.ids == PLAN.ids for plan in plans)
    short = truebed.shortfall(XY, HEIGHTS, {0.5: 1}, 0.2)
    assert short.conflict.ids == [PLAN.ids[at] for at in short.conflict.supports]
    assert all(it.ids == [PLAN.ids[at] for at in it.points] for it in short.conflict.limits)
    assert f", ids={short.conflict.ids})" in repr(short.conflict)
    assert short.flattest.ids == short.addition.plan.ids == PLAN.ids
    table = {"xy": XY, "heights": HEIGHTS, "stock": STOCK, "limits": 0.1}
    assert truebed.plan_many([table, {**table, "heights": IN_ORDER}]) == [PLAN, PLAN]


def test_planes_and_the_highest():
    sigmas = {"D": 0.4, "C": 0.3, "B": 0.2, "A": 0.1}
    fit = truebed.least_squares(XY, HEIGHTS, sigmas=sigmas)
    assert fit.plane.ids == PLAN.ids
    assert fit.residual_sd == truebed.least_squares(ROWS, IN_ORDER, sigmas=[0.1, 0.2, 0.3, 0.4]).residual_sd
    weighted = truebed.fit_plane(XY, HEIGHTS, weights=pandas.Series(sigmas))
    assert weighted.slope_x == truebed.fit_plane(ROWS, IN_ORDER, weights=[0.1, 0.2, 0.3, 0.4]).slope_x
    assert truebed.minimum_zone(XY, HEIGHTS).plane.ids == truebed.resting(XY, HEIGHTS).plane.ids
    found = truebed.highest(HEIGHTS, sigmas=sigmas)
    assert found.ids == PLAN.ids and repr(found).endswith("ids=['A', 'B', 'C', 'D'])")
    assert found.highest == truebed.highest(IN_ORDER, sigmas=[0.1, 0.2, 0.3, 0.4]).highest
    assert truebed.straightedge(XY, HEIGHTS, 500) == truebed.straightedge(ROWS, IN_ORDER, 500)


@pytest.mark.parametrize(
    "arguments, text, code",
    [
        ({"heights": {"A": 0, "B": 0, "C": 0}}, "heights['D']: got nothing, expected a value", 13),
        (
            {"heights": HEIGHTS | {"E": 0}},
            "heights['E']: got a value, expected points of xy only",
            13,
        ),
        (
            {"heights": pandas.Series(IN_ORDER, index=[7, 8, 9, 10])},
            "heights['A']: got nothing, expected a value\n",
            13,
        ),
        (
            {"xy": pandas.DataFrame(ROWS, index=[1, 2, 3, 4]), "heights": pandas.Series(IN_ORDER)},
            "heights[4]: got nothing, expected a value\n"
            "heights[0]: got a value, expected points of xy only",
            13,
        ),
        (
            {"xy": {1: (0, 0)}, "heights": [0]},
            "xy, ids: got 1 (int), expected a mapping by ids, which are texts",
            10,
        ),
        (
            {"xy": pandas.DataFrame(ROWS, index=list("ABAD")), "heights": IN_ORDER},
            "xy[2]: got 'A', expected a label that xy[0] does not have",
            12,
        ),
        ({"joints": [("A", "X")]}, "joints[0]: got 'X', expected an index, or the id of a point", 13),
        ({"joints": ["AB"]}, "joints[0]: got 'A' (str), expected an index, 0 or more", 10),
        (
            {"limits": truebed.Limits(1, named=[(["A", "X"], 1)])},
            'limits: got "X", expected indices, or ids of the points',
            13,
        ),
        (
            {"stock": [truebed.Shim(1, under=["X"])]},
            'stock[0].under: got "X", expected indices, or ids of the points',
            13,
        ),
        (
            {"xy": ROWS, "heights": IN_ORDER, "stock": [truebed.Shim(1, under=["A"])]},
            'stock[0].under: got "A", expected indices, since the points have no ids',
            13,
        ),
        (
            {"xy": ROWS, "heights": IN_ORDER, "placed": {"A": []}},
            "placed: got values by id, expected values in order, since the points have no ids",
            13,
        ),
        ({"placed": {"A": []}}, "placed['B']: got nothing, expected a value\n", 13),
        ({"heights": dict.fromkeys("ABCD")}, "heights[0]: got None (NoneType)", 10),
    ],
)
def test_what_is_wrong_with_ids_is_told(arguments, text, code):
    with pytest.raises(truebed.Error) as caught:
        truebed.plan_shims(**{"xy": XY, "heights": HEIGHTS, "stock": STOCK, "limits": 1} | arguments)
    assert str(caught.value).startswith(text)
    assert caught.value.code == code


def test_labels_of_pandas_are_matched():
    shuffled = pandas.Series(IN_ORDER).iloc[[2, 0, 3, 1]]
    plan = truebed.plan_shims(pandas.DataFrame(ROWS), shuffled, STOCK, 0.1)
    assert plan == truebed.plan_shims(ROWS, IN_ORDER, STOCK, 0.1)
    kept = pandas.DataFrame({"x": [0, 2000, 2000, 0], "y": [0, 0, 900, 900], "h": IN_ORDER})
    kept = kept[kept.x > 0]
    plan = truebed.plan_shims(kept, kept.h, STOCK, 0.1)
    assert plan == truebed.plan_shims(ROWS[1:3], IN_ORDER[1:3], STOCK, 0.1)


@given(
    st.lists(st.floats(-5, 0), min_size=5, max_size=5),
    st.permutations(range(5)),
)
@settings(max_examples=50, deadline=None)
def test_points_by_id_in_any_order_are_those_in_order(heights, order):
    ids = ["door", "window", "hearth", "stairs", "middle"]
    stock = {1: None, 0.25: 9}
    plan = truebed.plan_shims(PLACES, heights, stock, 0.5)
    by_id = truebed.plan_shims(
        dict(zip(ids, PLACES)), {ids[at]: heights[at] for at in order}, stock, 0.5
    )
    frame = pandas.DataFrame(PLACES, index=ids, columns=["x", "y"])[["y", "x"]]
    series = pandas.Series(heights, index=ids).iloc[list(order)]
    assert truebed.plan_shims(frame, series, stock, 0.5) == by_id
    assert by_id.ids == ids
    assert by_id.stacks == plan.stacks
    numbered = pandas.Series(heights).iloc[list(order)]
    assert truebed.plan_shims(pandas.DataFrame(PLACES), numbered, stock, 0.5) == plan
