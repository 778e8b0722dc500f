"""What goes in: every kind of array, and every bad input with the text that it is refused by."""

import json
import pickle

import numpy as np
import pytest

import truebed

XY = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 600.0], [0.0, 600.0]]
HEIGHTS = [0.0, -1.0, -2.0, -0.5]
STOCK = {1.0: 10, 0.5: None}
LENGTH_FORM = (
    "a number with a unit (nm, um, mm, cm, m, thou, in, ft), "
    'as in "0.010 in", "1/64 in" or "0.25 mm"'
)
PIECES = "None or a whole number of pieces from 0 to 4294967295"
MM = "a number of mm or a text with a unit"


def plan(xy=XY, heights=HEIGHTS, stock=STOCK, limits=0.5, **options):
    return truebed.plan_shims(xy, heights, stock, limits, **options)


def strided(values):
    """The values in every other cell of a larger array, from the back."""
    values = np.asarray(values, float)
    wide = np.zeros([2 * size for size in values.shape])
    wide[(slice(None, None, 2),) * values.ndim] = values[(slice(None, None, -1),) * values.ndim]
    return wide[(slice(-2, None, -2),) * values.ndim]


def unaligned(values):
    values = np.asarray(values, float)
    return np.frombuffer(b"\0" + values.tobytes(), np.uint8)[1:].view(float).reshape(values.shape)


def read_only(values):
    values = np.array(values, float)
    values.flags.writeable = False
    return values


class ArrayLike:
    """Stands for the arrays of other libraries."""

    def __init__(self, values):
        self.values = values

    def __array__(self, dtype=None, copy=None):
        return np.asarray(self.values, dtype)


@pytest.mark.parametrize(
    "kind",
    [
        np.array,
        np.asfortranarray,
        strided,
        unaligned,
        read_only,
        ArrayLike,
        tuple,
        lambda values: np.array(values, np.float32),
        lambda values: np.array(values, ">f8"),
        lambda values: np.array(values, np.longdouble),
        lambda values: np.array(values, object),
        lambda values: np.ma.MaskedArray(values, False),
        lambda values: np.char.add(np.array(values).astype("U32"), " mm"),
        lambda values: [np.array(row) for row in values],
        lambda values: np.array(values).tolist(),
    ],
)
def test_arrays_of_every_kind_give_the_same(kind):
    assert plan(kind(XY), kind(HEIGHTS)) == plan()
    assert truebed.fit_plane(kind(XY), kind(HEIGHTS)) == truebed.fit_plane(XY, HEIGHTS)


@pytest.mark.parametrize("dtype", [np.int8, np.uint8, np.int64, np.uint64, np.float16, object])
def test_whole_numbers_of_every_type(dtype):
    xy = np.array([[0, 0], [9, 0], [9, 7], [0, 7]], dtype)
    assert plan(xy, np.array([4, 3, 2, 1], dtype)) == plan(xy.tolist(), [4.0, 3.0, 2.0, 1.0])


def test_lengths_are_numbers_of_mm_or_texts_with_a_unit():
    assert truebed.parse_length("0.010 in") == truebed.parse_length(0.254) == 0.254
    assert truebed.parse_length(np.float32(0.5)) == 0.5
    assert truebed.parse_length(3) == 3.0
    mixed = plan(heights=[0, "-1 mm", np.float64(-2), "-500 um"], stock={"1 mm": 10, 0.5: None})
    assert mixed == plan()
    assert plan(limits="0.5 mm") == plan(limits=truebed.Limits(0.5)) == plan()


def test_stock_and_options_in_every_form():
    shims = [truebed.Shim("1 mm", 10), truebed.Shim(0.5)]
    assert plan(stock=shims) == plan(stock=tuple(shims)) == plan(stock={1: np.int32(10), 0.5: None})
    assert plan(budget=1000) == plan(budget=truebed.Budget(nodes=1000))
    limits = truebed.Limits(0.5, joint_step=0.5)
    pairs = [(0, 1), (2, 3)]
    assert plan(limits=limits, joints=pairs) == plan(limits=limits, joints=np.array(pairs))


