"""One table of readings, given in every way, gives the same readings: as CSV in each dialect, as a
DataFrame of pandas, as rows of other libraries, as the readings of a job."""

import io
import json

import numpy as np
import pandas
import pytest

import truebed

ROWS = [
    {"kind": "height", "point": "A", "value": "1203 mm", "setup": "S", "instrument": "water-level"},
    {"kind": "height", "point": "B", "value": "0.5 in", "sigma": "0.1 mm"},
    {"kind": "rise", "a": "A", "b": "B", "value": "-2.5 mm", "note": "read twice"},
    {
        "kind": "bubble",
        "a": "A",
        "b": "C",
        "divisions": "3;2.5",
        "sensitivity": "0.02 mm/m",
        "base": "500 mm",
        "turned": "yes",
    },
    {"kind": "slope", "a": "A", "b": "C", "value": "0.05 deg", "span": "1 m", "level": "L"},
    {"kind": "gap", "point": "M", "a": "A", "b": "B", "value": "0.3 mm", "at": "0.5"},
    {"kind": "leg-gap", "point": "B", "value": "0.4 mm"},
    {"kind": "slate-gap", "point": "C", "value": "0.1 mm"},
]
COLUMNS = list(dict.fromkeys(name for row in ROWS for name in row))
READINGS = [
    truebed.height("A", "1203 mm", setup="S", instrument="water-level"),
    truebed.height("B", "0.5 in", "0.1 mm"),
    truebed.rise("A", "B", "-2.5 mm", note="read twice"),
    truebed.bubble("A", "C", [3, 2.5], "0.02 mm/m", base="500 mm", turned=True),
    truebed.slope("A", "C", "0.05 deg", span="1 m", level="L"),
    truebed.gap("M", "A", "B", "0.3 mm", at=0.5),
    truebed.leg_gap("B", "0.4 mm"),
    truebed.slate_gap("C", "0.1 mm"),
]


def csv(separator=",", names=str, cells=str):
    def cell(row, name):
        text = cells(row.get(name, ""))
        return f'"{text}"' if separator in text else text

    lines = [[names(name) for name in COLUMNS]]
    lines += [[cell(row, name) for name in COLUMNS] for row in ROWS]
    return "\n".join(separator.join(line) for line in lines) + "\n"


class Polars:
    """What of a polars DataFrame is used."""

    def __init__(self, rows):
        self._rows = [{name: row.get(name) for name in COLUMNS} for row in rows]
        self.columns = COLUMNS

    def iter_rows(self, *, named):
        assert named
        return iter(self._rows)


class Arrow:
    """What of a pyarrow Table is used."""

    def __init__(self, rows):
        self._rows = [{name: row.get(name) for name in COLUMNS} for row in rows]
        self.column_names, self.columns = COLUMNS, []

    def to_pylist(self):
        return self._rows


def adjusted(readings):
    """The readings that a call takes, by the survey that it makes of them."""
    return json.loads(truebed._survey.survey(readings).__getnewargs__()[0])["readings"]


EXPECTED = adjusted(READINGS)


@pytest.mark.parametrize(
    "text",
    [
        csv(),
        csv(";"),
        csv("\t"),
        csv(names=str.upper),
        csv(names=str.capitalize),
        csv(";", cells=lambda text: text.replace(".", ",")),
        csv(cells=lambda text: text.replace("leg-gap", "Leg_Gap").replace("water-level", "water level")),
        csv(cells=lambda text: text.replace("3;2.5", "3 2.5")),
        "# the morning\n" + csv(),
    ],
)
def test_csv(text):
    assert truebed.readings_from_csv(text) == READINGS
    assert truebed.readings_from_csv(io.StringIO(text)) == READINGS


@pytest.mark.parametrize("table", [pandas.DataFrame(ROWS), Polars(ROWS), Arrow(ROWS)], ids=type)
def test_frames(table):
    assert adjusted(table) == EXPECTED


def test_a_csv_that_pandas_read():
    frame = pandas.read_csv(io.StringIO(csv()))
    assert adjusted(frame) == EXPECTED


def test_job():
    rows = [dict(row) for row in ROWS]
    rows[3].update(divisions=[3, 2.5], turned=True)
    rows[5].update(at=0.5)
    survey = json.dumps({"readings": rows})
    assert json.loads(truebed._truebed.Survey(survey).__getnewargs__()[0])["readings"] == EXPECTED


