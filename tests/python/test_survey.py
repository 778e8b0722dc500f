"""Surveys against NumPy, SciPy and statsmodels on random networks, and what Python adds to them."""

import pickle

import numpy as np
import pandas
import pytest

import truebed
from truebed import rise


def network(seed, free):
    """Random rises and set-ups over random points, in one piece; design, values, sigmas."""
    random = np.random.default_rng(seed)
    points, setups = int(random.integers(2, 20)), int(random.integers(0, 4))
    truth = random.normal(0, 30, points)
    readings, rows, values, sigmas = [], [], [], []

    def add(reading, row, value, sigma):
        readings.append(reading)
        rows.append(row)
        values.append(value)
        sigmas.append(sigma)

    def row(**by):
        made = np.zeros(points + setups)
        for name, value in by.items():
            made[int(name[1:])] = value
        return made

    def add_rise(a, b):
        sigma = 10 ** random.uniform(-2, 1)
        value = truth[b] - truth[a] + random.normal(0, sigma)
        add(rise(f"P{a}", f"P{b}", value, sigma), row(**{f"p{a}": -1, f"p{b}": 1}), value, sigma)

    for b in range(1, points):
        add_rise(int(random.integers(b)), b)
    for _ in range(int(random.integers(0, 30))):
        a, b = random.choice(points, 2, replace=False)
        add_rise(int(a), int(b))
    for setup in range(setups):
        for p in random.choice(points, int(random.integers(1, points + 1)), replace=False):
            sigma, up = random.uniform(0.1, 1), setup % 2
            value = (truth[p] if up else -truth[p]) + 900 + random.normal(0, sigma)
            # A laser has two unknowns more where the places of the points are known.
            instrument = "indicator" if up else "staff"
            by = {f"p{p}": 1 if up else -1, f"p{points + setup}": -1 if up else 1}
            reading = truebed.height(
                f"P{p}", value, sigma, setup=f"S{setup}", instrument=instrument
            )
            add(reading, row(**by), value, sigma)
    if not free:
        add(truebed.height("P0", 5.0, 0.2), row(p0=1), 5.0, 0.2)
    return points, readings, np.array(rows), np.array(values), np.array(sigmas)


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("free", [True, False])
def test_heights_are_those_of_dense_least_squares(seed, free):
    points, readings, design, values, sigmas = network(seed, free)
    heights = truebed.adjust(readings, points={f"P{p}": (p, 0) for p in range(points)})
    assert heights.ids == [f"P{p}" for p in range(points)]

    # The mean of the points is 0 where they are free: what that leaves of the design.
    size = design.shape[1]
    basis = np.eye(size)
    if free:
        constraint = np.concatenate([np.ones(points), np.zeros(size - points)])
        basis = np.linalg.svd(constraint[None, :])[2][1:].T
        # A lift of everything, set-ups of an indicator downwards, is what the design leaves open.
    weighted = design @ basis / sigmas[:, None]
    solution, _, rank, _ = np.linalg.lstsq(weighted, values / sigmas, rcond=None)
    assert rank == basis.shape[1]
    x = basis @ solution
    residuals = design @ x - values
    cofactors = basis @ np.linalg.inv(weighted.T @ weighted) @ basis.T
    hat = design @ cofactors @ design.T / sigmas**2
    redundancy = 1 - np.diag(hat)

    assert np.allclose(heights.mm, x[:points], rtol=0, atol=1e-8)
    assert np.allclose(heights.residuals_mm, residuals, rtol=0, atol=1e-8)
    assert np.allclose(heights.covariance, cofactors[:points, :points], rtol=1e-7, atol=1e-9)
    assert np.allclose(heights.sigma_mm**2, np.diag(cofactors)[:points], rtol=1e-7, atol=1e-12)
    assert np.allclose(heights.redundancy, redundancy, rtol=0, atol=1e-8)
    dof = len(values) - basis.shape[1]
    assert heights.dof == dof
    checked = redundancy > 1e-6
    w = residuals[checked] / sigmas[checked] / np.sqrt(redundancy[checked])
    assert np.allclose(heights.normalised[checked], w, rtol=1e-4, atol=1e-4)
    if dof:
        factor = np.sum((residuals / sigmas) ** 2) / dof
        assert heights.variance_factor == pytest.approx(factor, rel=1e-8, abs=1e-12)
    else:
        assert np.isnan(heights.variance_factor)


@pytest.mark.parametrize("seed", range(20))
def test_statistics_are_those_of_statsmodels(seed):
    sm = pytest.importorskip("statsmodels.api")
    stats = pytest.importorskip("scipy.stats")
    points, readings, design, values, sigmas = network(seed, False)
    heights = truebed.adjust(readings)
    fit = sm.WLS(values, design, weights=sigmas**-2.0).fit()
    order = [heights.ids.index(f"P{p}") for p in range(points)]
    assert np.allclose(heights.mm[order], fit.params[:points], rtol=0, atol=1e-8)
    if fit.df_resid == 0:
        return
    # statsmodels scales by the variance factor.
    assert heights.variance_factor == pytest.approx(fit.scale, rel=1e-7)
    covariance = fit.cov_params()[:points, :points] / fit.scale
    assert np.allclose(heights.covariance[np.ix_(order, order)], covariance, rtol=1e-6, atol=1e-9)
    squares = fit.scale * fit.df_resid
    expected = stats.chi2.sf(squares, fit.df_resid)
    assert heights.p_value == pytest.approx(expected, rel=1e-6, abs=1e-12)
    assert heights.critical == pytest.approx(stats.norm.isf(0.0005), rel=1e-9)