def test_two_sides_of_a_joint_may_share_a_place():
    assert plan([[0, 0], [0, 0]], [0, 0], joints=[(0, 1)]).pieces == 0


def test_input_is_not_written_to():
    xy, heights = np.array(XY), np.array(HEIGHTS)
    plan(xy, heights)
    truebed.fit_plane(xy, heights)
    assert xy.tolist() == XY and heights.tolist() == HEIGHTS


def test_a_plane_through_a_million_points():
    side = np.arange(1000.0)
    xy = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    plane = truebed.fit_plane(xy, xy @ [1e-3, -2e-3] + 5)
    assert np.allclose([plane.slope_x, plane.slope_y, plane.offset_mm], [1e-3, -2e-3, 5])
    assert plane.deviations_mm.shape == (1_000_000,)


def bad(call, text, code, base=ValueError):
    return pytest.param(call, text, code, base, id=text.partition(":")[0] + f" {len(text)}")


SHAPES = [
    bad(
        lambda: plan(np.zeros((2, 5))),
        "xy: got shape (2, 5), expected shape (n, 2)",
        14,
    ),
    bad(lambda: plan([]), "xy: got shape (0,), expected shape (n, 2)", 14),
    bad(lambda: plan([[1, 2], [3]]), "xy: got shape (2,), expected shape (n, 2)", 14),
    bad(
        lambda: plan(np.zeros((0, 2)), []),
        "supports: got none, expected at least one support",
        14,
    ),
    bad(lambda: plan(heights=[1.0] * 5), "heights: got shape (5,), expected shape (4,)", 14),
    bad(lambda: plan(heights=np.zeros((4, 1))), "heights: got shape (4, 1), expected shape (4,)", 14),
    bad(
        lambda: plan(heights=None),
        "heights: got NoneType, which is no array, expected an array of shape (4,)",
        10,
        TypeError,
    ),
    bad(
        lambda: plan(heights="0 mm"),
        "heights: got str, which is no array, expected an array of shape (4,)",
        10,
        TypeError,
    ),
    bad(lambda: truebed.fit_plane(XY, [1, 2]), "z: got shape (2,), expected shape (4,)", 14),
    bad(
        lambda: truebed.fit_plane(XY, HEIGHTS, weights=[1, 2]),
        "weights: got shape (2,), expected shape (4,)",
        14,
    ),
]

VALUES = [
    bad(
        lambda: plan(heights=[0, np.nan, -np.inf, 0]),
        "heights[1]: got NaN mm, expected a length within ±1000 km\n"
        "heights[2]: got -inf mm, expected a length within ±1000 km",
        10,
    ),
    bad(
        lambda: plan(xy=np.array([[0, 0], [0, 1e300]]), heights=[0, 0]),
        f"xy[1, 1]: got 1{'0' * 79}…, expected a length within ±1000 km",
        10,
    ),
    bad(
        lambda: plan(heights=["0 mm", "0.010", "1 mm", "1 mm"]),
        f'heights[1]: got "0.010", expected {LENGTH_FORM}',
        11,
    ),
    bad(
        lambda: plan(xy=[[0, 0], [1, "x"]], heights=[0, 0]),
        f'xy[1, 1]: got "x", expected {LENGTH_FORM}',
        11,
    ),
    bad(
        lambda: plan(heights=np.array([True, False, True, True])),
        "\n".join(
            f"heights[{at}]: got {value} (bool), expected {MM}"
            for at, value in enumerate([True, False, True, True])
        ),
        10,
        TypeError,
    ),
    bad(
        lambda: plan(heights=[0.0, True, None, object]),
        f"heights[1]: got True (bool), expected {MM}\n"
        f"heights[2]: got None (NoneType), expected {MM}\n"
        f"heights[3]: got <class 'object'> (type), expected {MM}",
        10,
        TypeError,
    ),
    bad(
        lambda: plan(heights=np.ma.MaskedArray(HEIGHTS, [False, True, False, False])),
        f"heights[1]: got None (NoneType), expected {MM}",
        10,
        TypeError,
    ),
    bad(
        lambda: plan(heights=np.array([0, 0, 0, 1j])),
        "\n".join(
            f"heights[{at}]: got {value} (complex), expected {MM}"
            for at, value in enumerate([0j, 0j, 0j, 1j])
        ),
        10,
        TypeError,
    ),
    bad(
        lambda: plan(xy=[[0, 0], [5, 5], [0, 0]], heights=[0, 0, 0]),
        "supports[2]: got x = 0 mm, y = 0 mm, expected a place where supports[0] does not stand",
        12,
    ),
    bad(lambda: truebed.parse_length("0.010"), f'length: got "0.010", expected {LENGTH_FORM}', 11),
    bad(lambda: truebed.parse_length("\ud800 mm"), f'length: got "��� mm", expected {LENGTH_FORM}', 11),
    bad(
        lambda: truebed.parse_length(float("nan")),
        "length: got NaN mm, expected a length within ±1000 km",
        10,
    ),
    bad(
        lambda: truebed.parse_length(10**400),
        f"length: got 1{'0' * 79}… (int), expected {MM}",
        10,
        TypeError,
    ),
]

