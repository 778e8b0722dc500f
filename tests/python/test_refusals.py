"""Whatever is handed to a public call, what comes back is an answer or a truebed.Error."""

import inspect
import json
import operator
from pathlib import Path

import pytest

import truebed
import truebed.arrow

XY = {"A": (0, 0), "B": (1000, 0), "C": (1000, 500), "D": (0, 500)}
POINTS = {"A": (0, 0), "B": (1000, 0), "C": (1000, 500)}
READINGS = [truebed.rise("A", "B", 1), truebed.rise("B", "C", 1), truebed.rise("A", "C", 2.1)]
SITE = {"xy": XY, "heights": [0, -1, 0, 0], "stock": {0.5: 9}, "limits": 0.5}
FLOOR = {"xy": [[x, 0] for x in range(0, 3600, 300)], "z": [0, 1] * 6}
LEVEL = {"sensitivity": "0.05 mm/m", "base": "500 mm"}
BED = {"xy": list(XY.values()), "heights": [0, 0, 0, 0]}
RISKS = {"prior": ("gamma", 4, 0.25), "sigma": 0.25, "tolerance": 2}
SLAB = truebed.Slab((0, 1000), (0, 500), 60, e_gpa=48.36, nu=0.25, density=2794)
PLATE = {"slab": SLAB, "xy": XY}
ROOM = {"room": [[0, 0], [6000, 0], [6000, 5000], [0, 5000]], "surface": (1000, 500)}
EVEN = {"floor": truebed.FloorModel.of("ACI 117 superflat"), "xy": XY, "limits": 1}
HALL = truebed.Passage.corner("hall", (900, 900), 2300)
CALLS = {
    "bear": {**PLATE, "tops_mm": [0, 0, 0, 0]},
    "door_swing": {"hinge": (0, 0), "leaf": 800, "from_deg": 0, "to_deg": 90},
    "estimate": {**EVEN, "stock": {0.5: 9}, "jobs": 3},
    "fit_floor": {"floors": [([[0, 0], [1000, 0], [2000, 0], [3000, 500]], [0, 1, 2.5, 2])] * 2},
    "job_page": {"document": "{}"},
    "leg_loads": {"xy": list(XY.values()), "kg": 400, "at": (1000, 450)},
    "people": {"kg": 80},
    "slate_mass": {"outline": [[0, 0], [700, 0], [700, 900]], "thickness": 25},
    "kit": {**EVEN, "kinds": [2, 0.5], "share": 0.2, "training_jobs": 3, "fresh_jobs": 3},
    "kit_front": {
        **EVEN, "kinds": [2, 0.5], "shares": [0.2], "training_jobs": 3, "fresh_jobs": 3
    },
    "next_pass": {"document": "{}", "readings": []},
    "patch_load": {"x": (0, 1), "y": (0, 1), "newtons": 1},
    "place": ROOM,
    "plan_bed": {**PLATE, "frame_mm": [0, 0, 0, 0], "stock": {0.5: 9}, "limits": 0.5, "budget": 50},
    "point_load": {"x": 0, "y": 0, "newtons": 1},
    "room_picture": ROOM,
    "square": {"lengths": (2540, 2540), "widths": (1270, 1270), "diagonals": (2840, 2840)},
    "way_in": {"pieces": {"side": (2600, 200, 50)}, "passages": [HALL]},
    "FloorModel": {"ff": 20, "fl": 15},
    "LaidSlab": PLATE,
    "Slab": {"x": (0, 1), "y": (0, 1), "thickness": 1, "e_gpa": 1, "nu": 0.2, "density": 1000},
    "arrow.plan": {"data": None, "stock": {0.5: 9}, "limits": 0.5},
    "arrow.run_jobs": {"data": None},
    "adjust": {"readings": READINGS},
    "assess_floor": {**FLOOR, "floor_class": "BS 8204 SR1", "covariance": [[0.0] * 12] * 12},
    "bubble": {"a": "A", "b": "B", "divisions": 1, "sensitivity": "1 mm/m"},
    "check": {"heights": [0, 1], "limits": 1},
    "check_floor": {**FLOOR, "floor_class": "BS 8204 SR1"},
    "components": {"readings": READINGS},
    "drift_mm": {"cross_slope": 0, "length_mm": 1, "speed": 1},
    "dying_speed": {"length_mm": 1, "resistance": 0.01},
    "fit_plane": {"xy": XY, "z": [0, 1, 2, 3]},
    "fit_planes": {"xy": list(XY.values()), "z": [[0, 1, 2, 3]]},
    "floor_numbers": {"lines": [[0, 1] * 6]},
    "gap": {"point": "M", "a": "A", "b": "B", "value": 1},
    "global_risks": {**RISKS, "acceptance": 2},
    "guard_band": {**RISKS, "risk": 0.001},
    "height": {"point": "A", "value": 1},
    "highest": {"heights": [0, 1], "sigmas": [1, 1]},
    "job_picture": {"document": "{}"},
    "job_schema": {},
    "job_sheet": {"document": "{}"},
    "least_squares": {"xy": XY, "z": [0, 1, 2, 3]},
    "leg_gap": {"point": "A", "value": 1},
    "level_grid": {"ids": ["AB", "CD"], "along": [[1], [1]], "across": [[1, 2]], **LEVEL},
    "level_line": {"ids": "ABC", "divisions": [1, 2], **LEVEL},
    "local_slopes": FLOOR,
    "minimum_zone": {"xy": XY, "z": [0, 1, 2, 3]},
    "parse_length": {"length": 1},
    "pieces": {"readings": READINGS},
    "plan_many": {"problems": [SITE]},
    "plan_shims": SITE,
    "play": BED,
    "roll_balls": BED,
    "read_next": {"readings": READINGS, "candidates": READINGS, "limits": 1, "points": POINTS},
    "readings_from_csv": {"text": "kind,a,b,value\nrise,A,B,1 mm\n"},
    "resting": {"xy": XY, "z": [0, 1, 2, 3]},
    "rise": {"a": "A", "b": "B", "value": 1},
    "roll": {**BED, "start": (0, 250), "velocity": (0.1, 0)},
    "rolling_acceleration": {"slope": 0.1},
    "readings_needed": {"xy": XY, "limits": 1, "sigma": 0.1},
    "run_job": {"document": "{}"},
    "run_jobs": {"documents": ["{}"]},
    "shortfall": SITE,
    "slate_gap": {"point": "A", "value": 1},
    "slope": {"a": "A", "b": "B", "value": 1, "span": 1},
    "straightedge": {**FLOOR, "length": "2 m"},
    "straightedge_between": {**FLOOR, "start": (0, 0), "end": (900, 0), "length": "2 m"},
    "tradeoff": SITE,
    "tradeoff_picture": {"plans": truebed.tradeoff(**SITE)},
    "union_jack": {
        **dict.fromkeys(["ne_nw", "ne_se", "se_sw", "nw_sw", "e_w", "n_s"], [0, 0]),
        "nw_se": [0, 1],
        "ne_sw": [0, 1],
        "step": 100,
    },
    "Budget": {},
    "Limits": {"overall": 1},
    "Shim": {"thickness": 1},
}
STRANGE = [
    None,
    object(),
    "x",
    "",
    "x\ud800",
    b"x",
    -1,
    2**70,
    float("nan"),
    float("inf"),
    1j,
    True,
    [],
    [[]],
    [1, 2],
    ["x\ud800", "x\ud801"],
    [None],
    {},
    {"x\ud800": 1},
    {1: 2},
    {"A": None},
    lambda: 1,
    truebed.Shim(1),
    truebed.Limits(1),
    READINGS[0],
    READINGS,
    truebed.adjust(READINGS),
    truebed.plan_shims(**SITE),
    range(3),
    iter([1, 2]),
]


