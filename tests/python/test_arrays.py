"""Any array that a caller may have: the answer is that of plain float64, or the input is refused."""

import warnings

import numpy as np
import pandas
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

import truebed

XY = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 600.0], [0.0, 600.0], [500.0, 250.0]]
COUNT = len(XY)

CALLS = {
    "plan_shims": lambda xy, z: truebed.plan_shims(xy, z, {1: None, 0.25: 9}, 0.5, budget=2000),
    "fit_plane": lambda xy, z: truebed.fit_plane(xy, z),
    "minimum_zone": lambda xy, z: truebed.minimum_zone(xy, z),
    "resting": lambda xy, z: truebed.resting(xy, z),
    "least_squares": lambda xy, z: truebed.least_squares(xy, z, sigmas=z),
    "weights": lambda xy, z: truebed.fit_plane(xy, range(COUNT), weights=z),
    "highest": lambda xy, z: truebed.highest(z, sigmas=[0.1] * COUNT),
    "covariance": lambda xy, z: truebed.highest(range(COUNT), covariance=z),
    "check": lambda xy, z: truebed.check(z, truebed.Limits(0.5, along=0.25), xy=xy),
    "straightedge": lambda xy, z: truebed.straightedge(xy, z, 2000),
    "local_slopes": lambda xy, z: truebed.local_slopes(xy, z),
    "floor_numbers": lambda xy, z: truebed.floor_numbers([z, z]),
    "fit_planes": lambda xy, z: truebed.fit_planes(xy, [z, z]),
    "level_line": lambda xy, z: truebed.level_line("ABCDEF", z, sensitivity=0.05, base=500),
    "settlement": lambda xy, z: truebed.plan_shims(XY, [0] * COUNT, {1: 1}, 1).settlement_mm(z),
}