STOCKS = [
    bad(lambda: plan(stock={}), "stock: got 0 kinds, expected 1 to 128 kinds of shim", 14),
    bad(lambda: plan(stock=[]), "stock: got 0 kinds, expected 1 to 128 kinds of shim", 14),
    bad(
        lambda: plan(stock={i + 1: 1 for i in range(129)}),
        "stock: got 129 kinds, expected 1 to 128 kinds of shim",
        14,
    ),
    bad(
        lambda: plan(stock={1: 1, 0: 1, "-1 mm": 1, "2 m": 1}),
        "stock[1].thickness: got 0 mm, expected a thickness above 0 mm and at most 1000 mm\n"
        "stock[2].thickness: got -1 mm, expected a thickness above 0 mm and at most 1000 mm\n"
        "stock[3].thickness: got 2000 mm, expected a thickness above 0 mm and at most 1000 mm",
        10,
    ),
    bad(
        lambda: plan(stock={"0.010": 1}),
        f"stock['0.010'].thickness: got \"0.010\", expected {LENGTH_FORM}",
        11,
    ),
    bad(
        lambda: plan(stock={float("inf"): 1}),
        "stock[inf].thickness: got inf mm, expected a length within ±1000 km",
        10,
    ),
    bad(
        lambda: plan(stock={"1 mm": -1, "2 mm": 2**32}),
        f"stock['1 mm'].count: got -1, expected {PIECES}\n"
        f"stock['2 mm'].count: got 4294967296, expected {PIECES}",
        10,
    ),
    bad(
        lambda: plan(stock={1: 2.0, 2: True, 3: np.True_, 4: "5", 5: np.float64(1)}),
        f"stock[1].count: got 2.0 (float), expected {PIECES}\n"
        f"stock[2].count: got True (bool), expected {PIECES}\n"
        f"stock[3].count: got {np.True_!r} ({type(np.True_).__name__}), expected {PIECES}\n"
        f"stock[4].count: got '5' (str), expected {PIECES}\n"
        f"stock[5].count: got {np.float64(1)!r} (float64), expected {PIECES}",
        10,
        TypeError,
    ),
    bad(
        lambda: plan(stock=[truebed.Shim(1), 2]),
        "stock[1]: got 2 (int), expected a Shim",
        10,
        TypeError,
    ),
    bad(
        lambda: plan(stock="1 mm"),
        "stock: got '1 mm' (str), expected a mapping from thickness to count or a list of Shim",
        10,
        TypeError,
    ),
    bad(
        lambda: truebed.Shim("0.010 in", -1, 1.5),
        f"Shim('0.010 in').count: got -1, expected {PIECES}\n"
        "Shim('0.010 in').price: got 1.5 (float), expected a whole number from 0 to 4294967295",
        10,
    ),
    bad(
        lambda: plan(stock=[truebed.Shim(1, price=1_000_001)]),
        "Shim(1).price: got 1000001, expected a price of at most 1000000 units",
        10,
    ),
]

