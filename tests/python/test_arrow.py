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


def floors(**more):
    legs = {"x_mm": [[x for x, _ in XY]] * 3, "y_mm": [[y for _, y in XY]] * 3}
    return pyarrow.table({"id": [1, 2, 3], "ff": [35.0, 12, 35], "fl": [25.0, 9, None], **legs, **more})


def test_estimates():
    stock = {3: 8, 1: 8, 0.2: 12}
    minutes = {"job": 30, "lift": 10}
    settings = dict(stock=stock, limits=0.15, jobs=200, seed=7, minutes=minutes)
    found = truebed.arrow.estimate(floors(), quantiles=[0.5, 0.95], **settings)
    rows = pyarrow.table(found).to_pylist()
    assert [row["id"] for row in rows] == [1, 2, 3]
    for row, numbers in zip(rows, [(35, 25), (12, 9)]):
        floor = truebed.FloorModel(ff=numbers[0], fl=numbers[1])
        one = truebed.estimate(floor, XY, stock, 0.15, jobs=200, seed=7, minutes=minutes)
        assert row["served"] == one.served
        assert [row["served_least"], row["served_most"]] == one.interval
        for name in ("pieces", "lifts", "thickest_mm", "minutes"):
            assert row[name] == [one.quantile(name, 0.5), one.quantile(name, 0.95)]
        assert row["cost"] is None and row["error"] is None
    assert rows[2]["error"].startswith("fl: got null") and rows[2]["served"] is None


def test_estimates_of_floor_classes_with_limits_of_each():
    data = floors(floor_class=["ACI 117 flat", "no such", None], limit_mm=[0.15, 0.15, 0.3])
    rows = pyarrow.table(truebed.arrow.estimate(data, stock={0.2: None}, jobs=50)).to_pylist()
    one = truebed.estimate(truebed.FloorModel.of("ACI 117 flat"), XY, {0.2: None}, 0.15, jobs=50)
    assert rows[0]["served"] == one.served and len(rows[0]["pieces"]) == 3
    assert "no such" in rows[1]["error"] and rows[2]["error"].startswith("floor_class: got null")


def test_what_estimates_refuse():
    with pytest.raises(truebed.InputError, match="expected a column ff"):
        truebed.arrow.estimate(floors().drop_columns(["ff"]), stock={1: 1}, limits=1)
    with pytest.raises(truebed.InputError, match=r"quantiles\[1\]: got 2"):
        truebed.arrow.estimate(floors(), stock={1: 1}, limits=1, quantiles=[0.5, 2])
    with pytest.raises(truebed.InputError, match="jobs: got 0"):
        truebed.arrow.estimate(floors(), stock={1: 1}, limits=1, jobs=0)


def test_a_short_piece_of_a_long_column():
    data = table(20_000)
    assert planned(data.slice(19_990), stock=STOCK, limits=0.1) == planned(data, stock=STOCK, limits=0.1)[-10:]


FEW_THREADS = """
import resource, sys
import numpy, pyarrow
import truebed, truebed.arrow
sys.path.insert(0, sys.argv[1])
from test_arrow import JOB, STOCK, XY, table

def all_of_it():
    plans = pyarrow.table(truebed.arrow.plan(table(300), stock=STOCK, limits=0.1))
    jobs = truebed.run_jobs([JOB] * 5)
    z = numpy.tile([[0.0, 1, 2, 4], [3, 1, 0, 1]], (20_000, 1))
    planes = truebed.fit_planes(XY, z)
    floor = truebed.FloorModel(ff=35, fl=25)
    return plans, jobs, planes, truebed.estimate(floor, XY, STOCK, 0.15, jobs=50)

import threading
before = all_of_it()
# A user who has as many threads as they may: no further one can be started.
resource.setrlimit(resource.RLIMIT_NPROC, (0, 0))
import os
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    threading.Thread(target=int).start()
except RuntimeError:
    print(all_of_it() == before)
else:
    print("threads can be started")
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="RLIMIT_NPROC")
def test_where_no_thread_can_be_started_the_calling_one_works():
    done = subprocess.run(
        [sys.executable, "-c", FEW_THREADS, str(Path(__file__).parent)],
        capture_output=True,
        text=True,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )
    if done.stdout == "threads can be started\n":
        pytest.skip("this user may start threads whatever the limit")
    assert done.stdout == "True\n", done.stderr


MANY_ROWS = """
import resource, sys
import pyarrow, truebed.arrow
rows, most = 8192, int(sys.argv[1])
batch = pyarrow.table({
    "x_mm": [[0.0, 900]] * rows, "y_mm": [[0.0, 0]] * rows,
    "height_mm": [[0.0, -0.1 * (at % 30)] for at in range(rows)],
}).to_batches()[0]
source = (batch for _ in range(most // rows))
reader = pyarrow.RecordBatchReader.from_batches(batch.schema, source)
plans = truebed.arrow.plan(reader, stock={1: None, 0.1: None}, limits=0.05)
done = sum(batch.num_rows for batch in pyarrow.RecordBatchReader.from_stream(plans))
assert done == most // rows * rows, done
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="ru_maxrss in kB")
def test_the_most_memory_does_not_grow_with_the_rows():
    """Of a process of its own. `benches/arrow.py` goes on to ten million rows; here as many as
    TRUEBED_ROWS says."""
    def most(rows):
        command = [sys.executable, "-c", MANY_ROWS, str(rows)]
        return int(subprocess.run(command, capture_output=True, text=True, check=True).stdout)

    rows = int(os.environ.get("TRUEBED_ROWS", 200_000))
    few, many = most(rows // 10), most(rows)
    assert many - few < 16 << 10, (few, many)