def test_numbers_in_a_frame_are_millimetres():
    frame = pandas.DataFrame(
        [
            {"Kind": "rise", "a": "A", "b": "B", "value": -2.5, "sigma": np.float64(0.1)},
            {"Kind": "bubble", "a": "A", "b": "B", "divisions": [1, 2], "sensitivity": 0.02, "turned": True},
        ]
    )
    told = adjusted(frame)
    assert told[0] == {"kind": "rise", "a": "A", "b": "B", "value": "-2.5 mm", "sigma": "0.1 mm"}
    assert (told[1]["divisions"], told[1]["turned"]) == ([1.0, 2.0], True)


@pytest.mark.parametrize(
    "row, told",
    [
        ({"kind": "rise", "a": "A", "b": "B"}, "value: got nothing, expected a value, which a rise needs"),
        ({"kind": "fall"}, 'kind: got "fall", expected height, rise, bubble, slope, gap, leg-gap or slate-gap'),
        (
            {"kind": "rise", "a": "A", "b": "B", "value": "1 mm", "setup": "S"},
            'setup: got "S", expected nothing, since a rise has none',
        ),
        (
            {"kind": "rise", "a": "A", "b": "B", "value": "1"},
            'value: got "1", expected a number with a unit',
        ),
        (
            {"kind": "bubble", "a": "A", "b": "B", "divisions": "1;;2", "sensitivity": "1 mm/m"},
            'divisions: got "1;;2", expected numbers parted by semicolons',
        ),
        (
            {"kind": "height", "point": "A", "value": "1 mm", "setup": "S", "instrument": "ruler"},
            'instrument: got "ruler", expected staff, water-level, laser or indicator',
        ),
    ],
)
def test_what_is_wrong_is_worded_the_same(row, told):
    for table in [pandas.DataFrame([row]), Polars([row]), Arrow([row])]:
        with pytest.raises(truebed.InputError) as caught:
            truebed.adjust(table)
        assert str(caught.value).startswith(f"readings[0].{told}")
    text = ",".join(row) + "\n" + ",".join(row.values()) + "\n"
    with pytest.raises(truebed.InputError) as caught:
        truebed.readings_from_csv(text)
    assert str(caught.value).startswith(f"line 2, {told}")


def test_columns_are_told_apart():
    with pytest.raises(truebed.InputError, match="colour: got an unknown column"):
        truebed.adjust(pandas.DataFrame({"kind": ["rise"], "colour": ["red"]}))
    with pytest.raises(truebed.InputError, match='"KIND", expected each column once'):
        truebed.readings_from_csv("kind,KIND\n")
    with pytest.raises(truebed.InputError, match="expected columns of these"):
        truebed.readings_from_csv("kind,colour\n")


XY = {"A": (0, 0), "B": (900, 0), "C": (0, 900)}


def test_frames_as_points():
    by_index = pandas.DataFrame.from_dict(XY, "index", columns=["x", "y"])
    by_column = by_index.rename_axis("id").reset_index()
    plan = truebed.plan_shims(XY, {"B": -1.1, "A": 0, "C": 0}, {0.5: 4}, 0.2)
    for xy in [by_index, by_column]:
        assert truebed.plan_shims(xy, {"B": -1.1, "A": 0, "C": 0}, {0.5: 4}, 0.2) == plan


def test_a_series_is_a_stock():
    heights = {"A": 0, "B": -1.1, "C": 0}
    plan = truebed.plan_shims(XY, heights, {"0.5 mm": 4, "0.1 mm": None}, 0.2)
    for stock in [
        pandas.Series({"0.5 mm": 4, "0.1 mm": np.nan}),
        pandas.Series({"0.5 mm": 4, "0.1 mm": None}, dtype=object),
    ]:
        assert truebed.plan_shims(XY, heights, stock, 0.2) == plan
    assert truebed.plan_shims(XY, heights, pandas.Series({0.5: 4}), 0.2).used == [2]
    with pytest.raises(truebed.InputTypeError, match="stock"):
        truebed.plan_shims(XY, heights, pandas.Series({0.5: 4.5}), 0.2)


class Quantity:
    """What of a quantity of Pint is used; NumPy would drop its unit."""

    FACTORS = {"mm": 1.0, "inch": 25.4, "m": 1000.0, "mm/m": 0.001, "deg": np.pi / 180}
    SLOPES = {"mm/m", "deg"}

    def __init__(self, values, unit):
        self.magnitude, self.units = np.asarray(values, float)[()], unit

    @property
    def ndim(self):
        return np.ndim(self.magnitude)

    def to(self, unit):
        if unit not in self.FACTORS or (unit in self.SLOPES) != (self.units in self.SLOPES):
            raise ValueError(f"{self.units} is no {unit}")
        return Quantity(self.magnitude * self.FACTORS[self.units] / self.FACTORS[unit], unit)

    def __array__(self, dtype=None, copy=None):
        return np.asarray(self.magnitude)

    def __float__(self):
        return float(self.magnitude)