OPTIONS = [
    bad(
        lambda: plan(limits=truebed.Limits()),
        "limits: got none, expected at least one of overall, along, across, joint_step, named",
        10,
    ),
    bad(
        lambda: plan(limits=-1),
        "limits.overall: got -1 mm, expected a length from 0 mm to 1000000000 mm",
        10,
    ),
    bad(lambda: plan(limits="0.5"), f'limits: got "0.5", expected {LENGTH_FORM}', 11),
    bad(
        lambda: truebed.Limits("1", along=None, across="x"),
        f'limits.overall: got "1", expected {LENGTH_FORM}\n'
        f'limits.across: got "x", expected {LENGTH_FORM}',
        11,
    ),
    bad(
        lambda: plan(order="best"),
        "order: got 'best', expected "
        '"fewest-pieces", "flattest", "fewest-lifts" or "cheapest"',
        10,
    ),
    bad(lambda: plan(keep_highest=1), "keep_highest: got 1 (int), expected True or False", 10, TypeError),
    bad(lambda: plan(max_pieces=-1), f"max_pieces: got -1, expected {PIECES}", 10),
    bad(lambda: plan(max_pieces=2.0), f"max_pieces: got 2.0 (float), expected {PIECES}", 10, TypeError),
    bad(
        lambda: plan(budget=-1),
        "budget: got -1, expected None, a Budget or a whole number of search nodes, 0 or more",
        10,
    ),
    bad(
        lambda: truebed.Budget(time_ms=1.5),
        "budget.time_ms: got 1.5 (float), expected a whole number of milliseconds, 0 or more",
        10,
        TypeError,
    ),
    bad(lambda: plan(joints=[(0, 4)]), "joints[0]: got 4, expected an index below 4", 13),
    bad(lambda: plan(joints=[(0, 1), (0, -1)]), "joints[1]: got -1, expected an index, 0 or more", 10),
    bad(
        lambda: plan(joints=[(1, 1)]),
        "joints[0]: got (1, 1), expected two different supports",
        10,
    ),
    bad(
        lambda: plan(joints=[(0, 1), (1, 0)]),
        "joints[1]: got (1, 0), expected a pair that joints[0] does not have",
        12,
    ),
    bad(
        lambda: plan(joints=[(0, 1, 2), "A", ("A", "B")]),
        "joints[0]: got (0, 1, 2) (tuple), expected a pair of indices of supports\n"
        "joints[1]: got 'A' (str), expected a pair of indices of supports\n"
        "joints[2]: got 'A' (str), expected an index, 0 or more",
        10,
        TypeError,
    ),
    bad(
        lambda: plan(joints=1),
        "joints: got 1 (int), expected a list of pairs of indices of supports",
        10,
        TypeError,
    ),
]

KINDS = '"least-squares", "orthogonal", "minimum-zone", "minimum-zone-normal", "resting"'

