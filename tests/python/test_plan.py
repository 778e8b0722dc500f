"""The calls around `plan_shims`: the trade-off, many plans at once, and the bounds on a stack."""

import random
import sys
import threading
import time

import numpy as np
import pytest

import truebed

XY = [[0, 0], [1200, 0], [1200, 600], [0, 600], [600, 300]]


def problems(count):
    source = random.Random(5)
    return [
        {
            "xy": XY,
            "heights": [-source.randrange(0, 3000) / 1000 for _ in XY],
            "stock": {t: source.choice([None, 3, 8]) for t in (1.0, 0.5, "0.2 mm", "0.005 in")},
            "limits": source.choice([0.3, "0.6 mm", truebed.Limits(0.5, along=0.2)]),
            "max_pieces": source.choice([None, 4]),
            "max_stack": source.choice([None, "2.5 mm"]),
        }
        for _ in range(count)
    ]


@pytest.mark.parametrize("problem", problems(30))
def test_the_tradeoff_begins_with_the_plan_and_gets_flatter(problem):
    plans = truebed.tradeoff(**problem)
    first = truebed.plan_shims(**problem)
    assert plans[0] == first
    if first.status != "proven":
        assert len(plans) == 1
        return
    for plan, next_plan in zip(plans, plans[1:]):
        assert plan.pieces < next_plan.pieces
        assert plan.worst_mm > next_plan.worst_mm
    assert all(plan.status == "proven" and plan.meets_limits for plan in plans)
    flattest = truebed.plan_shims(**problem, order="flattest")
    assert (plans[-1].pieces, plans[-1].worst_mm) == (flattest.pieces, flattest.worst_mm)
    assert plans[-1].stacks == flattest.stacks


def test_the_tradeoff_tells_when_its_budget_ran_out():
    problem = max(problems(30), key=lambda problem: len(truebed.tradeoff(**problem)))
    whole = truebed.tradeoff(**problem)
    short = truebed.tradeoff(**problem, budget=whole[-1].nodes - 1)
    assert len(whole) > 2
    assert short[-1].status == "budget"
    assert [plan.status for plan in short[:-1]] == ["proven"] * (len(short) - 1)


def test_the_order_of_goals_is_not_for_the_tradeoff():
    with pytest.raises(TypeError, match="order"):
        truebed.tradeoff(XY, [0] * 5, {1: None}, 0.5, order="flattest")


def test_many_plans_are_those_of_each():
    many = problems(60)
    assert truebed.plan_many(many) == [truebed.plan_shims(**problem) for problem in many]
    assert truebed.plan_many(iter(many[:2])) == truebed.plan_many(tuple(many[:2]))
    assert truebed.plan_many([]) == []


