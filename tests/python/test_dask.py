"""Folders of Parquet files on real workers, some of which are killed: every row is there once."""

import hashlib
import os
import pickle
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pyarrow
import pyarrow.parquet
import pytest

import truebed
import truebed.dask

dask = pytest.importorskip("dask")
distributed = pytest.importorskip("distributed")
if sys.platform == "win32":
    pytest.skip("no SIGKILL there", allow_module_level=True)

# The tools of the cluster warn of their own.
pytestmark = pytest.mark.filterwarnings("ignore")

STOCK = {"1 mm": 20, "0.1 mm": None}
SETTINGS = {"stock": STOCK, "limits": 0.1}
FILES, ROWS = 5, 40


@pytest.fixture
def client():
    """A cluster of its own for each test: workers that were killed are still coming back after one."""
    settings = {"distributed.scheduler.allowed-failures": 3, "distributed.worker.daemon": True}
    with dask.config.set(settings):
        cluster = distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        )
        with cluster, distributed.Client(cluster) as client:
            yield client


def write(folder, files=FILES, rows=ROWS):
    folder.mkdir(parents=True)
    drawn = np.random.default_rng(3)
    for file in range(files):
        heights = drawn.uniform(-3, 0, (rows, 4)).round(3).tolist()
        table = pyarrow.table(
            {
                "id": range(file * rows, (file + 1) * rows),
                "x_mm": [[0.0, 2100, 2100, 0]] * rows,
                "y_mm": [[0.0, 0, 950, 950]] * rows,
                "height_mm": heights,
            }
        )
        pyarrow.parquet.write_table(table, folder / f"part-{file}.parquet")


def rows_once(target, files=FILES, rows=ROWS):
    """Every row is there once, has a plan, and nothing else is to be seen."""
    seen = [path for path in sorted(target.iterdir()) if not path.name.startswith(".")]
    parquet = [path for path in seen if path.suffix == ".parquet"]
    assert len(parquet) == files
    assert all(path.name.startswith("manifest-") for path in seen if path not in parquet)
    table = pyarrow.concat_tables(map(pyarrow.parquet.read_table, parquet))
    assert sorted(table["id"].to_pylist()) == list(range(files * rows))
    assert table["error"].null_count == files * rows
    assert not list(target.glob(".*.tmp"))


def contents(target):
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in target.glob("*.parquet")
    }


class Once:
    """Kills the worker that comes by, so many times in all."""

    def __init__(self, marks, times):
        self.marks, self.times = str(marks), times

    def __call__(self):
        for at in range(self.times):
            try:
                os.close(os.open(f"{self.marks}-{at}", os.O_CREAT | os.O_EXCL))
            except FileExistsError:
                continue
            os.kill(os.getpid(), signal.SIGKILL)


class Killing(distributed.WorkerPlugin):
    """Kills workers in the middle of a batch, or between the write and the answer."""

    idempotent = False

    def __init__(self, where, once, name):
        self.where, self.once, self.name = where, once, name

    def setup(self, worker):
        import truebed.dask as module

        once, self.undo = self.once, None
        if self.where == "batch":
            before = module._regrouped

            def regrouped(reader):
                for table in before(reader):
                    once()
                    yield table

            module._regrouped, self.undo = regrouped, lambda: setattr(module, "_regrouped", before)
        else:
            before = module._temporary

            def temporary(path):
                return After(before(path), once if path.suffix == ".parquet" else lambda: None)

            module._temporary, self.undo = temporary, lambda: setattr(module, "_temporary", before)

    def teardown(self, worker):
        if self.undo:
            self.undo()


class After:
    """A context that does something when it is over."""

    def __init__(self, inner, then):
        self.inner, self.then = inner, then

    def __enter__(self):
        return self.inner.__enter__()

    def __exit__(self, *error):
        done = self.inner.__exit__(*error)
        if error[0] is None:
            self.then()
        return done


def planned(client, tmp_path, **more):
    return truebed.dask.plan_dataset(
        tmp_path / "in", tmp_path / "out", client=client, **{**SETTINGS, **more}
    )


def test_every_row_once_and_resumed(client, tmp_path):
    write(tmp_path / "in")
    manifest = planned(client, tmp_path)
    rows_once(tmp_path / "out")
    assert not manifest.failed and sum(manifest.rows.values()) == FILES * ROWS
    assert sorted(manifest.files) == [f"part-{file}.parquet" for file in range(FILES)]
    before = contents(tmp_path / "out")
    times = {path: path.stat().st_mtime_ns for path in (tmp_path / "out").glob("*.parquet")}
    next(iter(times)).unlink()
    # The torn file of a worker that was killed.
    (tmp_path / "out/.part-0.parquet.0.tmp").write_bytes(b"PAR1 torn")
    assert planned(client, tmp_path, batch_rows=7) == manifest
    rows_once(tmp_path / "out")
    assert contents(tmp_path / "out") == before
    kept = [path for path, mtime in times.items() if path.stat().st_mtime_ns == mtime]
    assert len(kept) == FILES - 1