def answer(call, *arguments):
    """What a call gives, or the text by which it refuses what it was given; nothing else may come
    out of it, not a warning either."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            return repr_of(call(*arguments))
        except truebed.Error as error:
            assert error.problems and str(error)
            return f"{type(error).__name__}: {error}"


def repr_of(result):
    if isinstance(result, truebed.LeastSquares | truebed.Plane | truebed.Planes):
        return str(result.to_dict())
    return str(result.tolist()) if isinstance(result, np.ndarray) else repr(result)


def laid_out(values, layout):
    """The same values in another order of memory."""
    match layout:
        case "fortran":
            return np.asfortranarray(values)
        case "strided":
            wide = np.zeros([3 * size for size in values.shape], values.dtype)
            view = wide[(slice(1, None, 3),) * values.ndim]
            view[...] = values
            return view
        case "backwards":
            return values[(slice(None, None, -1),) * values.ndim].copy()[
                (slice(None, None, -1),) * values.ndim
            ]
        case "read-only":
            values = values.copy()
            values.flags.writeable = False
            return values
        case "unaligned":
            blank = np.zeros(values.nbytes + 1, np.uint8)
            view = blank[1:].view(values.dtype).reshape(values.shape)
            view[...] = values
            return view
        case "subclass":
            return values.view(Subclass)
        case "masked":
            return np.ma.MaskedArray(values)
        case "transposed":
            return values.T.copy().T
    return values


class Subclass(np.ndarray):
    pass


LAYOUTS = [
    "plain",
    "fortran",
    "strided",
    "backwards",
    "read-only",
    "unaligned",
    "subclass",
    "masked",
    "transposed",
]

NUMBERS = [
    np.int8, np.int16, np.int32, np.int64, np.uint8, np.uint16, np.uint32, np.uint64,
    np.float16, np.float32, np.float64, np.longdouble, ">f8", ">i2", ">f4",
]  # fmt: skip

NO_NUMBERS = [
    np.bool_, np.complex64, np.complex128, np.clongdouble, "M8[ns]", "M8[D]", "m8[ns]", "m8[s]",
    "V8", "S4", [("x", float)], [("x", float), ("y", int)],
]  # fmt: skip


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
@given(st.data())
@settings(max_examples=40, deadline=None)
def test_every_array_of_numbers_is_that_of_its_floats(call, data):
    dtype = data.draw(st.sampled_from(NUMBERS))
    z = data.draw(arrays.arrays(dtype, COUNT))
    whole = np.array(XY).astype(dtype) if np.dtype(dtype).itemsize > 1 else np.array(XY)
    xy = laid_out(whole, data.draw(st.sampled_from(LAYOUTS)))
    given_z = laid_out(z, data.draw(st.sampled_from(LAYOUTS)))
    before = (xy.tobytes(), given_z.tobytes())
    floats = [float(value) for value in z]
    expected = answer(call, [[float(x), float(y)] for x, y in whole], floats)
    assert answer(call, xy, given_z) == expected
    assert (xy.tobytes(), given_z.tobytes()) == before
    assert answer(call, pandas.DataFrame(np.array(whole, float)), pandas.Series(floats)) == expected


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
@given(st.data())
@settings(max_examples=20, deadline=None)
def test_what_is_no_number_is_refused(call, data):
    dtype = data.draw(st.sampled_from(NO_NUMBERS))
    # Of bare bytes Hypothesis makes none.
    z = np.zeros(COUNT, dtype) if dtype == "V8" else data.draw(arrays.arrays(dtype, COUNT))
    z = laid_out(z, data.draw(st.sampled_from(LAYOUTS[:6])))
    for values in [z, list(z), [*range(COUNT - 1), z[-1]]]:
        assert answer(call, XY, values).startswith("Input")


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
@given(st.data())
@settings(max_examples=40, deadline=None)
def test_shapes(call, data):
    shape = data.draw(arrays.array_shapes(min_dims=0, max_dims=4, min_side=0, max_side=6))
    values = np.ones(shape)
    got = answer(call, XY, values)
    # Lines of a floor are as long as they are.
    wanted = [(COUNT,), (COUNT, COUNT)] if call is not CALLS["floor_numbers"] else [shape[:1]]
    assert got.startswith("Input") or shape in wanted
    # An empty list does not tell what it would have rows of.
    lists = [values.tolist()] if values.size else []
    for again in [*lists, values.astype(object), np.ones(shape, int)]:
        refused = answer(call, XY, again).startswith("Input")
        assert refused == got.startswith("Input")
    if shape != (COUNT, 2):
        assert shape == (COUNT,) or answer(truebed.fit_plane, values, [1] * COUNT).startswith("Input")


ODD = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.complex_numbers(), st.text(),
    st.binary(), st.decimals(), st.fractions(), st.datetimes(), st.just(np.ma.masked),
    st.just(object()), st.just([]), st.just({}), st.just(pandas.NA), st.just(pandas.NaT),
    st.sampled_from(["1 mm", "-1/8 in", "0.25", "1e400 mm", "\ud800", "1 mm\0"]),
)  # fmt: skip


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
@given(st.data())
@settings(max_examples=60, deadline=None)
def test_lists_of_anything(call, data):
    element = st.recursive(ODD, lambda inner: st.lists(inner, max_size=3), max_leaves=4)
    values = data.draw(st.lists(element, min_size=COUNT - 1, max_size=COUNT + 1))
    assert isinstance(answer(call, XY, values), str)
    holder = np.empty(len(values), object)
    holder[:] = values
    assert isinstance(answer(call, XY, holder), str)
    xy = data.draw(st.lists(st.lists(element, max_size=3), max_size=COUNT))
    assert isinstance(answer(call, xy, [1] * COUNT), str)


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
def test_what_has_no_end(call):
    circle = [0, 1]
    circle.append(circle)
    deep = 1.0
    for _ in range(10_000):
        deep = [deep]
    for values in [circle, [circle] * COUNT, deep, [deep] * COUNT, tuple([deep] * COUNT)]:
        assert answer(call, XY, values).startswith("Input")
    for values in [iter([1] * COUNT), set(range(COUNT)), 1, 1.0, "1 mm", b"11111", object, None]:
        got = answer(call, XY, values)
        # A covariance, weights or sigmas may be left out.
        assert got.startswith("Input") or values is None


def test_huge():
    """A million points of every layout, and sizes that no memory holds."""
    count = 1_000_000
    xy = np.random.default_rng(1).uniform(-1e3, 1e3, (count, 2))
    z = xy @ [1e-3, 2e-3]
    plane = truebed.fit_plane(xy, z)
    for layout in LAYOUTS:
        if layout != "masked":
            assert truebed.fit_plane(laid_out(xy, layout), laid_out(z, layout)) == plane
    assert truebed.fit_plane(xy, np.ma.MaskedArray(z)) == plane
    endless = np.broadcast_to(np.float64(1), (10**15,))
    with pytest.raises(truebed.InputError, match=r"^z: got shape \(1000000000000000,\)"):
        truebed.fit_plane(XY, endless)
    with pytest.raises(truebed.InputError, match=r"^xy: got shape \(1000000000000000,\)"):
        truebed.fit_plane(endless, z)
