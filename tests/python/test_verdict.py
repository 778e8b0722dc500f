"""Heights held against limits."""

import pickle

import numpy as np
import pytest
import scipy.stats

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
        f"Verdict(verdict='met', findings=[Finding(limit='overall', points=[{points}, … 14 more], "
        "found_mm=0.0, allowed_mm=2.0, verdict='met')])"
    )


def covariance(rng, count, scale=0.03):
    """One of errors that points share, and one that all have in common, which never counts."""
    factors = rng.normal(size=(count, count + 2)) * scale
    return factors @ factors.T + 25.0


def differences(count, pairs):
    rows = np.zeros((len(pairs), count))
    for row, (a, b) in enumerate(pairs):
        rows[row, a], rows[row, b] = 1, -1
    return rows


@pytest.mark.parametrize("seed", range(12))
def test_probabilities_are_those_of_scipy(seed):
    """Joints alone: their steps are normal, and within ± the limit with the probability that SciPy's
    multivariate normal has."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 9))
    pairs = [(at, at + 1) for at in range(count - 1)]
    heights = np.round(rng.normal(scale=0.05, size=count), 6)
    known = covariance(rng, count)
    verdict = truebed.check(
        heights, truebed.Limits(joint_step=0.12), covariance=known, joints=pairs
    )
    rows = differences(count, pairs)
    steps, spread = rows @ heights, rows @ known @ rows.T
    limits = np.full(len(pairs), 0.12)
    normal = scipy.stats.multivariate_normal(
        steps, spread, maxpts=200_000, abseps=1e-5, releps=1e-5
    )
    expected = normal.cdf(limits, lower_limit=-limits)
    assert verdict.probability == pytest.approx(expected, abs=5 * verdict.probability_error + 1e-4)
    for finding, step, variance in zip(verdict.findings, steps, np.diag(spread)):
        sigma = np.sqrt(variance)
        alone = scipy.stats.norm(step, sigma)
        assert finding.sigma_mm == pytest.approx(sigma, rel=1e-6)
        assert finding.probability == pytest.approx(alone.cdf(0.12) - alone.cdf(-0.12), abs=1e-9)
        assert finding.probability_error == 0


@pytest.mark.parametrize("seed", range(6))
def test_probabilities_are_those_of_simulation(seed):
    rng = np.random.default_rng(100 + seed)
    xy = np.array([(x, y) for x in range(0, 2400, 600) for y in (0, 900)])
    heights = np.round(rng.uniform(-0.06, 0.06, len(xy)), 6)
    known = covariance(rng, len(xy), 0.01)
    limits = truebed.Limits(0.1, along=0.09, across=0.08)
    verdict = truebed.check(heights, limits, covariance=known, xy=xy)
    drawn = rng.multivariate_normal(heights, known, size=40_000)
    met = np.ones(len(drawn), dtype=bool)
    for finding in verdict.findings:
        one = np.ptp(drawn[:, finding.points], axis=1) <= finding.allowed_mm
        off = 5 * np.hypot(finding.probability_error, np.sqrt(0.25 / len(drawn)))
        assert finding.probability == pytest.approx(one.mean(), abs=off)
        met &= one
    off = 5 * np.hypot(verdict.probability_error, np.sqrt(0.25 / len(drawn)))
    assert verdict.probability == pytest.approx(met.mean(), abs=off)


def test_rules():
    def met(step, **rule):
        known = [[5e-5, 0], [0, 5e-5]]
        return truebed.check([0, step], 0.05, covariance=known, **rule).met

    # u of the difference is 0.01; 1.645 u to the limit is 5 %.
    assert met(0.0835) is True and met(0.0836) is None
    assert met(0.1164) is None and met(0.1165) is False
    assert met(0.0836, rule="iso-14253-1") is None
    assert met(0.1, rule="simple-acceptance") is True
    assert met(0.0836, risk=0.1) is True and met(0.0836, rule="guard-band", risk=0.01) is None
    for arguments, text in [
        ({"risk": 0.5}, "risk: got 0.5, expected a probability above 0 and below 0.5"),
        ({"risk": "low"}, "risk: got 'low'"),
        ({"rule": "by feel"}, 'rule: got "by feel"'),
        ({"rule": "guard-band"}, "rule: got"),
        ({"rule": "simple-acceptance", "risk": 0.1}, "risk: got 0.1, expected None"),
        ({"rule": 1}, "rule: got 1 (int)"),
    ]:
        with pytest.raises(truebed.Error) as caught:
            met(0, **arguments)
        assert str(caught.value).startswith(text)


def test_adjusted_heights_bring_their_covariance():
    readings = [truebed.rise("A", "B", 0.15, 0.03), truebed.rise("A", "C", 0.05, 0.03)]
    heights = truebed.adjust(readings)
    verdict = truebed.check(heights, 0.1)
    assert verdict.basis == "probability"
    assert verdict == truebed.check(heights.mm, 0.1, covariance=heights.covariance)
    assert verdict == pickle.loads(pickle.dumps(verdict))
    # Points in another order than the heights.
    xy = {"C": (1800, 0), "A": (0, 0), "B": (900, 0)}
    limits = truebed.Limits(named=[(["A", "B"], 0.2)])
    turned = truebed.check(heights, limits, xy=xy)
    assert turned.findings[0].points == [1, 2]
    assert turned.findings[0].sigma_mm == pytest.approx(0.03)
    exact = truebed.check([0, 0.2], 0.1, covariance=np.full((2, 2), 9.0))
    assert (exact.basis, exact.met, exact.probability) == ("exact", True, 1.0)
    plain = truebed.check([0, 0.2], 0.1)
    assert plain.basis == "estimates" and np.isnan(plain.probability)


@pytest.mark.parametrize(
    "known, text",
    [
        ([[1, 2], [2, 1]], "covariance: got a matrix by which some combination"),
        ([[1, 0.5], [0.4, 1]], "covariance[0, 1]: got 0.5"),
        ([[1, np.nan], [np.nan, 1]], "covariance[0, 1]: got NaN"),
        ([[1]], "covariance: got shape (1, 1)"),
        ([1, 1], "covariance: got shape (2,)"),
    ],
)
def test_what_is_no_covariance(known, text):
    with pytest.raises(truebed.InputError) as caught:
        truebed.check([0, 1], 0.1, covariance=known)
    assert str(caught.value).startswith(text)


def test_a_plan_with_a_guard_band():
    legs = {"left": (0, 0), "right": (2000, 0)}
    stock = {0.85: 4, 0.05: 4}
    known = np.diag([0.02**2] * 2)
    bold = truebed.plan_shims(legs, [0, -0.93], stock, 0.05, covariance=known)
    assert bold.pieces == 1 and bold.verdict.met is None and bold.verdict.meets_limits
    safe = truebed.plan_shims(legs, [0, -0.93], stock, 0.05, covariance=known, risk=0.05)
    assert safe.pieces == 2 and safe.verdict.met is True and safe.status == "proven"
    assert safe == pickle.loads(pickle.dumps(safe))
    assert truebed.plan_shims(legs, [0, -0.93], stock, 0.05).verdict is None
    loose = [truebed.Shim(0.85, 4, sigma=0.02)]
    plan = truebed.plan_shims(legs, [0, -0.93], loose, 0.05)
    assert plan.verdict.probability == pytest.approx(scipy.stats.norm.cdf(1), abs=1e-6)
    with pytest.raises(truebed.InputError, match="^covariance: got none"):
        truebed.plan_shims(legs, [0, -0.93], stock, 0.05, risk=0.05)
    with pytest.raises(truebed.InputError, match="covariance\\[0, 1\\]: got a standard uncertainty"):
        truebed.plan_shims(legs, [0, -0.93], stock, 0.05, covariance=known * 25, risk=0.05)
    many = {"xy": legs, "heights": [0, -0.93], "stock": stock, "limits": 0.05}
    assert truebed.plan_many([{**many, "covariance": known, "risk": 0.05}]) == [safe]
    plans = truebed.tradeoff(legs, [0, -0.93], stock, 0.05, covariance=known)
    assert [plan.pieces for plan in plans] == [1, 2, 3]
    assert plans[0].verdict.probability < plans[1].verdict.probability < plans[2].verdict.probability
    svg = truebed.tradeoff_picture(plans)
    assert "probability" in svg and "99.3 %" in svg


def test_what_to_read_next():
    points = {"A": (0, 0), "B": (900, 0), "C": (1800, 0)}
    readings = [truebed.rise("A", "B", 0, 0.005), truebed.rise("A", "C", 0.09, 0.03)]
    again = [truebed.rise("A", "B", 0, 0.01), truebed.rise("A", "C", 0, 0.01)]
    found = truebed.read_next(readings, again, 0.05, points=points)
    assert [it.candidate for it in found.readings] == [1, 0]
    assert all(it.doubt <= found.doubt for it in found.readings)
    assert found.verdict == truebed.check(truebed.adjust(readings, points=points), 0.05)
    lifted = truebed.read_next(readings, again, 0.05, points=points, lifts={"C": -0.09, "A": 0, "B": 0})
    assert lifted.doubt < found.doubt
    only = truebed.read_next(readings, again, 0.05, points=points, of=["A", "B"])
    assert only.enough and only.doubt < 1e-6
    for arguments, text in [
        ({"candidates": []}, "candidates: got none"),
        ({"candidates": [1]}, "candidates[0]: got 1 (int)"),
        ({"of": ["A", "Z"]}, "points[1]: got \"Z\""),
        ({"lifts": [1]}, "lifts: got shape (1,)"),
    ]:
        with pytest.raises(truebed.Error) as caught:
            truebed.read_next(
                **{"readings": readings, "candidates": again, "limits": 1, "points": points} | arguments
            )
        assert str(caught.value).startswith(text)


def test_global_risks():
    """The ball bearing of JCGM 106:2012, 9.5.4."""
    prior = ("gamma", 4, 0.25)
    risks = truebed.global_risks(prior, 0.25, tolerance=2, acceptance=2)
    assert risks.nonconforming == pytest.approx(0.0423801, abs=5e-8)
    assert risks.consumer == pytest.approx(0.0080191, abs=5e-8)
    assert truebed.guard_band(prior, 0.25, tolerance=2, risk=0.001) == pytest.approx(0.328171, abs=5e-7)
    with pytest.raises(truebed.InputError, match="^prior"):
        truebed.global_risks(("uniform", 0, 1), 0.25, tolerance=2, acceptance=2)
    with pytest.raises(truebed.InputTypeError, match="^prior"):
        truebed.global_risks("gamma", 0.25, tolerance=2, acceptance=2)


def test_a_floor_with_its_probability():
    xy, sigma = [[0, 0], [1000, 0], [2000, 0]], 0.5
    verdict = truebed.assess_floor(
        xy, [0, -4.4, 0], "BS 8204 SR2", covariance=np.eye(3) * sigma**2
    )
    expected = scipy.stats.norm.cdf(0.6 / (sigma * np.sqrt(1.5)))
    assert verdict.probability == pytest.approx(expected, abs=5 * verdict.probability_error)
    assert verdict.met is None and verdict.meets_class
    assert verdict.findings == truebed.check_floor(xy, [0, -4.4, 0], "BS 8204 SR2")
    with pytest.raises(truebed.InputError, match="^covariance: got None"):
        truebed.assess_floor(xy, [0, 0, 0], "BS 8204 SR2")


def test_balls_roll_down():
    bed = [[0, 0], [2540, 0], [2540, 1270], [0, 1270]]
    play = truebed.play(bed, [0, 0, 0.635, 0.635])
    assert play.stays and play.steepest == pytest.approx(5e-4)
    assert play.along[0].drift_mm < 0 < play.along[1].drift_mm
    assert play.across[0].along_mm == pytest.approx(1270 / (1 + 5 / 7 * 0.05), rel=1e-3)
    free = truebed.roll(bed, [0, 0, 0.254, 0.254], (0, 635), (0.5, 0), resistance=0)
    assert free.drift_mm == pytest.approx(-truebed.drift_mm(2e-4, 2540, 0.5), rel=1e-5)
    with pytest.raises(truebed.InputError, match="^start"):
        truebed.roll(bed, [0] * 4, (-1, 0), (1, 0))


def test_contradicting_readings_cannot_tell():
    rise = truebed.rise
    readings = [rise("A", "B", 0, 0.01), rise("B", "C", 0.1, 0.01), rise("A", "C", 0, 0.01)]
    heights = truebed.adjust(readings)
    verdict = truebed.check(heights, 0.1)
    assert verdict.met is None and verdict.probability > 0.99
    assert verdict.reasons[0].startswith("The readings contradict each other")
    assert "reasons=" in repr(verdict)
    overruled = truebed.check(heights, 0.1, overrule=True)
    assert overruled.met is True and overruled.reasons == verdict.reasons
    scaled = truebed.check(heights, 0.1, scale=True)
    assert scaled.reasons == [] and scaled.probability < 0.95
    assert heights.suspect_groups[0].readings == [0, 1, 2]
    assert abs(heights.separability()[0][1]) > 1 - 1e-9


def test_a_plan_of_contradicting_readings_foresees_nothing():
    rise = truebed.rise
    readings = [rise("A", "B", 0, 0.01), rise("B", "C", 0.1, 0.01), rise("A", "C", 0, 0.01)]
    xy = {"A": (0, 0), "B": (1000, 0), "C": (1000, 900)}
    heights = truebed.adjust(readings)
    for plan in [
        truebed.plan_shims(xy, heights, {"0.1 mm": 9}, 1),
        truebed.plan_many([{"xy": xy, "heights": heights, "stock": {"0.1 mm": 9}, "limits": 1}])[0],
        truebed.tradeoff(xy, heights, {"0.1 mm": 9}, 1)[0],
    ]:
        assert plan.verdict.met is None and plan.verdict.probability > 0.99
        assert plan.verdict.reasons[0].startswith("The readings contradict each other")
    # A laser whose lean is in no figure.
    laser = [truebed.height(it, 100, setup="S", instrument="laser") for it in "ABC"]
    plan = truebed.plan_shims(xy, truebed.adjust(laser), {"0.1 mm": 9}, 9)
    assert plan.verdict.met is None and plan.verdict.reasons[0].startswith("The plane of a laser")


def test_a_wrong_name_of_a_preset_is_told_the_right_ones():
    with pytest.raises(truebed.InputError, match='one of "WPA 2001"'):
        truebed.check([0, 1], "WPA 2002")


def test_limits_that_bind_nothing():
    xy = [(0, 0), (1200, 12), (2400, 24)]
    with pytest.raises(truebed.InputError, match="limits.along"):
        truebed.check([0, 5, 9], truebed.Limits(along=0.5, line_width=10), xy=xy)
    with pytest.raises(truebed.InputError, match="limits.joint_step"):
        truebed.check([0, 5], truebed.Limits(joint_step=0.01))
    verdict = truebed.check([0, 5, 9], truebed.Limits(along=0.5), xy=xy)
    assert verdict.met is False and verdict.off_lines == [[2], []]
    preset = truebed.Limits.preset("WPA 2001")
    verdict = truebed.check([0, 0], preset, xy=[(0, 0), (1000, 0)])
    assert verdict.met is None and len(verdict.reasons) == 2
    assert pickle.loads(pickle.dumps(preset)) == preset


def test_what_a_plan_predicted():
    xy = {"A": (0, 0), "B": (1000, 0), "C": (2000, 0), "D": (0, 1000)}
    first = truebed.adjust(
        [truebed.height(id, mm, setup="S", sigma=0.05) for id, mm in zip(xy, [1000, 1001, 1000.5, 1002])]
    )
    plan = truebed.plan_shims(xy, first, {0.5: 8, 0.1: 8}, 0.2)
    again = truebed.adjust([truebed.height(id, 1000, setup="S", sigma=0.05) for id in xy])
    alone = truebed.check(again, 0.2, xy=xy)
    known = truebed.check(again, 0.2, xy=xy, expected=plan, settlement="0.01 mm")
    assert (alone.beforehand, known.beforehand) == ("nothing", "prediction")
    assert known.probability > alone.probability
    pair = (plan.tops_mm, plan.predicted_covariance)
    assert truebed.check(again, 0.2, xy=xy, expected=pair, settlement=0.01) == known


def test_read_next_takes_what_adjust_takes():
    points = {"A": (0, 0), "B": (1000, 0)}
    readings = [truebed.slope("A", "B", 0.02, level="L", sigma=0.001)]
    candidate = [truebed.slope("A", "B", 0.02, level="L", turned=True, sigma=0.001)]
    known = truebed.read_next(readings, candidate, 0.05, points=points, levels={"L": 0.02})
    assert known.status == "read-on" or known.status == "settled"
    loose = truebed.read_next(readings, candidate, 0.05, points=points, levels={"L": 0.2})
    assert loose.doubt > known.doubt and not loose.enough