def loop():
    """A square with a diagonal; the last reading is 1 mm off."""
    return [
        rise("A", "B", 1.0, 0.05),
        rise("B", "C", 0.5, 0.05),
        rise("C", "D", -2.0, 0.05),
        rise("D", "A", 0.5, 0.05),
        rise("B", "D", -1.5, 0.05),
        rise("A", "C", 2.5, 0.05),
    ]


def test_a_blunder_is_named_and_left_out_in_one_call():
    heights = truebed.adjust(loop(), fixed={"A": 0})
    assert heights.suspects[0] == 5
    again = heights.without(heights.suspects[0])
    assert again.suspects == [] and again.left_out == [5] and "left_out=[5]" in repr(again)
    assert np.allclose(again.mm, [0, 1, 1.5, -0.5])
    assert again == truebed.adjust(loop(), fixed={"A": "0 mm"}, without=[5]) != heights
    by_tau = truebed.adjust(loop(), fixed={"A": 0}, test="tau", alpha=0.05)
    assert by_tau.suspects == [5]
    assert max(abs(closure.mm) for closure in heights.closures()) == pytest.approx(1)


def test_results_print_compare_pickle_and_cannot_be_changed():
    heights = truebed.adjust(loop(), fixed={"A": (0, "0.1 mm")}).without(5)
    again = pickle.loads(pickle.dumps(heights))
    assert again == heights and repr(again) == repr(heights)
    assert np.array_equal(again.covariance, heights.covariance)
    assert repr(heights).startswith("Heights(ids=['A', 'B', 'C', 'D'], mm=[")
    for name in ["mm", "sigma_mm", "residuals_mm", "covariance"]:
        with pytest.raises(ValueError):
            getattr(heights, name)[0] = 1
    with pytest.raises(AttributeError):
        heights.mm = 0
    reading = truebed.bubble("A", "B", [1, 2.5], "4 arcsec", base="200 mm", turned=True)
    assert pickle.loads(pickle.dumps(reading)) == reading != loop()[0]
    assert eval(repr(reading), vars(truebed)) == reading and reading.kind == "bubble"


def test_every_kind_of_reading():
    points = {"A": (0, 0), "B": ("1 m", 0), "P": (500, 0)}
    readings = [
        truebed.height("A", 0, 0.1),
        truebed.height("A", 1203, setup="S"),
        truebed.height("B", 1202, setup="S"),
        truebed.slope("A", "B", "1 mm/m", sigma=0.1),
        truebed.bubble("A", "B", [10, 10], 0.1, base=500),
        truebed.gap("P", "A", "B", "0.2 mm"),
        truebed.leg_gap("P", 0.5),
    ]
    floor = truebed.adjust(readings, points=points, levels={"level": "0.02 mm/m"})
    assert np.allclose(floor.mm, [0, 1, -0.2], atol=1e-9)
    assert floor.setups[0].value == pytest.approx(1203)
    assert floor.zero_errors[0].sigma < 0.02
    frame = truebed.adjust(readings, points=points, surface="frame")
    assert frame.mm[2] == pytest.approx(0.3)
    assert truebed.check(floor, "1 mm").met is True
    assert truebed.fit_plane([[0, 0], [1, 0], [0, 1]], floor.mm).flatness_mm < 1e-9


def test_frames_go_in_and_come_out():
    frame = pandas.DataFrame(
        {
            "kind": ["rise", "rise", "height", "bubble"],
            "a": ["A", "B", None, "A"],
            "b": ["B", "C", None, "C"],
            "point": [None, None, "A", np.nan],
            "value": ["1 mm", 2.0, 0, None],
            "sigma": [0.1, 0.1, None, 0.2],
            "divisions": [np.nan, np.nan, np.nan, 30.0],
            "sensitivity": [None, None, None, "0.1 mm/m"],
            "span": [None, None, None, "1 m"],
        }
    )
    heights = truebed.adjust(frame)
    assert heights.to_frame().loc["C", "mm"] == pytest.approx(3)
    assert list(heights.to_frame().index) == ["A", "B", "C"]
    readings = heights.readings_to_frame()
    assert list(readings["suspect"]) == [False] * 4 and readings.index.name == "reading"
    frame.loc[1, "value"] = "2"
    frame.loc[3, "kind"] = "fall"
    with pytest.raises(truebed.InputError) as caught:
        truebed.adjust(frame)
    assert [it.field for it in caught.value.problems] == ["readings[1].value", "readings[3].kind"]
    with pytest.raises(truebed.Error, match=r"readings\[0\].colour"):
        truebed.adjust(pandas.DataFrame({"kind": ["rise"], "colour": ["red"]}))


