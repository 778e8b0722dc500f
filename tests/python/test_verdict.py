"""Heights held against limits."""

import pytest

import truebed

XY = [[0, 0], [1000, 0], [1000, 500], [0, 500]]
HEIGHTS = [0.0, 0.2, "0.3 mm", -0.1]


def test_every_limit_has_its_findings():
    limits = truebed.Limits(overall=0.2, along="0.1 mm", across=0.1, joint_step=0.1)
    verdict = truebed.check(HEIGHTS, limits, joints=[(0, 3), (1, 3)], xy=XY)
    found = [(it.limit, it.points, it.found_mm, it.allowed_mm, it.met) for it in verdict.findings]
    assert found == [
        ("overall", [0, 1, 2, 3], 0.4, 0.4, True),
        ("along", [0, 1], 0.2, 0.2, True),
        ("along", [2, 3], 0.4, 0.2, False),
        ("across", [0, 3], 0.1, 0.2, True),
        ("across", [1, 2], 0.1, 0.2, True),
        ("joint_step", [0, 3], 0.1, 0.1, True),
        ("joint_step", [1, 3], 0.3, 0.1, False),
    ]
    assert verdict.met is False


def test_places_are_needed_for_lines_only():
    assert truebed.check(HEIGHTS, "0.2 mm").met
    assert not truebed.check(HEIGHTS, "0.1999 mm").met
    steps = truebed.Limits(joint_step=0.1)
    assert truebed.check(HEIGHTS, steps, joints=[(0, 3)]).findings[0].points == [0, 3]
    for limits in [truebed.Limits(1, along=1), truebed.Limits(across=1)]:
        with pytest.raises(truebed.InputError, match=r"^xy: got None, expected an array of shape"):
            truebed.check(HEIGHTS, limits)


def test_the_tops_of_a_plan_are_level_as_it_says():
    limits = truebed.Limits(0.3, along=0.2)
    for stock in [{0.5: None, 0.1: None}, {0.2: 1}]:
        plan = truebed.plan_shims(XY, [0, -1, -2, -0.7], stock, limits)
        assert truebed.check(plan.tops_mm, limits, xy=XY).met == plan.meets_limits


@pytest.mark.parametrize(
    "arguments, text",
    [
        ({"heights": []}, "heights: got 0 values"),
        ({"heights": 1.0}, "heights: got float, which is no array"),
        ({"heights": [float("nan")] * 4}, "heights[0]: got NaN mm"),
        ({"xy": XY[:3]}, "heights: got shape (4,), expected shape (3,)"),
        ({"limits": truebed.Limits()}, "limits: got none"),
        ({"limits": -1}, "limits.overall: got -1 mm"),
        ({"joints": [(0, 9)]}, "joints[0]: got 9, expected an index below 4"),
        ({"joints": 1}, "joints: got 1 (int)"),
    ],
)
def test_bad_input_is_named(arguments, text):
    with pytest.raises(truebed.Error) as caught:
        truebed.check(**{"heights": HEIGHTS, "limits": 1} | arguments)
    assert str(caught.value).startswith(text)


def test_long_findings_are_told_in_short():
    verdict = truebed.check([0] * 30, 1)
    points = ", ".join(map(str, range(16)))
    assert repr(verdict) == (
        f"Verdict(met=True, findings=[Finding(limit='overall', points=[{points}, … 14 more], "
        "found_mm=0.0, allowed_mm=2.0, met=True)])"
    )