# What a document is, is seen where it is run.
DOCUMENTS = ["job_page", "job_picture", "job_sheet", "next_pass", "run_job"]
MADE = ["Budget", "FloorModel", "LaidSlab", "Limits", "Shim", "Slab"]
COLUMNS = ["arrow.plan", "arrow.run_jobs"]


def names():
    return [name for name in truebed.__all__ if inspect.isroutine(getattr(truebed, name))]


def test_every_public_call_is_here():
    assert {*names(), *MADE, *COLUMNS} == set(CALLS)


@pytest.mark.filterwarnings("ignore:pieces is now components:DeprecationWarning")
@pytest.mark.parametrize("name", CALLS)
def test_strange_arguments(name):
    call, good = operator.attrgetter(name)(truebed), CALLS[name]
    if name not in DOCUMENTS + COLUMNS:
        call(**good)
    for argument in inspect.signature(call).parameters:
        # What a progress raises is the caller's own.
        for strange in STRANGE if argument != "progress" else STRANGE[:3]:
            try:
                call(**{**good, argument: strange})
            except truebed.Error as error:
                assert error.problems and all(it.field for it in error.problems), (argument, strange)
            except Exception as error:
                raise AssertionError(f"{argument}={strange!r}: {error!r}") from error


def test_strange_arguments_of_methods():
    heights, plan = truebed.adjust(READINGS), truebed.plan_shims(**SITE)
    laid, floor = truebed.LaidSlab(**PLATE), truebed.FloorModel(ff=20, fl=15)
    for strange in STRANGE:
        for call in [
            heights.without,
            plan.picture,
            plan.settlement_mm,
            truebed.Limits.preset,
            laid.bear,
            laid.bear_many,
            laid.bear([0] * 4).at,
            floor.sigma_of_difference_mm,
            truebed.FloorModel.of,
            lambda it: floor.sample(it, 2),
            lambda it: floor.sample([[0, 0], [1, 1]], it),
            lambda it: truebed.Passage.door(it, 900, 2000),
            lambda it: truebed.Passage.door("door", it, 2000),
            lambda it: truebed.Passage.corner("hall", it, 2000),
            lambda it: next_readings(it),
        ]:
            try:
                call(strange)
            except truebed.Error as error:
                assert error.problems