def test_tables_lines_grids_and_plates():
    text = "kind,a,b,value,sigma\nrise,A,B,1 mm,0.1 mm\n"
    assert truebed.readings_from_csv(text) == [rise("A", "B", 1, 0.1)]
    with pytest.raises(truebed.InputError, match="^line 2, value: got "):
        truebed.readings_from_csv(text.replace("1 mm,0", "1,0"))
    line = truebed.level_line("ABCA", [1, 2, -3], sensitivity="0.02 mm/m", base=500)
    assert truebed.adjust(line).dof == 1
    grid = truebed.level_grid(
        ["ab", "cd"], [[1], [1]], [[2, 2]], sensitivity="0.02 mm/m", base="500 mm"
    )
    assert truebed.adjust(grid).mm[-1] - truebed.adjust(grid).mm[0] == pytest.approx(0.03)
    with pytest.raises(truebed.InputError, match=r"^across: got shape \(1, 1\)"):
        truebed.level_grid(["ab", "cd"], [[1], [1]], [[2]], sensitivity=0.02, base=500)
    names = ["nw_se", "ne_sw", "ne_nw", "ne_se", "se_sw", "nw_sw", "e_w", "n_s"]
    # A plate that bulges by one step in the middle of a diagonal.
    lines = {name: [0, 0] for name in names} | {"nw_se": [1, -1]}
    plate = truebed.union_jack(**lines, unit="1 mm/m", step=100)
    assert plate.flatness_mm == pytest.approx(0.1) and plate.nw_se.shape == (3,)
    assert plate.closures_mm == pytest.approx((-0.05, -0.05))


def test_components():
    readings = [rise("A", "B", 1), rise("C", "D", 1)]
    assert truebed.components(readings) == [["A", "B"], ["C", "D"]]
    with pytest.warns(DeprecationWarning, match="components"):
        assert truebed.pieces(readings) == [["A", "B"], ["C", "D"]]
    points = {"A": (0, 0), "B": (9, 0), "C": (30, 0), "D": (10, 0)}
    with pytest.raises(truebed.InputError) as caught:
        truebed.adjust(readings, points=points)
    assert caught.value.code == 18
    assert 'a rise from "B" to "D"' in str(caught.value)


@pytest.mark.parametrize(
    "arguments, text",
    [
        ({"readings": []}, "readings: got none, expected at least one"),
        ({"readings": 1}, "readings: got int, which is no list"),
        ({"readings": [1]}, "readings[0]: got 1 (int), expected a Reading"),
        ({"readings": [rise("A", "A", 1)]}, 'readings[0].b: got "A", as a, expected another'),
        ({"readings": [rise("A", "B", float("nan"))]}, "readings[0].value: got NaN"),
        ({"readings": [rise("A", "B", 1, 0)]}, "readings[0].sigma: got 0 mm, expected a length"),
        ({"readings": [rise("A", "B", 1, -1)]}, "readings[0].sigma: got -1 mm"),
        ({"points": {"A": (0, 0)}}, 'readings[0].b: got "B", expected the id of a point'),
        ({"points": {"A": (0, 0, 1)}}, "points['A']: got 3 values, expected a pair"),
        ({"points": [1]}, "points: got list, which is no mapping"),
        ({"fixed": {"Z": 0}}, 'fixed[0].point: got "Z", expected the id of a point'),
        ({"fixed": {"A": (0, 0)}}, "fixed[0].sigma: got 0 mm"),
        ({"levels": {"l": 1}}, 'levels[0].name: got "l", expected the name of a level'),
        ({"without": [7]}, "without[0]: got 7, expected an index below 1"),
        ({"surface": "ceiling"}, "surface: got 'ceiling', expected \"floor\" or \"frame\""),
        ({"alpha": 0}, "alpha: got 0, expected a probability"),
    ],
)
def test_bad_input_is_named(arguments, text):
    with pytest.raises(truebed.Error) as caught:
        truebed.adjust(**{"readings": [rise("A", "B", 1, 0.1)]} | arguments)
    assert str(caught.value).startswith(text)


@pytest.mark.parametrize(
    "make, text",
    [
        (lambda: rise("A", 1, 1), "b: got 1 (int), expected a name (str)"),
        (lambda: rise("A", "B", "1"), 'value: got "1", expected a number with a unit'),
        (lambda: rise("A", "B", True), "value: got True (bool), expected a number of mm"),
        (lambda: truebed.bubble("A", "B", 1, "1 mm"), 'sensitivity: got "1 mm", expected a slope'),
        (lambda: truebed.bubble("A", "B", "x", 1), "divisions: got 'x' (str)"),
        (lambda: truebed.height("A", 1, setup="S", instrument="x"), "instrument: got 'x'"),
    ],
)
def test_bad_readings_are_named(make, text):
    with pytest.raises(truebed.Error) as caught:
        make()
    assert str(caught.value).startswith(text)
