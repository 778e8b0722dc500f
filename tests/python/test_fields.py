"""The fields of results: each is there, of the type that its annotation says, and each argument that
several calls share stands in one place."""

import dataclasses
import inspect
import types
import typing

import numpy as np
import pytest

import truebed
from truebed import _problem, _survey

XY = {"A": (0, 0), "B": (1000, 0), "C": (1000, 500), "D": (0, 500)}
SIGMAS = dict.fromkeys(XY, 0.01)
LINE = [[x, 0] for x in range(0, 3600, 300)]
READINGS = [
    truebed.height("A", 12, setup="S"),
    truebed.height("B", 13, setup="S"),
    truebed.slope("A", "C", 0.1, span=500, level="L"),
    truebed.slope("A", "C", 0.1, span=500, level="L", turned=True),
    truebed.rise("B", "C", -1),
    truebed.rise("C", "D", 0),
]
HEIGHTS = truebed.adjust(READINGS, points=XY)
SIDES = dict.fromkeys(["ne_nw", "ne_se", "se_sw", "nw_sw", "e_w", "n_s"], [0, 0])
SHORT = truebed.shortfall(XY, [0, -1.1, 0, 0], {0.5: 1}, 0.1)
ROOM = [[0, 0], [6000, 0], [6000, 4000], [0, 4000]]
HALL = truebed.Passage.corner("hall", (900, 900), 2200)
SLAB = truebed.Slab((0, 1000), (0, 500), 25.4, e_gpa=48.36, nu=0.25, density=2794)
CORNERS = {"A": (50, 50), "B": (950, 50), "C": (950, 450), "D": (50, 450)}
RESULTS = [
    truebed.fit_plane(XY, [0, 1, 2, 3]),
    truebed.fit_planes(list(XY.values()), [[0, 1, 2, 3]]),
    truebed.least_squares(XY, [0, 1, 2, 3]),
    truebed.minimum_zone(XY, [0, 1, 2, 4]),
    truebed.resting(XY, [0, 0, 0, -2]),
    truebed.highest(dict.fromkeys(XY, 0), sigmas=SIGMAS),
    truebed.local_slopes(LINE, range(12)),
    truebed.straightedge(LINE, range(12), 2000),
    truebed.assess_floor(LINE, [0, 1] * 6, "BS 8204 SR1", covariance=np.eye(12)),
    truebed.floor_numbers([[0, 1] * 6]),
    truebed.plan_shims(XY, HEIGHTS, {0.5: 9, 0.1: 9}, truebed.Limits(0.2, slope_along=1)),
    truebed.plan_shims(list(XY.values()), [0, -1, 0, 0], {1: 1}, 0.5),
    SHORT,
    truebed.check([0, 1], truebed.Limits(0.2, slope_along=1), xy=[[0, 0], [900, 0]]),
    truebed.check(HEIGHTS, 1),
    truebed.global_risks(("normal", 0, 1), 0.1, tolerance=1, acceptance=1),
    truebed.read_next(READINGS, READINGS, 1, points=XY),
    truebed.roll(list(XY.values()), [0, 0, 0, 0], (0, 250), (0.1, 0)),
    truebed.play(XY, [0, 0, 0, 0]),
    HEIGHTS,
    truebed.union_jack(**SIDES, nw_se=[0, 1], ne_sw=[0, 1], step=100),
    *HEIGHTS.closures(),
    truebed.adjust([truebed.rise("A", "B", 1, 0.01), truebed.rise("A", "B", 1.5, 0.01)]),
    truebed.LaidSlab(SLAB, list(CORNERS.values())).bear_many([[0, 0, 0, 0]]),
    truebed.plan_bed(SLAB, CORNERS, [0, -0.3, -0.6, -0.31], {0.1: 20, 0.01: 20}, 0.1),
    truebed.estimate(truebed.FloorModel(ff=20, fl=15), XY, {1: 9}, 0.5, jobs=4),
    truebed.kit(truebed.FloorModel(ff=60, fl=40), XY, [1], 0.5, share=0.5, training_jobs=9),
    truebed.FloorModel(sigma=1).given(LINE[:2], [0, 1], LINE[2:4]),
    truebed.FloorModel(sigma=1).updated(LINE[:2], [0, 1]),
    truebed.readings_needed(XY, 0.5, sigma=0.1),
    truebed.kit_front(
        truebed.FloorModel(ff=60, fl=40), XY, [1], 0.5, shares=[0.4], training_jobs=9, fresh_jobs=9
    ),
    truebed.slate_mass([[0, 0], [700, 0], [700, 900]], 25),
    truebed.leg_loads(list(XY.values()), 400, (1000, 450)),
    truebed.fit_floor([(LINE, [0, 1, 3, 4, 6, 7, 6, 5, 5, 6, 8, 9])]),
    truebed.place(ROOM, (2540, 1270), obstacles={"post": [[900, 900], [1000, 900], [900, 1000]]}),
    truebed.square((2540, 2541), (1270, [1270, 1271]), (2839, 2840), sigma=0.5),
    truebed.way_in({"slate": (1350, 900, 25)}, [HALL]),
    HALL,
]
# Of what calls give, not of what they take.
CLASSES = [
    value
    for name in truebed.__all__
    if dataclasses.is_dataclass(value := getattr(truebed, name)) and value is not truebed.SlatesOnFrame
]