def next_readings(readings):
    """A document of the next pass with these readings."""
    return truebed.next_pass('{"version": 1}', readings)


def test_ids_that_are_no_unicode_are_no_point():
    with pytest.raises(truebed.InputError, match="without lone surrogates"):
        truebed.adjust([truebed.rise("x\ud800", "x\ud801", 1)])
    with pytest.raises(truebed.InputError, match="without lone surrogates"):
        truebed.plan_shims({"x\ud800": (0, 0), "B": (1, 0)}, [0, 0], {1: 1}, 1)
    with pytest.raises(truebed.InputError, match="without lone surrogates"):
        truebed.Limits(named=[(["x\ud800"], 1)])


def strings(value, place=()):
    """The places of all strings and names of fields of a document, those of a list once."""
    if isinstance(value, dict):
        for name, item in value.items():
            yield (*place, name), True
            yield from strings(item, (*place, name))
    elif isinstance(value, list) and value:
        yield from strings(value[0], (*place, 0))
    elif isinstance(value, str):
        yield place, False


def spoiled(document, place, is_name):
    changed = json.loads(json.dumps(document))
    *outer, last = place
    inner = changed
    for part in outer:
        inner = inner[part]
    if is_name:
        inner[f"{last}\ud800"] = inner.pop(last)
    else:
        inner[last] += "\ud800"
    return changed


@pytest.mark.parametrize("name", ["visit", "verdict-second-visit", "next-pass"])
def test_no_string_of_a_document_may_hold_a_lone_surrogate(name):
    vectors = Path(__file__).parents[1] / "vectors/good"
    paths = sorted(vectors.glob(f"*{name}*.job.json"))
    assert paths, name
    document = json.loads(paths[0].read_bytes())
    places = list(strings(document))
    assert len(places) > 30
    for place, is_name in places:
        changed = spoiled(document, place, is_name)
        for given in (changed, json.dumps(changed), json.dumps(changed, ensure_ascii=False)):
            with pytest.raises(truebed.InputError) as caught:
                truebed.run_job(given)
            # What is said of it can be written anywhere.
            assert str(caught.value).encode().decode() == str(caught.value), place


def test_a_list_of_places_with_heights_by_id_is_refused():
    """Which is whose cannot be told: once they were paired in silence, by their order."""
    xy, by_id = [[0, 0], [1000, 0], [0, 500]], {"B": 1, "A": 0, "C": 0}
    for call in [
        lambda: truebed.fit_plane(xy, by_id),
        lambda: truebed.plan_shims(xy, by_id, {1: 1}, 1),
        lambda: truebed.check(by_id, 2, xy=xy),
        lambda: truebed.plan_shims(xy, truebed.adjust(READINGS), {1: 1}, 5),
    ]:
        with pytest.raises(truebed.InputError, match="values in order, since the points of xy have no ids"):
            call()


def test_a_factor_is_checked_at_once():
    with pytest.raises(truebed.InputError, match=r"Shim\(1\).loaded_factor: got 97"):
        truebed.Shim(1, 2, loaded_factor=97)


def test_heights_know_their_uncertainty():
    heights = truebed.adjust(READINGS)
    assert truebed.highest(heights) == truebed.highest(heights, covariance=heights.covariance)


def test_lifted_and_unreachable_by_id():
    plan = truebed.plan_shims(**{**SITE, "heights": [0, -2, 0, 0]})
    assert plan.lifted == ["B"]
    far = truebed.plan_shims({**XY}, [0, -50, 0, 0], {0.5: 9}, 0.5)
    assert far.unreachable == ["B"]
    assert truebed.plan_shims(list(XY.values()), [0, -2, 0, 0], {0.5: 9}, 0.5).lifted == [1]