@pytest.fixture(params=["fake", "pint"])
def quantity(request):
    if request.param == "fake":
        return Quantity
    return pytest.importorskip("pint").UnitRegistry().Quantity


@pytest.mark.filterwarnings("error")
def test_quantities_keep_their_unit(quantity):
    xy = [[0, 0], [1000, 0], [1000, 500]]
    z = [0, 2.54, 5.08]
    plane = truebed.fit_plane(xy, z)
    given = [
        quantity([0, 0.1, 0.2], "inch"),
        [quantity(0, "inch"), quantity(0.1, "inch"), quantity(5.08, "mm")],
        [0, quantity(0.1, "inch"), "0.2 in"],
    ]
    for heights in given:
        assert truebed.fit_plane(xy, heights).flatness_mm == pytest.approx(plane.flatness_mm, abs=1e-9)
        assert truebed.fit_plane(xy, heights).slope_x == pytest.approx(plane.slope_x)
    metres = [[0, 0], [1, 0], [1, 0.5]]
    for places in [
        quantity(metres, "m"),
        [quantity(place, "m") for place in metres],
        [[quantity(x, "m"), quantity(y, "m")] for x, y in metres],
    ]:
        assert truebed.fit_plane(places, z).slope_x == pytest.approx(plane.slope_x)
    assert truebed.parse_length(quantity(0.1, "inch")) == 2.54
    assert truebed.rise("A", "B", quantity(0.1, "inch")) == truebed.rise("A", "B", 2.54)
    plan = truebed.plan_shims(xy, given[0], {quantity(0.1, "inch"): 5}, quantity(0.1, "mm"))
    assert plan.stacks == truebed.plan_shims(xy, z, {2.54: 5}, 0.1).stacks == [[2.54, 2.54], [2.54], []]


def test_slopes_keep_their_unit(quantity):
    bubble = truebed.bubble("A", "B", 3, quantity(0.02, "mm/m"))
    assert bubble == truebed.bubble("A", "B", 3, "0.02 mm/m")
    slope = truebed.adjust([truebed.slope("A", "B", quantity(0.05, "deg"), span=quantity(1, "m"))])
    assert slope.mm[1] - slope.mm[0] == pytest.approx(0.8727, abs=1e-4)
    row = {"kind": "bubble", "a": "A", "b": "B", "divisions": 3, "base": quantity(1, "m")}
    frame = pandas.DataFrame([row | {"sensitivity": quantity(0.02, "mm/m")}])
    assert adjusted(frame) == adjusted([truebed.bubble("A", "B", 3, "0.02 mm/m", base="1 m")])
    for refused in [lambda: truebed.bubble("A", "B", 3, quantity(0.02, "mm")),
                    lambda: truebed.rise("A", "B", quantity(0.02, "deg")),
                    lambda: truebed.adjust(pandas.DataFrame([row | {"sensitivity": quantity(1, "mm")}]))]:
        with pytest.raises(truebed.Error):
            refused()


def test_what_is_no_length_is_refused(quantity):
    xy, kg = [[0, 0], [1000, 0], [1000, 500]], "kilogram"
    with pytest.raises(truebed.InputError, match=f"^z: got an array in {kg}, expected lengths"):
        truebed.fit_plane(xy, quantity([0, 1, 2], kg))
    with pytest.raises(truebed.InputError, match=rf"^z\[1\]: got a quantity in {kg}, expected lengths"):
        truebed.fit_plane(xy, [0, quantity(1, kg), 2])
    with pytest.raises(truebed.Error, match="^value: .*expected a length"):
        truebed.rise("A", "B", quantity(1, kg))
    told = "weights: got an array in m.*, expected plain numbers"
    with pytest.raises(truebed.InputTypeError, match=told):
        truebed.fit_plane(xy, [0, 1, 2], weights=quantity([1, 1, 1], "mm"))


def test_limits_by_the_name_of_a_preset():
    preset = truebed.Limits.preset("WPA 2001")
    xy, heights = list(XY.values()), [0, 0, 0]
    assert truebed.check(heights, "WPA 2001", xy=xy) == truebed.check(heights, preset, xy=xy)
