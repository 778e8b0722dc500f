"""Memory does not grow with the number of calls, and importing brings in nothing that is not needed."""

import gc
import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import truebed

XY = {"A": (0, 0), "B": (2000, 0), "C": (2000, 900), "D": (0, 900)}
ROWS = np.array(list(XY.values()), float)
HEIGHTS = np.array([0, -1.25, -0.5, -0.8])
STOCK = {"0.020 in": 9, "0.1 mm": 20}
LIMITS = truebed.Limits(0.2, named=[([0, 2], 0.1)])
READINGS = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "A", -1.1, sigma=0.1)]


def refused():
    try:
        truebed.plan_shims(XY, HEIGHTS, {"1 mm": -1}, 0.5)
    except truebed.InputError as error:
        return str(error)


CALLS = {
    "plan_shims": lambda: truebed.plan_shims(ROWS, HEIGHTS, STOCK, LIMITS),
    "by id": lambda: truebed.plan_shims(XY, HEIGHTS, STOCK, 0.2, joints=[("A", "B")]),
    "refused": refused,
    "picture": lambda: truebed.plan_shims(XY, HEIGHTS, STOCK, 0.2).picture(),
    "tradeoff": lambda: truebed.tradeoff(ROWS, HEIGHTS, STOCK, 0.3),
    "plan_many": lambda: truebed.plan_many(
        [{"xy": XY, "heights": HEIGHTS, "stock": STOCK, "limits": 0.2}] * 2,
        progress=lambda done, total: None,
    ),
    "fit_plane": lambda: truebed.fit_plane(ROWS, HEIGHTS),
    "check": lambda: truebed.check(HEIGHTS, 0.5),
    "adjust": lambda: truebed.adjust(READINGS).covariance,
    "parse_length": lambda: truebed.parse_length("1/64 in"),
}

ROUND = int(os.environ.get("TRUEBED_CALLS", "2000"))
"""Calls in a round: five rounds with 200000 are a million."""


def resident():
    """Bytes of this process that are in memory: those of Rust too, which tracemalloc cannot see."""
    pages = Path("/proc/self/statm").read_text().split()[1]
    return int(pages) * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
def test_memory_does_not_grow(call):
    sizes = []
    for _ in range(5):
        for _ in range(ROUND):
            call()
        gc.collect()
        sizes.append(resident())
    print(f"{5 * ROUND} calls, KiB after each fifth:", [size // 1024 for size in sizes])
    # Less than 22 bytes a call, which no object is smaller than.
    assert sizes[-1] - sizes[1] < 128 * 1024


def test_import_brings_in_what_it_needs_only():
    code = "import sys, truebed; print(*{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    brought = set(done.stdout.split())
    assert {"numpy", "truebed"} <= brought
    assert not brought & {"pandas", "matplotlib", "tqdm", "IPython", "scipy"}


def test_every_name_is_there_and_other_modules_are_imported_when_asked_for():
    code = """if True:
        import sys, truebed
        before = {name for name in sys.modules if name.startswith("truebed.")}
        truebed.plan_shims([[0, 0], [900, 0]], [0, -1.1], {0.5: 4}, 0.1)
        assert before == {name for name in sys.modules if name.startswith("truebed.")}
        assert not before & {f"truebed.{module}" for module in truebed._LATER}, before
        assert set(truebed._MODULES) < set(truebed.__all__) == set(dir(truebed))
        for name in truebed.__all__:
            getattr(truebed, name)
        assert not hasattr(truebed, "no_such_name")
        from truebed import kit
        print(kit is truebed._estimate.kit)
    """
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout == "True\n", done.stderr


# Address space for a little more than what is loaded, then more and more supports of one call.
SCARCE = """
import resource
import sys

import numpy as np

import truebed

with open("/proc/self/statm") as sizes:
    size = int(sizes.read().split()[0]) * resource.getpagesize()
resource.setrlimit(resource.RLIMIT_AS, (size + 64 * 2**20,) * 2)
print("begins", flush=True)
try:
    CALL
except MemoryError:
    print("no memory")
    sys.exit(3)
print("done")
"""

HUNGRY = {
    # Millions of heights that come back as an array.
    "sample": "truebed.FloorModel(ff=20, fl=15).sample([[i * 300, 0] for i in range(40)], 900_000, 1)",
    # A covariance of thousands of points.
    "covariance": (
        "truebed.adjust([truebed.rise(str(i), str(i + 1), 0, 0.1) for i in range(6000)]).covariance"
    ),
    # An array that NumPy makes.
    "array": "truebed.fit_plane(np.zeros((20_000_000, 2)), np.zeros(20_000_000))",
}


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="RLIMIT_AS")
@pytest.mark.parametrize("call", HUNGRY.values(), ids=HUNGRY)
def test_without_memory_there_is_an_exception_or_the_end_of_the_process(call):
    """Never an answer, nor a process that hangs: a MemoryError, or the abort that the docs announce."""
    code = SCARCE.replace("CALL", call)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=300)
    began, *said = done.stdout.splitlines()
    assert began == "begins"
    if done.returncode == 3:
        assert said == ["no memory"]
    else:
        assert done.returncode == -signal.SIGABRT and said == [], done
        assert "memory allocation" in done.stderr
