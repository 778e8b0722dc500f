"""Columns in and out, through the libraries that speak the Arrow PyCapsule interface."""

import gc
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import polars
import pyarrow
import pytest

import truebed
import truebed.arrow

STOCK = {"1 mm": 20, 0.5: 20, "0.1 mm": None}
XY = [(0, 0), (2100, 0), (2100, 950), (0, 950)]


def heights(rows, seed=1):
    drawn = np.random.default_rng(seed).uniform(-3, 0, (rows, 4)).round(3)
    return drawn.tolist()


def table(rows, **more):
    return pyarrow.table(
        {
            "id": [f"table {at}" for at in range(rows)],
            "x_mm": [[x for x, _ in XY]] * rows,
            "y_mm": [[y for _, y in XY]] * rows,
            "height_mm": heights(rows),
            **more,
        },
    )


def planned(data, **settings):
    return pyarrow.table(truebed.arrow.plan(data, **settings)).to_pylist()


def test_each_row_has_the_plan_that_plan_shims_gives():
    rows = planned(table(50), stock=STOCK, limits=0.1)
    assert [row["id"] for row in rows] == [f"table {at}" for at in range(50)]
    for row, z in zip(rows, heights(50)):
        plan = truebed.plan_shims(XY, z, STOCK, 0.1)
        assert (row["status"], row["pieces"], row["worst_mm"]) == (plan.status, plan.pieces, plan.worst_mm)
        assert row["stacks"] == plan.stacks and row["error"] is None


class Array:
    """What speaks the protocol of one batch only."""

    def __init__(self, batch):
        self._batch = batch

    def __arrow_c_array__(self, requested_schema=None):
        return self._batch.__arrow_c_array__(requested_schema)


@pytest.mark.parametrize(
    "give",
    [
        lambda data: data,
        lambda data: polars.from_arrow(data),
        lambda data: data.to_reader(max_chunksize=7),
        lambda data: data.combine_chunks().to_batches()[0],
        lambda data: Array(data.combine_chunks().to_batches()[0]),
        lambda data: data.cast(
            pyarrow.schema(
                [("id", pyarrow.large_string())]
                + [(name, pyarrow.large_list(pyarrow.float64())) for name in data.column_names[1:]]
            )
        ),
        lambda data: data.cast(
            pyarrow.schema(
                [("id", pyarrow.string())]
                + [(name, pyarrow.list_(pyarrow.float64(), 4)) for name in data.column_names[1:]]
            )
        ),
        lambda data: data.slice(0, 10).to_batches()[0].slice(0, 10),
    ],
    ids=["table", "polars", "reader", "batch", "array", "large", "fixed", "slice"],
)
def test_layouts(give):
    data = table(20)
    given = give(data)
    rows = planned(given, stock=STOCK, limits=0.1)
    assert rows == planned(data, stock=STOCK, limits=0.1)[: len(rows)]


def test_polars_takes_what_comes_out():
    frame = polars.DataFrame(truebed.arrow.plan(polars.from_arrow(table(3)), stock=STOCK, limits=0.1))
    assert frame["status"].to_list() == ["proven"] * 3


def test_a_bad_row_is_a_value():
    data = table(6).to_pylist()
    data[1]["height_mm"][2] = float("nan")
    data[2]["x_mm"] = [0, 1]
    data[3]["y_mm"] = None
    data[4]["height_mm"] = [0, -1, None, 0]
    rows = planned(pyarrow.Table.from_pylist(data), stock=STOCK, limits=0.1)
    assert [row["error"] is None for row in rows] == [True, False, False, False, False, True]
    assert rows[1]["error"].startswith("height_mm[2]: got NaN mm")
    assert rows[2]["error"] == "height_mm: got 4 values, expected as many as x_mm (2) and y_mm (4)"
    assert rows[3]["error"] == "y_mm: got null, expected a list"
    assert rows[4]["error"] == "height_mm[2]: got null, expected a number of mm"
    for row in rows[1:5]:
        assert row["id"] and row["status"] is row["pieces"] is row["worst_mm"] is row["stacks"] is None


