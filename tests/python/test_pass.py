"""The next pass, adjustable pieces, named limits, slopes, and stocks that are too small."""

import pickle

import numpy as np
import pytest
import truebed
from truebed import Limits, Shim

XY = [(0, 0), (2000, 0), (2000, 1000), (0, 1000)]
HEIGHTS = [0, -1.25, -0.75, -1.25]
STOCK = {1.0: 4, 0.5: 4, 0.25: 3}


def test_next_pass():
    first = truebed.plan_shims(XY, HEIGHTS, STOCK, 0.05)
    assert first.lifted == [1, 2, 3] and first.moved == first.pieces == 6
    read = first.tops_mm - [0, 0.25, 0, 0]
    assert first.settlement_mm(read).tolist() == [0, 0.25, 0, 0]
    left = {mm: on_hand - used for (mm, on_hand), used in zip(STOCK.items(), first.used)}
    again = truebed.plan_shims(XY, read, left, 0.05, placed=first)
    assert (again.status, again.lifted, again.moved, again.bound) == ("proven", [1], 2, 1.0)
    # The same from plain lists, and with units.
    texts = [[f"{mm} mm" for mm in stack] for stack in first.stacks]
    assert truebed.plan_shims(XY, read, left, 0.05, placed=texts) == again
    assert truebed.plan_many([dict(xy=XY, heights=read, stock=left, limits=0.05, placed=first)]) == [
        again
    ]
    # Nothing to do where nothing has moved.
    still = truebed.plan_shims(XY, first.tops_mm, left, 0.05, placed=first)
    assert (still.stacks, still.moved, still.lifted) == (first.stacks, 0, [])


def test_what_cannot_be_in_place():
    with pytest.raises(truebed.InputError, match=r"placed\[1\]\[0\]: got 3 mm, expected a thickness"):
        truebed.plan_shims(XY, HEIGHTS, STOCK, 0.05, placed=[[], [3.0], [], []])
    with pytest.raises(truebed.InputError, match="placed: got 1 stacks"):
        truebed.plan_shims(XY, HEIGHTS, STOCK, 0.05, placed=[[]])
    for placed in (3, [1, 2, 3, 4], ["1 mm", [], [], []]):
        with pytest.raises(truebed.InputTypeError, match="placed"):
            truebed.plan_shims(XY, HEIGHTS, STOCK, 0.05, placed=placed)


def test_screw_foot_for_one_leg():
    foot = Shim(5, 1, to="25 mm", step=0.05, under=[1])
    shim = Shim(0.5, 4, loaded_factor=0.9)
    plan = truebed.plan_shims(XY[:3], [0, -11.3, -0.45], [shim, foot], 0.05)
    assert plan.stacks == [[], [11.3], [0.5]]
    assert plan.lifts_mm.tolist() == [0, 11.3, 0.45]
    # Set anew where it stands: one piece moved.
    left = [Shim(0.5, 3, loaded_factor=0.9), Shim(5, 0, to=25, step=0.05, under=[1])]
    again = truebed.plan_shims(XY[:3], [0, -0.2, 0], left, 0.05, placed=plan)
    assert (again.lifted, again.moved) == ([1], 1)
    assert abs(again.stacks[1][0] - 11.5) <= 0.1


def test_shims_and_limits_by_value():
    foot = Shim("5 mm", 2, 3, to=25, step=0.05, under=[1, 2])
    assert (foot.to, foot.step, foot.under, foot.loaded_factor) == (25, 0.05, [1, 2], 1)
    assert foot == pickle.loads(pickle.dumps(foot)) != Shim(5, 2, 3)
    assert hash(foot) == hash(pickle.loads(pickle.dumps(foot)))
    assert eval(repr(foot), {"Shim": Shim}) == foot
    limits = Limits(0.1, named=[([0, 2], "0.02 mm")], slope_along=1.5, slope_across=0.25)
    assert (limits.named, limits.slope_along, limits.slope_across) == ([([0, 2], 0.02)], 1.5, 0.25)
    assert limits == pickle.loads(pickle.dumps(limits)) != Limits(0.1)
    assert eval(repr(limits), {"Limits": Limits}) == limits


def test_bad_shims_and_limits():
    with pytest.raises(truebed.InputError, match="both to and step"):
        Shim(5, to=25)
    with pytest.raises(truebed.InputTypeError, match="loaded_factor"):
        Shim(5, loaded_factor="0.9")
    with pytest.raises(truebed.InputTypeError, match="under"):
        Shim(5, under=3)
    # What no plan could take is refused where it is made.
    with pytest.raises(truebed.InputError, match=r"Shim\(1\).loaded_factor: got 97"):
        Shim(1, 2, loaded_factor=97)
    with pytest.raises(truebed.InputError, match=r"Shim\(1\).common_sigma: got -1 mm"):
        Shim(1, common_sigma=-1)
    with pytest.raises(truebed.InputError, match="thickness: got 0 mm"):
        Shim(0)
    with pytest.raises(truebed.InputError, match="only_under"):
        truebed.plan_shims(XY, HEIGHTS, [Shim(5, under=[9])], 0.05)
    with pytest.raises(truebed.InputError, match="slope_along: got -1"):
        Limits(0.1, slope_along=-1)
    with pytest.raises(truebed.InputTypeError, match="named"):
        Limits(0.1, named=[3])
    with pytest.raises(truebed.InputTypeError, match="named"):
        Limits(0.1, named=3)


