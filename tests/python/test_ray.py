"""Ray needs no adapter: its batches are tables of pyarrow. Skipped where Ray is not installed."""

import numpy as np
import pyarrow
import pyarrow.parquet
import pytest

import truebed.arrow

ray = pytest.importorskip("ray")
pytest.importorskip("ray.data")

# Ray warns of its own.
pytestmark = pytest.mark.filterwarnings("ignore")

SETTINGS = {"stock": {"1 mm": 20, "0.1 mm": None}, "limits": "0.1 mm"}


def plans(batch):
    # One thread: Ray has a worker for each core.
    return pyarrow.table(truebed.arrow.plan(batch, threads=1, **SETTINGS))


def test_batches_of_ray(tmp_path):
    drawn = np.random.default_rng(3)
    table = pyarrow.table(
        {
            "id": range(60),
            "x_mm": [[0.0, 2100, 2100, 0]] * 60,
            "y_mm": [[0.0, 0, 950, 950]] * 60,
            "height_mm": drawn.uniform(-3, 0, (60, 4)).round(3).tolist(),
        }
    )
    (tmp_path / "in").mkdir()
    for part in range(3):
        path = tmp_path / f"in/part-{part}.parquet"
        pyarrow.parquet.write_table(table.slice(20 * part, 20), path)
    ray.init(num_cpus=2, include_dashboard=False, log_to_driver=False, logging_level="error")
    try:
        read = ray.data.read_parquet(str(tmp_path / "in"))
        read.map_batches(plans, batch_format="pyarrow").write_parquet(str(tmp_path / "out"))
    finally:
        ray.shutdown()
    made = pyarrow.concat_tables(map(pyarrow.parquet.read_table, (tmp_path / "out").glob("*.parquet")))
    assert made.sort_by("id").to_pylist() == plans(table).to_pylist()