def test_other_parameters_and_other_input_never_mix(client, tmp_path):
    write(tmp_path / "in", files=1)
    first = planned(client, tmp_path).files
    second = planned(client, tmp_path, limits=0.2).files
    write(tmp_path / "other", files=1, rows=3)
    (tmp_path / "other/part-0.parquet").replace(tmp_path / "in/part-0.parquet")
    third = planned(client, tmp_path).files
    names = {*first.values(), *second.values(), *third.values()}
    assert len(names) == 3 == len(contents(tmp_path / "out"))


@pytest.mark.parametrize("where, times", [("batch", 1), ("batch", 2), ("answer", 1), ("answer", 2)])
def test_killed_workers(client, tmp_path, where, times):
    write(tmp_path / "in")
    name = f"killing-{where}-{times}"
    marks = tmp_path / "killed"
    client.register_plugin(Killing(where, Once(marks, times), name), name=name)
    try:
        manifest = planned(client, tmp_path)
    finally:
        client.unregister_worker_plugin(name)
    assert len(list(tmp_path.glob("killed-*"))) == times
    assert not manifest.failed
    rows_once(tmp_path / "out")


def test_a_file_that_takes_its_workers_down_is_named(client, tmp_path):
    write(tmp_path / "in", files=3)
    (tmp_path / "in/part-1.parquet").write_bytes(b"no Parquet at all")
    name = "poison"
    client.register_plugin(Poison("part-2.parquet", name), name=name)
    try:
        manifest = planned(client, tmp_path)
    finally:
        client.unregister_worker_plugin(name)
    assert sorted(manifest.failed) == ["part-1.parquet", "part-2.parquet"]
    assert "KilledWorker" in manifest.failed["part-2.parquet"]
    rows_once(tmp_path / "out", files=1)
    # Mended, it is done when it is run again.
    write(tmp_path / "again", files=3)
    for at in (1, 2):
        (tmp_path / f"again/part-{at}.parquet").replace(tmp_path / f"in/part-{at}.parquet")
    assert not planned(client, tmp_path).failed
    rows_once(tmp_path / "out", files=3)


class Poison(distributed.WorkerPlugin):
    """Kills every worker that opens a file of this name."""

    def __init__(self, path, name):
        self.path, self.name = path, name

    def setup(self, worker):
        import truebed.dask as module

        poison, self.before = self.path, module._content

        def content(path):
            if path.endswith(poison):
                os.kill(os.getpid(), signal.SIGKILL)
            return self.before(path)

        module._content = content

    def teardown(self, worker):
        import truebed.dask as module

        module._content = self.before


ATTEMPT = """
import os, signal, sys
import truebed.dask as module
before = module._regrouped
def regrouped(reader):
    os.kill(os.getpid(), signal.SIGSTOP)
    yield from before(reader)
module._regrouped = regrouped
source, target, name, key = sys.argv[1:]
print(*module._plan_file(f"{source}/{name}", target, name, key, sys.stdin.buffer.read(), 65_536))
"""


@pytest.mark.parametrize("left", ["in place", "cleaned away"])
def test_a_late_second_attempt_changes_nothing(client, tmp_path, monkeypatch, left):
    """A process that began on a file stands still until another has made it, and goes on then."""
    write(tmp_path / "in", files=1)
    keys = []
    submit = client.submit
    monkeypatch.setattr(
        client, "submit", lambda of, *given, **more: keys.append(given) or submit(of, *given, **more)
    )
    if left == "in place":
        monkeypatch.setattr(truebed.dask, "_clean", lambda target: None)
    first = planned(client, tmp_path)
    made = tmp_path / "out" / first.files["part-0.parquet"]
    before = contents(tmp_path / "out")
    made.unlink()
    _, target, name, key, settings, _ = keys[0]
    arguments = [sys.executable, "-c", ATTEMPT, tmp_path / "in", target, name, key]
    pipe = subprocess.PIPE
    late = subprocess.Popen(arguments, stdin=pipe, stdout=pipe, stderr=pipe)
    late.stdin.write(settings)
    late.stdin.close()
    late.stdin = None
    _, status = os.waitpid(late.pid, os.WUNTRACED)
    assert os.WIFSTOPPED(status)
    assert planned(client, tmp_path) == first and contents(tmp_path / "out") == before
    late.send_signal(signal.SIGCONT)
    told, error = late.communicate()
    # Where it was cleaned away, what it had begun is lost, and so is the attempt.
    assert (told.split()[:1] == [made.name.encode()]) == (left == "in place"), error
    assert contents(tmp_path / "out") == before
    rows_once(tmp_path / "out", files=1)


DRIVER = """
import sys
import distributed, truebed.dask
source, target, address = sys.argv[1:]
with distributed.Client(address) as client:
    truebed.dask.plan_dataset(source, target, client=client, stock={"1 mm": 20, "0.1 mm": None}, limits=0.1)
"""


