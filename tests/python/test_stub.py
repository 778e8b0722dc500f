"""The installed wheel: its files, and its annotations against what is compiled."""

import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

import truebed


@pytest.mark.parametrize(
    "check",
    [
        ["mypy.stubtest", "truebed._truebed"],
        ["mypy", "--strict", "--cache-dir", "mypy-cache", "--package", "truebed"],
    ],
    ids=["stubtest", "strict"],
)
def test_annotations(check, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", *check], cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


CALLS = """
import numpy as np
import truebed

by_text: dict[str, int] = {"1 mm": 3}
by_mm: dict[float, int | None] = {1.0: None}
mixed: list[truebed.Length] = ["1 mm", 2]
plan = truebed.plan_shims([[0, 0], [1, 1]], mixed, by_text, "0.5 mm", joints=[(0, 1)])
plan = truebed.plan_shims(np.zeros((1, 2)), [1], by_mm, truebed.Limits(0.5), budget=9)
plan = truebed.plan_shims([[0, 0]], [1], [truebed.Shim(1, 3)], 1, order="flattest")
plan = truebed.plan_shims([[0, 0]], [1], by_mm, 1, max_stack="5 mm")
plans = truebed.tradeoff([[0, 0], [1, 1]], mixed, by_text, "0.5 mm", max_stack=5)
item: truebed.PlanArguments = {"xy": [[0, 0]], "heights": [1], "stock": by_mm, "limits": 1}
plans = truebed.plan_many([item, {**item, "order": "flattest"}])
plans = truebed.plan_many([item], progress=True)
plans = truebed.plan_many([item], progress=lambda done, total: print(done / total))
named = truebed.Limits(0.5, named=[(["A", 1], 0.1)])
foot = truebed.Shim(5, to=25, step="0.05 mm", under=["A"])
xy: dict[str, tuple[float, str]] = {"A": (0, "0 mm"), "B": (1, "1 m")}
by_id: dict[str, truebed.Length] = {"A": 0, "B": "-1 mm"}
told = truebed.plan_shims(xy, by_id, [foot], named, joints=[("A", "B")])
told = truebed.plan_shims(xy, by_id, [foot], named, placed={"A": [], "B": ["1 mm"]})
ids: list[str] | None = truebed.plan_shims(xy, by_id, [foot], named, placed=told).ids
deviations = truebed.fit_plane(xy, by_id).to_frame()
verdict = truebed.check(plans[0].tops_mm, "0.5 mm", joints=[(0, 1)])
points: list[int] = [point for finding in verdict.findings for point in finding.points]
worst: float = plan.worst_mm
readings = [truebed.rise("A", "B", "1 mm", 0.1), truebed.height("A", 0, setup="S")]
heights = truebed.adjust(readings, points={"A": (0, 0), "B": ("1 m", 0)}, fixed={"A": (0, 1)})
suspects: list[int] = heights.without(1).suspects
verdict = truebed.check(heights, "0.5 mm", risk=0.01)
met: bool | None = truebed.check([0, 1], 1, covariance=np.eye(2), rule="iso-14253-1").met
guarded = truebed.plan_shims(xy, by_id, [truebed.Shim(1, sigma="2 um")], named, risk=0.05)
sure: float = 0.0 if guarded.verdict is None else guarded.verdict.probability
limits = truebed.Limits.preset("WPA 2001")
enough: bool = truebed.read_next(readings, readings, limits, points={"A": (0, 0)}).enough
drift: float = truebed.play([[0, 0]], [0]).along[0].drift_mm
document: dict[str, object] = truebed.run_job({"version": 1})
text: str = truebed.run_job("{}")
svg: str = plan.picture("inch") + truebed.tradeoff_picture(plans)
"""


def test_callers_are_checked_by_the_annotations(tmp_path):
    def errors(source):
        (tmp_path / "caller.py").write_text(source)
        done = subprocess.run(
            [sys.executable, "-m", "mypy", "--strict", "caller.py"],
            cwd=tmp_path,
            capture_output=True,
            text=True,
        )
        return done.stdout

    assert "Success" in errors(CALLS)
    assert "[arg-type]" in errors(CALLS + 'truebed.plan_shims([[0, 0]], [1], {}, 1, order="best")\n')


def test_files_of_the_wheel():
    files = {path.as_posix() for path in metadata.files("truebed")}
    files = {path for path in files if "__pycache__" not in path}
    package = {path for path in files if path.startswith("truebed/")}
    compiled = {path for path in package if Path(path).suffix in (".so", ".pyd")}
    assert package - compiled == {
        "truebed/__init__.py",
        "truebed/_truebed.pyi",
        "truebed/arrow.py",
        "truebed/dask.py",
        "truebed/_array.py",
        "truebed/_bed.py",
        "truebed/_error.py",
        "truebed/_estimate.py",
        "truebed/_floor.py",
        "truebed/_frame.py",
        "truebed/_highest.py",
        "truebed/_job.py",
        "truebed/_length.py",
        "truebed/_lifting.py",
        "truebed/_next.py",
        "truebed/_plan.py",
        "truebed/_plane.py",
        "truebed/_points.py",
        "truebed/_problem.py",
        "truebed/_progress.py",
        "truebed/py.typed",
        "truebed/_reading.py",
        "truebed/_result.py",
        "truebed/_roll.py",
        "truebed/_shortfall.py",
        "truebed/_signature.py",
        "truebed/_site.py",
        "truebed/_strict.py",
        "truebed/_uncertainty.py",
        "truebed/_survey.py",
        "truebed/_verdict.py",
    }
    assert len(compiled) == 1 and "abi3" in compiled.pop() or sys.platform == "win32"
    licences = {path.rpartition("/")[2] for path in files if "/licenses/" in path}
    assert licences == {"LICENSE-APACHE", "LICENSE-MIT", "LICENSE-THIRD-PARTY"}


def test_metadata():
    about = metadata.metadata("truebed")
    assert about["Version"] == truebed.__version__
    assert about["License-Expression"] == "MIT OR Apache-2.0"
    assert sorted(about.get_all("Requires-Dist")) == [
        "distributed>=2024.1 ; extra == 'dask'",
        "numpy>=1.23",
        "pandas>=1.5 ; extra == 'pandas'",
        "pyarrow>=14 ; extra == 'dask'",
    ]
    assert about["Requires-Python"] == ">=3.10"


def test_every_public_name_is_there_and_documented():
    for name in truebed.__all__:
        assert hasattr(truebed, name)
        value = getattr(truebed, name)
        if callable(value):
            assert value.__doc__, name