def test_the_whole_stock_or_what_is_left():
    stock = {1: 4, 0.5: 4, 0.25: 4}
    first = truebed.plan_shims(XY, HEIGHTS, stock, 0.13)
    assert [shim.count + used for shim, used in zip(first.left, first.used)] == [4, 4, 4]
    tops = first.tops_mm - [0, 0.3, 0, 0]
    left = truebed.plan_shims(XY, tops, first.left, 0.13, placed=first)
    whole = truebed.plan_shims(XY, tops, stock, 0.13, placed=first, stock_is="whole")
    assert left.stacks == whole.stacks and left.left == whole.left
    # The same stock again would be more pieces than were ever owned.
    with pytest.raises(truebed.InputError, match=r"which the plan in place has left \(plan.left\)"):
        truebed.plan_shims(XY, tops, stock, 0.13, placed=first)
    assert truebed.plan_shims(XY, tops, stock, 0.13, placed=first, stock_is="left").meets_limits
    with pytest.raises(truebed.InputError, match="in place, expected a whole stock"):
        few = {1: 0, 0.5: 0, 0.25: 0}
        truebed.plan_shims(XY, tops, few, 0.13, placed=first, stock_is="whole")
    with pytest.raises(truebed.InputError, match="stock_is: got 'all'"):
        truebed.plan_shims(XY, tops, stock, 0.13, stock_is="all")  # type: ignore[arg-type]


def test_a_risk_of_each_or_of_all():
    stock = [Shim(1, sigma=0.01, common_sigma=0.005), Shim(0.25, sigma=0.005), Shim(0.05)]
    covariance = np.eye(4) * 1e-4
    each = truebed.plan_shims(XY, HEIGHTS, stock, 0.1, covariance=covariance, risk=0.05)
    every = truebed.plan_shims(
        XY, HEIGHTS, stock, 0.1, covariance=covariance, risk=0.05, risk_of="all"
    )
    assert each.meets_limits and every.meets_limits and every.bound >= each.bound
    assert every.verdict is not None and every.verdict.probability >= 0.948
    # The risk of a plan is not the level of the verdict.
    bold = truebed.plan_shims(XY, HEIGHTS, stock, 0.1, covariance=covariance, risk=0.4)
    assert bold.verdict is not None
    sure = 0.95 <= bold.verdict.probability
    assert (bold.verdict.met is True) == sure
    with pytest.raises(truebed.InputError, match="risk_of: got 'both'"):
        truebed.plan_shims(XY, HEIGHTS, stock, 0.1, risk_of="both")  # type: ignore[arg-type]


def test_a_target_that_slopes():
    fall = np.array([0.0, -4.0, -4.1, 0.0])
    plan = truebed.plan_shims(XY, fall, {0.5: 9}, Limits(0.1, slope_along=2, slope_across=0.1))
    assert plan.pieces == 0 and plan.slopes_mm_per_m[0] < -1.9
    assert truebed.check(fall, Limits(0.1, slope_along=2, slope_across=0.1), xy=XY).met
    assert not truebed.check(fall, Limits(0.1), xy=XY).met
    with pytest.raises(truebed.InputError, match="xy"):
        truebed.check(fall, Limits(0.1, slope_along=2))


def test_what_is_short():
    stock = {1.0: 1, 0.5: 1}
    heights = [0, -2, -0.5, 0]
    assert truebed.shortfall(XY, heights, {1.0: 2, 0.5: 1}, 0.1) is None
    short = truebed.shortfall(XY, heights, stock, 0.1, catalogue=[Shim(2, price=50), Shim(1, price=20)])
    assert short is not None and short.addition is not None
    assert (short.addition.pieces, short.addition.price, short.addition.bound) == ([0, 1], 20, 20.0)
    assert short.addition.plan.status == "proven" and short.addition.plan.stacks[1] == [1.0, 1.0]
    conflict = short.conflict
    # Either of the highest may stay bare, so both stand for the floor.
    assert (conflict.supports, conflict.scarce, conflict.minimal) == ([0, 1, 3], [0, 1], True)
    assert [(it.limit, it.allowed_mm) for it in conflict.limits] == [("overall", 0.2)]
    assert short.flattest.bound == short.flattest.worst_mm > 0.1
    assert pickle.loads(pickle.dumps(short)) == short
    more = truebed.shortfall(XY, heights, stock, 0.1)
    assert more is not None and more.addition is not None and more.addition.pieces == [1, 0]
    thick = truebed.shortfall(XY, heights, stock, 0.1, catalogue={20.0: None})
    assert thick is not None and thick.addition is None
    with pytest.raises(truebed.InputError, match=r"catalogue\[0\].thickness"):
        truebed.shortfall(XY, heights, stock, 0.1, catalogue={-1.0: 1})