PLANES = [
    bad(
        lambda: truebed.fit_plane([[0, 0], [1, 1]], [0, 0]),
        "xy: got 2 points, expected at least 3 for a plane",
        15,
    ),
    bad(
        lambda: truebed.fit_plane([[0, 0], [1, 1], [2, 2]], [0, 0, 0]),
        "xy: got 3 points in one place or on one line, expected points that span a plane",
        15,
    ),
    bad(
        lambda: truebed.fit_plane(XY, [0, np.nan, np.inf, 0]),
        "z[1]: got NaN, expected a finite number of mm\nz[2]: got inf, expected a finite number of mm",
        10,
    ),
    bad(
        lambda: truebed.fit_plane(XY, HEIGHTS, weights=[1, 0, -1, np.nan]),
        "weights[1]: got 0, expected a finite number above 0\n"
        "weights[2]: got -1, expected a finite number above 0\n"
        "weights[3]: got NaN, expected a finite number above 0",
        10,
    ),
    bad(
        lambda: truebed.fit_plane(XY, HEIGHTS, weights=[1, "1 mm", 1, 1]),
        "weights[1]: got '1 mm' (str), expected a number",
        10,
        TypeError,
    ),
    bad(
        lambda: truebed.fit_plane(XY, HEIGHTS, "flattest"),
        f"kind: got 'flattest', expected one of {KINDS}",
        10,
    ),
    bad(
        lambda: truebed.fit_plane(XY, HEIGHTS, 3),
        f"kind: got 3, expected one of {KINDS}",
        10,
    ),
    bad(
        lambda: truebed.fit_plane(XY, HEIGHTS, "resting", weights=[1, 1, 1, 1]),
        "weights: got values, expected none, since resting counts every point as it is",
        10,
    ),
    bad(
        lambda: truebed.fit_planes(XY, [[0, 0, 0, 0], [0, np.nan, 0, 0]]),
        "tables[1].z[1]: got NaN, expected a finite number of mm",
        10,
    ),
    bad(
        lambda: truebed.fit_planes(XY, [[0, 0, 0]]),
        "xy: got shape (4, 2), expected shape (3, 2)",
        14,
    ),
    bad(lambda: truebed.fit_planes(XY, HEIGHTS), "z: got shape (4,), expected shape (n, n)", 14),
    bad(
        lambda: truebed.fit_planes(XY[:2], [[1, 2]]),
        "points: got 2, expected at least 3 for a plane",
        15,
    ),
    bad(
        lambda: truebed.least_squares(XY, HEIGHTS, sigmas=[1, 1, 0, 1]),
        "sigmas[2]: got 0, expected a finite uncertainty above 0 mm",
        10,
    ),
    bad(
        lambda: truebed.least_squares(XY, HEIGHTS, sigmas=[1] * 4, covariance=np.eye(4)),
        "covariance: got values, expected None, since there are sigmas",
        10,
    ),
    bad(
        lambda: truebed.least_squares(XY, HEIGHTS, covariance=np.eye(3)),
        "covariance: got shape (3, 3), expected shape (4, 4)",
        14,
    ),
    bad(
        lambda: truebed.least_squares(XY, HEIGHTS, covariance=np.ones((4, 4))),
        "covariance: got a matrix that is not positive definite, expected a positive definite one; "
        "leave out heights without any uncertainty of their own",
        10,
    ),
    bad(
        lambda: truebed.minimum_zone(XY, HEIGHTS, "upwards"),
        "direction: got 'upwards', expected \"vertical\" or \"normal\"",
        10,
    ),
    bad(
        lambda: truebed.resting(XY, HEIGHTS, (1300, 0)),
        "centre: got x = 1300, y = 0, expected a place within the supports",
        15,
    ),
    bad(
        lambda: truebed.highest([1, 2]),
        "sigmas: got no uncertainty in mm, expected sigmas or a covariance",
        10,
    ),
    bad(
        lambda: truebed.straightedge(XY, HEIGHTS, 0, line_width=-1),
        "line_width: got -1, expected a finite length of 0 mm or more\n"
        "length: got 0, expected a finite length above 0 mm",
        10,
    ),
    bad(
        lambda: truebed.check_floor(XY, HEIGHTS, "BS 8204 SR1"),
        "xy: got 4 points, no three of them on a line, expected lines of at least three points along "
        "x or y",
        15,
    ),
]


@pytest.mark.parametrize(
    "call, text, code, base", [*SHAPES, *VALUES, *STOCKS, *OPTIONS, *PLANES]
)
def test_bad_input_is_named(call, text, code, base):
    with pytest.raises(truebed.Error) as caught:
        call()
    error = caught.value
    assert str(error) == text
    assert error.code == code
    assert isinstance(error, base)
    assert [str(problem) for problem in error.problems] == text.split("\n")
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), str(again), again.code) == (type(error), text, code)


def test_a_million_bad_values_are_told_in_fifty():
    with pytest.raises(truebed.InputError) as caught:
        plan(np.full((500_000, 2), np.nan), np.full(500_000, np.nan))
    assert len(caught.value.problems) == 50