def within(result):
    """A result and all in it."""
    yield result
    for field in dataclasses.fields(result):
        value = getattr(result, field.name)
        for item in value if isinstance(value, list) else [value]:
            if dataclasses.is_dataclass(item):
                yield from within(item)


def fits(value, hint):
    """Whether a value is of the type that an annotation says; an int is no float."""
    origin, of = typing.get_origin(hint), typing.get_args(hint)
    if origin is typing.Literal:
        return value in of
    if origin in (typing.Union, types.UnionType):
        return any(fits(value, one) for one in of)
    if origin is list:
        return type(value) is list and all(fits(item, of[0]) for item in value)
    if origin is dict:
        return all(fits(item, of[at]) for pair in value.items() for at, item in enumerate(pair))
    if origin is tuple:
        return type(value) is tuple and len(value) == len(of) and all(map(fits, value, of))
    if origin is np.ndarray:
        kind = np.dtype(typing.get_args(of[1])[0])
        return isinstance(value, np.ndarray) and value.dtype == kind
    return type(value) is hint


SEEN = [it for result in RESULTS for it in within(result)]


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
def test_every_field_is_of_the_type_that_it_says(cls):
    hints = typing.get_type_hints(cls)
    made = [it for it in SEEN if type(it) is cls]
    assert made, "make one for this test"
    for result in made:
        for field in dataclasses.fields(cls):
            value = getattr(result, field.name)
            assert fits(value, hints[field.name]), (field.name, value, hints[field.name])


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
def test_no_field_has_a_default(cls):
    """One would hide that the extension hands the field over no longer."""
    for field in dataclasses.fields(cls):
        assert field.default is dataclasses.MISSING, field.name
        assert field.default_factory is dataclasses.MISSING, field.name


def test_the_check_of_types_can_fail():
    assert not fits(1, float) and not fits([1], list[float]) and not fits(None, str)
    assert not fits("best", typing.Literal["proven"]) and not fits((1.0,), tuple[float, float])
    assert not fits(np.zeros(2, int), np.ndarray[typing.Any, np.dtype[np.float64]])


@pytest.mark.parametrize(
    "read, options, besides",
    [
        (_problem.read, _problem.PlanArguments, set()),
        (_problem.read, _problem.PlanOptions, {"xy", "heights", "stock", "limits"}),
        (_problem.read, _problem.TradeoffOptions, {"xy", "heights", "stock", "limits", "order"}),
        (_survey.survey, _survey.SurveyOptions, {"readings"}),
    ],
    ids=["PlanArguments", "PlanOptions", "TradeoffOptions", "SurveyOptions"],
)
def test_options_are_those_of_the_call_that_reads_them(read, options, besides):
    assert set(inspect.signature(read).parameters) - besides == set(options.__annotations__)


def test_calls_show_the_options_that_they_hand_on():
    read = inspect.signature(_problem.read).parameters
    for call in [truebed.plan_shims, truebed.tradeoff, truebed.shortfall]:
        shown = dict(inspect.signature(call).parameters)
        shown.pop("catalogue", None)
        assert list(shown) == [name for name in read if name in shown]
        assert set(read) - set(shown) == (set() if call is truebed.plan_shims else {"order"})
        assert all(it.default == read[name].default for name, it in shown.items())
    survey = inspect.signature(_survey.survey).parameters
    assert list(inspect.signature(truebed.adjust).parameters) == list(survey)


@pytest.mark.parametrize("call", [truebed.tradeoff, truebed.shortfall])
def test_an_order_is_refused_where_there_is_none(call):
    with pytest.raises(TypeError, match="order"):
        call([[0, 0]], [0], {1: 1}, 1, order="flattest")
    with pytest.raises(TypeError, match="oder"):
        call([[0, 0]], [0], {1: 1}, 1, oder="flattest")


def test_signatures_can_be_read_at_a_glance():
    for name in truebed.__all__:
        value = getattr(truebed, name)
        if inspect.isroutine(value):
            shown = str(inspect.signature(value))
            assert len(shown) < 700, (name, len(shown))


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
def test_help_tells_of_every_field_with_its_unit(cls):
    for field in dataclasses.fields(cls):
        doc = inspect.getdoc(vars(cls)[field.name]) or ""
        assert field.name.startswith("_") or doc, field.name
        assert not field.name.endswith("_mm") or "mm" in doc, field.name


def test_help_of_readings_tells_the_default_uncertainties():
    for sigma in ["0.3 mm", "0.5 mm", "0.005 mm", "0.42 mm", "0.2 divisions", "0.873 mm/m", "0.0144 mm"]:
        assert sigma in truebed.Reading.__doc__
    calls = [truebed.height, truebed.rise, truebed.bubble, truebed.slope, truebed.gap, truebed.leg_gap]
    calls.append(truebed.slate_gap)
    told = [" ".join(call.__doc__.split()) for call in calls]
    assert all("sigma" in text and "common practice" in text for text in told)
    assert "larger reading means a lower point" in " ".join(truebed.height.__doc__.split())


def test_nothing_but_the_public_names_is_offered():
    assert sorted(dir(truebed)) == sorted(truebed.__all__)