def test_stock_and_limits_as_columns():
    data = table(
        3,
        stock_mm=[[1, 0.5, 0.1], [0.5], [1, 0.5]],
        stock_count=pyarrow.array([[20, 20, None], [2], [1.5, 1]], pyarrow.list_(pyarrow.float64())),
        limit_mm=pyarrow.array([0.1, 0.3, 0.1]),
    )
    rows = planned(data)
    plan = truebed.plan_shims(XY, heights(3)[0], {1: 20, 0.5: 20, 0.1: None}, 0.1)
    assert rows[0]["stacks"] == plan.stacks
    assert rows[1]["status"] == "infeasible"
    assert rows[2]["error"].startswith("stock_count[0]: got 1.5, expected null or a whole number")


@pytest.mark.parametrize("threads", [1, 2, 5])
def test_the_same_on_any_number_of_threads(threads):
    data = table(300)
    assert planned(data, stock=STOCK, limits=0.1, threads=threads) == planned(
        data.to_reader(max_chunksize=11), stock=STOCK, limits=0.1
    )


def test_what_is_refused():
    with pytest.raises(truebed.InputError, match="data: got columns|expected a column height_mm"):
        truebed.arrow.plan(table(1).drop_columns(["height_mm"]), stock=STOCK, limits=1)
    with pytest.raises(truebed.InputError, match="expected a column stock_mm"):
        truebed.arrow.plan(table(1), limits=1)
    with pytest.raises(truebed.InputTypeError, match="expected a table with __arrow_c_stream__"):
        truebed.arrow.plan([1, 2], stock=STOCK, limits=1)
    with pytest.raises(truebed.InputError, match="threads: got 0"):
        truebed.arrow.plan(table(1), stock=STOCK, limits=1, threads=0)
    with pytest.raises(truebed.InputError, match="kinds that may go under all"):
        truebed.arrow.plan(table(1), stock=[truebed.Shim(1, under=[0])], limits=1)
    text = table(1).set_column(3, "height_mm", pyarrow.array([["x"]]))
    with pytest.raises(Exception, match="height_mm: got .*, expected lists of numbers"):
        planned(text, stock=STOCK, limits=1)


JOB = {
    "version": 1,
    "stock": [{"thickness": "0.5 mm", "count": 4}],
    "points": [
        {"id": id, "x": x, "y": y, "role": "leg"}
        for id, x, y in [("A", "0 mm", "0 mm"), ("B", "2 m", "0 mm"), ("C", "0 mm", "900 mm")]
    ],
    "readings": [
        {"kind": "height", "point": id, "value": value}
        for id, value in [("A", "0 mm"), ("B", "-1.1 mm"), ("C", "-0.5 mm")]
    ],
    "legs": {"limits": {"overall": "0.1 mm"}},
}


def test_jobs():
    good = json.dumps(JOB)
    data = pyarrow.table({"id": [1, 2, 3, 4], "job": [good, "{}", None, good]})
    for given in [data, polars.from_arrow(data)]:
        rows = pyarrow.table(truebed.arrow.run_jobs(given)).to_pylist()
        assert [row["id"] for row in rows] == [1, 2, 3, 4]
        assert rows[0]["job"] == rows[3]["job"] == truebed.run_job(good)
        assert rows[1]["job"] is rows[2]["job"] is None
        assert rows[1]["error"].startswith("version: got none")
        assert rows[2]["error"] == "job: got null, expected the text of a job"
    with pytest.raises(truebed.InputError, match="expected a column document"):
        truebed.arrow.run_jobs(data, column="document")


def test_a_result_can_be_read_again_where_its_source_can():
    plans = truebed.arrow.plan(table(5), stock=STOCK, limits=0.1)
    assert pyarrow.table(plans) == pyarrow.table(plans)


def batches(rows, of):
    batch = table(of).combine_chunks().to_batches()[0]
    return pyarrow.RecordBatchReader.from_batches(
        batch.schema, (batch for _ in range(rows // of))
    )


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_memory_is_flat():
    def resident():
        pages = Path("/proc/self/statm").read_text().split()[1]
        return int(pages) * os.sysconf("SC_PAGE_SIZE")

    def read(rows):
        plans = truebed.arrow.plan(batches(rows, 1000), stock={0.5: None, 0.1: None}, limits=0.2)
        reader = pyarrow.RecordBatchReader.from_stream(plans)
        most = 0
        for batch in reader:
            most = max(most, resident())
        gc.collect()
        return most

    read(2000)
    few = read(2000)
    many = read(20_000)
    assert many - few < 4 << 20, (few, many)


def test_importing_it_brings_no_library_in():
    code = "import sys, truebed.arrow; print(*{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"pyarrow", "polars", "distributed", "pandas"} & set(done.stdout.split())