def begun(client, tmp_path):
    """A driver in a process of its own, once its first file is there."""
    write(tmp_path / "in", files=20)
    arguments = [tmp_path / "in", tmp_path / "out", client.scheduler.address]
    driver = subprocess.Popen([sys.executable, "-c", DRIVER, *map(str, arguments)])
    deadline = time.monotonic() + 120
    while not list((tmp_path / "out").glob("*.parquet")) and driver.poll() is None:
        assert time.monotonic() < deadline
        time.sleep(0.02)
    return driver


def test_a_driver_that_is_killed_and_started_again(client, tmp_path):
    driver = begun(client, tmp_path)
    driver.kill()
    driver.wait()
    assert not planned(client, tmp_path).failed
    rows_once(tmp_path / "out", files=20)


def test_a_second_driver_in_the_same_folder_is_refused(client, tmp_path):
    driver = begun(client, tmp_path)
    driver.send_signal(signal.SIGSTOP)
    if driver.poll() is None:
        with pytest.raises(truebed.InputError, match="where another run is at work"):
            planned(client, tmp_path)
    driver.send_signal(signal.SIGCONT)
    assert driver.wait() == 0
    rows_once(tmp_path / "out", files=20)
    assert not planned(client, tmp_path).failed


def test_a_full_disk_is_a_clear_error(tmp_path):
    write(tmp_path / "in", files=2)
    made = tmp_path / "out"
    code = f"""
import pickle, resource, signal, sys
from pathlib import Path
import truebed.dask
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (500, resource.RLIM_INFINITY))
try:
    truebed.dask._plan_file(sys.argv[1], sys.argv[2], "part-0.parquet", "key", sys.stdin.buffer.read(), 100)
except OSError as error:
    print(error.strerror or error)
"""
    made.mkdir()
    done = subprocess.run(
        [sys.executable, "-c", code, tmp_path / "in/part-0.parquet", made],
        input=pickle.dumps(SETTINGS),
        capture_output=True,
    )
    assert b"File too large" in done.stdout, done
    assert not list(made.iterdir())


@pytest.fixture
def small_disk(tmp_path):
    """A folder on a disk of its own with little room."""
    folder = tmp_path / "out"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(folder)]
    try:
        done = subprocess.run(mount, capture_output=True, text=True)
    except FileNotFoundError:
        pytest.skip("no mount here")
    if done.returncode != 0:
        pytest.skip(f"this user may not mount a file system: {done.stderr.strip()}")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_disk_that_runs_full(client, tmp_path, small_disk):
    write(tmp_path / "in", files=3)
    large = tmp_path / "in/part-1.parquet"
    table = pyarrow.parquet.read_table(large)
    ids = [os.urandom(5000).hex() for _ in range(len(table))]
    pyarrow.parquet.write_table(table.set_column(0, "id", pyarrow.array(ids)), large)
    manifest = planned(client, tmp_path)
    assert list(manifest.failed) == ["part-1.parquet"]
    assert "No space left on device" in manifest.failed["part-1.parquet"]
    seen = [path for path in small_disk.iterdir() if path.name != ".lock"]
    assert sorted(path.suffix for path in seen) == [".json", ".parquet", ".parquet"]
    whole = [pyarrow.parquet.read_table(path) for path in seen if path.suffix == ".parquet"]
    assert list(map(len, whole)) == [ROWS, ROWS]
    # With room enough, the run goes on from there.
    write(tmp_path / "again", files=3)
    (tmp_path / "again/part-1.parquet").replace(large)
    assert not planned(client, tmp_path).failed
    rows_once(small_disk, files=3)


LARGE = """
import pickle, resource, sys
import pyarrow, pyarrow.parquet
import truebed.dask as module
module._ROWS = 1000
rows, source, target = int(sys.argv[1]), *sys.argv[2:]
batch = pyarrow.table({
    "x_mm": [[0.0, 900]] * 1000, "y_mm": [[0.0, 0]] * 1000,
    "height_mm": [[0.0, -0.1 * (at % 30)] for at in range(1000)],
})
with pyarrow.parquet.ParquetWriter(source, batch.schema) as writer:
    for _ in range(rows // 1000):
        writer.write_table(batch)
settings = pickle.dumps({"stock": {1: None, 0.1: None}, "limits": 0.05})
name, done = module._plan_file(source, target, "part", f"key {rows}", settings, 1000)
assert done == rows
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="ru_maxrss in kB")
def test_memory_does_not_grow_with_the_data(tmp_path):
    """Of the process that plans a file, at ten times the rows."""

    def most(rows):
        arguments = [str(rows), str(tmp_path / "part.parquet"), str(tmp_path)]
        command = [sys.executable, "-c", LARGE, *arguments]
        return int(subprocess.run(command, capture_output=True, text=True, check=True).stdout)

    few, many = most(4_000), most(40_000)
    assert many - few < 16 << 10, (few, many)


def test_what_is_refused(client, tmp_path):
    with pytest.raises(truebed.InputError, match="src: got"):
        planned(client, tmp_path)
    write(tmp_path / "in", files=1)
    with pytest.raises(truebed.InputError, match="budget: got"):
        planned(client, tmp_path, budget=truebed.Budget(time_ms=5))