# A target that may slope, under supports as uneven as an old floor: many millions of nodes.
HARD = {
    "xy": [[at % 6 * 400, at // 6 * 900] for at in range(12)],
    "heights": [
        0, -1.197, -0.51, -5.293, -1.652, -1.685, -5.903, -5.298, -2.091, -5.788, -3.466, -4.228
    ],
    "stock": {
        f"{inch} in": 8 for inch in [0.002, 0.003, 0.005, 0.010, 0.015, 0.020, 0.03125, 0.0625, 0.125]
    },
    "limits": truebed.Limits(0.03, slope_along=3, slope_across=3),
    "budget": truebed.Budget(time_ms=300),
}


def test_progress_is_told():
    many = [HARD] * 4 + problems(40)
    told = []
    plans = truebed.plan_many(many, progress=lambda done, total: told.append((done, total)))
    assert [plan.stacks for plan in plans[4:]] == [plan.stacks for plan in truebed.plan_many(many[4:])]
    assert len(told) > 1 and told == sorted(told)
    assert told[-1] == (44, 44) and {total for _, total in told} == {44}
    assert truebed.plan_many([], progress=lambda done, total: told.append((done, total))) == []
    assert told[-1] == (0, 0)


def test_what_progress_raises_stops_the_searches():
    class Enough(Exception):
        pass

    def stop(done, total):
        raise Enough

    begin = time.monotonic()
    with pytest.raises(Enough):
        truebed.plan_many([HARD | {"budget": truebed.Budget(nodes=10**12)}] * 4, progress=stop)
    assert time.monotonic() - begin < 5
    with pytest.raises(truebed.InputTypeError, match=r"^progress: got 1 \(int\), expected True"):
        truebed.plan_many([], progress=1)


def test_a_bar_is_drawn_where_there_is_one(capsys, monkeypatch):
    assert truebed.plan_many(problems(3), progress=True) == truebed.plan_many(problems(3))
    assert "3/3" in capsys.readouterr().err
    # As where tqdm is not installed.
    monkeypatch.setitem(sys.modules, "tqdm.auto", None)
    assert truebed.plan_many(problems(3), progress=True) == truebed.plan_many(problems(3))
    assert capsys.readouterr().err == ""


def test_what_is_wrong_is_told_of_every_item():
    good = problems(1)[0]
    alone = [[0, 0], [300, 40], [700, 80], [1100, 120], [1500, 160]]
    with pytest.raises(truebed.InputError) as caught:
        truebed.plan_many(
            [
                good,
                good | {"stock": {"1 mm": -1}, "max_stack": "2"},
                good | {"heights": [1.0]},
                5,
                good | {"colour": "red"},
                {"xy": XY, "heights": [0] * 5},
                good | {"max_stack": -1},
                good | {"xy": alone, "limits": truebed.Limits(along=1)},
            ]
        )
    fields = [problem.field for problem in caught.value.problems]
    assert fields == [
        "[1].stock['1 mm'].count",
        "[1].max_stack",
        "[2].heights",
        "[3]",
        "[4].colour",
        "[5].stock",
        "[5].limits",
        "[6].max_stack",
        "[7].limits.along",
    ]
    assert caught.value.code == 10


def test_an_item_of_a_wrong_type_is_a_type_error():
    with pytest.raises(truebed.InputTypeError) as caught:
        truebed.plan_many(["A"] * 1000)
    assert len(caught.value.problems) == 50
    assert str(caught.value.problems[49]) == (
        "[49]: got str, expected a dict of the arguments of plan_shims"
    )
    with pytest.raises(truebed.InputTypeError, match="^problems: got int"):
        truebed.plan_many(5)


@pytest.mark.parametrize("most", [2.0, "2 mm", np.float64(2)])
def test_no_stack_is_thicker_than_told(most):
    # Without the bound three pieces of 1 mm do it; with it the lowest cannot be brought up.
    xy, heights, stock = [[0, 0], [1000, 0]], [0.0, -3.0], {1.0: None}
    assert truebed.plan_shims(xy, heights, stock, 0.5).pieces == 2
    assert truebed.plan_shims(xy, heights, stock, 0.25).pieces == 3
    bound = truebed.plan_shims(xy, heights, stock, 0.25, max_stack=most)
    assert bound.status == "infeasible"
    assert bound.lifts_mm.tolist() == [0.0, 2.0]
    assert truebed.plan_shims(xy, heights, stock, 0.5, max_stack=most).lifts_mm.max() == 2.0
    assert len(truebed.tradeoff(xy, heights, stock, 0.5)) == 2
    assert len(truebed.tradeoff(xy, heights, stock, 0.5, max_stack=most)) == 1


def test_solvers_do_not_hold_the_gil():
    for call in [
        lambda: truebed.plan_shims(**HARD),
        lambda: truebed.tradeoff(**HARD),
        lambda: truebed.plan_many([HARD]),
    ]:
        search = threading.Thread(target=call)
        search.start()
        turns = 0
        while search.is_alive():
            search.join(0.005)
            turns += 1
        assert turns > 3
