"""Pictures, and results as plain values."""

import io
import json
import pickle
import shutil
import struct
import subprocess
import xml.etree.ElementTree as ElementTree

import numpy as np
import pandas
import pytest

import truebed

XY = [[0, 0], [2000, 0], [2000, 900], [0, 900]]
HEIGHTS = [0, -1.25, -0.5, -0.8]
STOCK = {"0.020 in": 9, "0.1 mm": 20}
PLAN = truebed.plan_shims(XY, HEIGHTS, STOCK, 0.1)


def words(svg):
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    return " ".join(" ".join(root.itertext()).split())


@pytest.mark.parametrize("units", ["both", "metric", "inch"])
def test_a_plan_draws_itself(units):
    svg = PLAN.picture(units)
    assert svg == PLAN.picture(units) == pickle.loads(pickle.dumps(PLAN)).picture(units)
    text = words(svg)
    assert "<script" not in svg
    for caution in truebed.CAUTIONS:
        assert caution in text
    assert ("0.020 in" in text) == (units != "metric")
    assert ("0.508 mm" in text) == (units != "inch")
    assert PLAN._repr_svg_() == PLAN.picture()


def test_what_is_long_is_not_drawn_by_itself():
    plan = truebed.plan_shims([[x, 0] for x in range(61)], [0] * 61, {1: None}, 0.5)
    assert plan._repr_svg_() is None
    words(plan.picture())


def test_units():
    with pytest.raises(truebed.InputError, match="^units: got 'cm', expected|^units: got \"cm\""):
        PLAN.picture("cm")
    with pytest.raises(truebed.InputTypeError, match="units"):
        truebed.tradeoff_picture([PLAN], 3)
    with pytest.raises(truebed.InputError, match="picture"):
        type(PLAN._drawing)("{}")


def test_trade_off_and_job():
    plans = truebed.tradeoff(XY, HEIGHTS, STOCK, 0.3)
    text = words(truebed.tradeoff_picture(plans))
    for plan in plans:
        assert f"{plan.pieces} pieces: ±{plan.worst_mm:.3f} mm" in text
    words(truebed.tradeoff_picture([]))
    job = {
        "version": 1,
        "title": "<b onload='x'>",
        "units": "metric",
        "stock": [{"thickness": "1 mm"}],
        "points": [
            {"id": name, "x": f"{x} mm", "y": f"{y} mm", "role": "leg"}
            for name, (x, y) in zip(["A & B", "</text>", "C", "D"], XY)
        ],
        "readings": [
            {"kind": "height", "point": name, "value": f"{height} mm"}
            for name, height in zip(["A & B", "</text>", "C", "D"], HEIGHTS)
        ],
        "legs": {"limits": {"overall": "0.6 mm"}},
    }
    text = words(truebed.job_picture(job))
    assert "A & B" in text and "</text>" in text and "<b onload" in text


def test_an_addition_and_a_next_pass_draw_themselves():
    short = truebed.shortfall(XY, HEIGHTS, {"0.020 in": 1}, 0.2)
    assert "0.020 in" in words(short.addition.plan.picture("inch"))
    assert "NO PLAN" in words(short.flattest.picture())
    again = truebed.plan_shims(XY, PLAN.tops_mm, STOCK, 0.1, placed=PLAN, stock_is="left")
    assert "Lift again: none" in words(again.picture())


def test_a_survey_draws_itself():
    readings = [
        truebed.rise("A", "B", 1.0, sigma=0.01),
        truebed.rise("B", "C", 1.0, sigma=0.01),
        truebed.rise("A", "C", 2.0, sigma=0.01),
        truebed.rise("A", "C", 2.5, sigma=0.01),
    ]
    heights = truebed.adjust(readings)
    assert heights.suspects
    text = words(heights.picture())
    assert "The other readings speak against A→C, rise, 2.500 mm (0.0984 in)" in text and "SUSPECT" in text
    assert "2.500 mm" not in words(heights.picture("inch", narrow=True))
    assert heights._repr_svg_() == heights.picture()
    assert "left out" in words(heights.without(3).picture())
    assert "nothing checks" in words(truebed.adjust(readings[:2]).picture()).lower()
    assert json.loads(json.dumps(heights.to_dict()))["ids"] == ["A", "B", "C"]