JOB = {
    "version": 1,
    "stock": [{"thickness": "1 mm"}],
    "points": [
        {"id": "A", "x": "0 mm", "y": "0 mm", "role": "leg"},
        {"id": "B", "x": "1 m", "y": "0 mm", "role": "leg"},
        {"id": "C", "x": "0 mm", "y": "1 m", "role": "leg"},
    ],
    "readings": [
        {"kind": "height", "point": "A", "value": "0 mm"},
        {"kind": "height", "point": "B", "value": "0 mm"},
        {"kind": "height", "point": "C", "value": "0 mm"},
    ],
    "legs": {"limits": {"overall": "0.5 mm"}},
}


def deep(levels):
    document = {}
    for _ in range(levels):
        document = {"deeper": document}
    return document


def circle():
    document = {"version": 1}
    document["points"] = document
    return document


def test_jobs_come_back_as_the_kind_that_went_in():
    text = json.dumps(JOB)
    done = truebed.run_job(text)
    assert isinstance(done, str)
    assert truebed.run_job(text.encode()) == done.encode()
    assert truebed.run_job(JOB) == json.loads(done)
    assert "outcome" not in JOB
    assert truebed.run_job(done) == done
    assert truebed.job_sheet(JOB) == truebed.job_sheet(done)
    assert truebed.CAUTIONS[0] in truebed.job_sheet(text).replace("\n  ", " ")


def test_the_schema_is_that_of_the_job():
    schema = truebed.job_schema()
    assert schema["title"] == "Job"
    assert set(JOB) <= set(schema["properties"])


@pytest.mark.parametrize("call", [truebed.run_job, truebed.job_sheet])
@pytest.mark.parametrize(
    "document, field, got, code",
    [
        (JOB | {"version": 2}, "version", "2", 17),
        (JOB | {"version": "1"}, "version", '"1"', 17),
        ({}, "version", "none", 16),
        ("[]", "job", "[]", 16),
        ("", "job", '""', 16),
        ('{"version": 1, "points": [', "job", "EOF while parsing", 16),
        (JOB | {"more": 1}, "more", "unknown field", 16),
        (JOB | {"points": {}}, "points", "an object", 16),
        (JOB | {"stock": [{"thickness": 1.0}]}, "stock[0].thickness", "1.0", 16),
        (JOB | {"stock": [{"thickness": "1"}]}, "stock[0].thickness", '"1"', 16),
        (JOB | {"stock": [{"thickness": "1 mm", "count": -1}]}, "stock[0].count", "-1", 16),
        (JOB | {"stock": []}, "stock", "0 kinds", 14),
        (JOB | {"title": float("nan")}, "title", "nan", 16),
        (JOB | {"title": object()}, "title", "object", 16),
        (deep(100_000), "job", "a dict that is no JSON", 16),
        (circle(), "job", "a dict that is no JSON", 16),
        ("[" * 100_000, "job", "[[[[", 16),
        ('{"version": ' + "[" * 100_000, "job", "more than 32 brackets inside each other", 16),
        ("x" * 10_000_000, "job", "xxxx", 16),
        (bytes(10_000_000), "job", "\\0\\0", 16),
        (b"\xff", "job", "invalid utf-8", 16),
        ("\ud800", "job", "invalid utf-8", 16),
    ],
    ids=lambda value: value[:20] if isinstance(value, str) else None,
)
def test_bad_documents_are_named(call, document, field, got, code):
    with pytest.raises(truebed.InputError) as caught:
        call(document)
    problem = caught.value.problems[0]
    assert (problem.field, caught.value.code) == (field, code)
    assert got in problem.got
    assert len(str(caught.value)) < 1000


@pytest.mark.parametrize("document", [None, 1, [JOB], object()])
def test_what_is_no_document(document):
    with pytest.raises(truebed.InputTypeError, match="^job: got .*, expected a dict or JSON text$"):
        truebed.run_job(document)