def test_results_as_plain_values():
    values = PLAN.to_dict()
    assert json.loads(json.dumps(values)) == values
    assert values["stacks"] == PLAN.stacks and values["tops_mm"] == PLAN.tops_mm.tolist()
    verdict = truebed.check(PLAN.tops_mm, 0.1)
    assert verdict.to_dict()["findings"][0]["limit"] == "overall"
    frame = PLAN.to_frame()
    assert isinstance(frame, pandas.DataFrame) and frame.index.name == "support"
    assert frame["lift_mm"].tolist() == PLAN.lifts_mm.tolist()


def _by_cairo(svg):
    cairosvg = pytest.importorskip("cairosvg", reason="CairoSVG is not installed here")
    return cairosvg.svg2png(bytestring=svg.encode())


def _by_librsvg(svg):
    if shutil.which("rsvg-convert") is None:
        pytest.skip("rsvg-convert (librsvg) is not installed here")
    return subprocess.run(["rsvg-convert"], input=svg.encode(), capture_output=True, check=True).stdout


def _by_resvg(svg):
    resvg = pytest.importorskip("resvg_py", reason="resvg_py is not installed here")
    # It drops text unless it is told of a font.
    fonts = {"font_dirs": ["/usr/share/fonts"], "font_family": "DejaVu Sans", "sans_serif_family": "DejaVu Sans"}
    return bytes(resvg.svg_to_bytes(svg_string=svg, **fonts))


ROOM = [[0, 0], [7000, 0], [7000, 3700], [4800, 3700], [4800, 5200], [0, 5200]]
READINGS = [
    truebed.rise("A", "B", 1.0, sigma=0.01),
    truebed.rise("B", "C", 1.0, sigma=0.01),
    truebed.rise("A", "C", 2.5, sigma=0.01),
]
KINDS = {
    "plan": lambda narrow: PLAN.picture(narrow=narrow),
    "trade-off": lambda narrow: truebed.tradeoff_picture(
        truebed.tradeoff(XY, HEIGHTS, STOCK, 0.3), narrow=narrow
    ),
    "survey": lambda narrow: truebed.adjust(READINGS).picture(narrow=narrow),
    "room": lambda narrow: truebed.room_picture(ROOM, (2540, 1270), narrow=narrow),
}
DRAW = [_by_cairo, _by_librsvg, _by_resvg]


def is_png(drawn, narrow):
    # Width and height stand at the head of a PNG: nothing is scaled away.
    width, height = struct.unpack(">II", drawn[16:24])
    return drawn.startswith(b"\x89PNG") and width == (380 if narrow else 720) and height > 100


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("draw", DRAW)
@pytest.mark.parametrize("narrow", [False, True])
def test_renderers_draw_it(draw, kind, narrow):
    """What is drawn is more than paper: its PNG is many times that of the paper alone."""
    svg = KINDS[kind](narrow)
    head, rest = svg.split('<rect class="paper"', 1)
    paper = head + '<rect class="paper"' + rest.split("/>", 1)[0] + "/></svg>"
    drawn, bare = draw(svg), draw(paper)
    assert is_png(drawn, narrow) and len(drawn) > 5 * len(bare)


def _grey(png):
    """A PNG in greys, averaged over squares of 20 pixels: fonts differ, what stands where does not."""
    image = pytest.importorskip("PIL.Image", reason="Pillow is not installed here")
    grey = np.asarray(image.open(io.BytesIO(png)).convert("L"), dtype=float)
    rows, columns = (side // 20 for side in grey.shape)
    return grey[: rows * 20, : columns * 20].reshape(rows, 20, columns, 20).mean(axis=(1, 3))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("draw", DRAW[1:])
@pytest.mark.parametrize("narrow", [False, True])
def test_renderers_draw_the_same(draw, kind, narrow):
    svg = KINDS[kind](narrow)
    one, other = _grey(_by_cairo(svg)), _grey(draw(svg))
    rows = min(len(one), len(other))
    off = np.abs(one[:rows] - other[:rows])
    assert off.mean() < 8 and np.corrcoef(one[:rows].ravel(), other[:rows].ravel())[0, 1] > 0.8
