"""Ctrl-C while a search runs."""

import os
import resource
import signal
import subprocess
import sys
import time

import pytest

# A target that may slope, under supports as uneven as an old floor: many millions of nodes.
#
# In the background of a shell SIGINT is ignored, and so it is in what is started there: Python then
# has no handler, unless it is told to.
ENDLESS = """
import signal
import truebed

signal.signal(signal.SIGINT, signal.default_int_handler)

inches = [0.002, 0.003, 0.005, 0.010, 0.015, 0.020, 0.03125, 0.0625, 0.125]
stock = {f"{inch} in": 8 for inch in inches}
xy = [[at % 6 * 400, at // 6 * 900] for at in range(12)]
heights = [
    0, -1.197, -0.51, -5.293, -1.652, -1.685, -5.903, -5.298, -2.091, -5.788, -3.466, -4.228
]
limits = truebed.Limits(0.03, slope_along=3, slope_across=3)
floor = truebed.FloorModel(ff=35, fl=25)
site = dict(xy=xy, heights=heights, stock=stock, limits=limits)
job = {
    "version": 1,
    "stock": [{"thickness": thickness, "count": 8} for thickness in stock],
    "points": [
        {"id": f"L{at}", "x": f"{x} mm", "y": f"{y} mm", "role": "leg"}
        for at, (x, y) in enumerate(xy)
    ],
    "readings": [
        {"kind": "height", "point": f"L{at}", "value": f"{height} mm"}
        for at, height in enumerate(heights)
    ],
    "legs": {
        "limits": {
            "overall": "0.03 mm", "slope_along_um_per_m": 3000, "slope_across_um_per_m": 3000
        }
    },
}
print("begins", flush=True)
try:
    CALL
except KeyboardInterrupt:
    print("interrupted")
else:
    print("done")
"""


CALLS = ["truebed.plan_shims(**site)", "truebed.tradeoff(**site)", "truebed.plan_many([site] * 9)"]
CALLS.append("truebed.plan_many([site] * 9, progress=lambda done, total: None)")
CALLS += ["truebed.run_job(job)", "truebed.job_sheet(job)", "truebed.job_picture(job)"]
CALLS.append("truebed.estimate(floor, xy, stock, 0.15, jobs=10_000_000)")
CALLS.append("truebed.kit(floor, xy, stock, 0.15, training_jobs=100_000, fresh_jobs=100_000)")
CALLS.append("truebed.kit_front(floor, xy, stock, 0.15, training_jobs=100_000)")
CALLS += ["truebed.job_page(job)", "truebed.run_jobs([job] * 9)", "truebed.next_pass(job, [])"]


@pytest.mark.parametrize("call", CALLS)
@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C cannot be sent to one process there")
def test_ctrl_c_stops_a_search(call):
    with subprocess.Popen(
        [sys.executable, "-c", ENDLESS.replace("CALL", call)], stdout=subprocess.PIPE, text=True
    ) as search:
        try:
            assert search.stdout.readline() == "begins\n"
            time.sleep(0.5)
            assert search.poll() is None, "too easy for this test"
            start = time.monotonic()
            search.send_signal(signal.SIGINT)
            assert search.communicate(timeout=30)[0] == "interrupted\n"
            # A tenth of a second, and more on a loaded machine.
            assert time.monotonic() - start < 2
        finally:
            search.kill()


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C cannot be sent to one process there")
def test_ctrl_c_stops_it_in_the_background_of_a_shell():
    """There the test's own process ignores SIGINT, and hands that on."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        test_ctrl_c_stops_a_search(CALLS[0])
    finally:
        signal.signal(signal.SIGINT, before)


# As many slate points as a job may have, and legs enough for a search without end; each height is read
# with an uncertainty, so that every step has its work.
LARGE = """
import signal
import sys
import truebed

signal.signal(signal.SIGINT, signal.default_int_handler)

inches = [0.002, 0.003, 0.005, 0.010, 0.015, 0.020, 0.03125, 0.0625, 0.125]
stage, count, pieces, limits = {
    "legs": ("legs", 30, 6, {"overall": "0.02 mm"}),
    "short": ("legs", 30, 2, {"overall": "0.03 mm"}),
    "slates": ("slates", 1000, None, {"overall": "0.2 mm", "along": "0.15 mm"}),
}[sys.argv[1]]
role = lambda at: "leg" if stage == "legs" else {"slate": ["west", "east"][at % 50 > 24]}
job = {
    "version": 1,
    "stock": [{"thickness": f"{inch} in", "count": pieces} for inch in inches],
    "points": [
        {"id": f"P{at}", "x": f"{at // 50 * 150 + at % 2 * 70} mm", "y": f"{at % 50 * 25} mm", "role": role(at)}
        for at in range(count)
    ],
    "readings": [
        {"kind": "height", "point": f"P{at}", "value": f"{at * 7919 % 997 / -200} mm", "sigma": "0.02 mm"}
        for at in range(count)
    ],
    stage: {
        "limits": {**limits, "slope_along_um_per_m": 3000, "slope_across_um_per_m": 3000},
        "options": {"budget": {"nodes": 10**12}},
    },
}
print("begins", flush=True)
try:
    truebed.run_job(job)
except KeyboardInterrupt:
    print("interrupted")
else:
    print("done")
"""


@pytest.mark.parametrize("after", [0.1, 0.5, 2, 4])
@pytest.mark.parametrize("which", ["legs", "short", "slates"])
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_ctrl_c_stops_a_large_job_at_any_stage(which, after):
    with subprocess.Popen(
        [sys.executable, "-c", LARGE, which], stdout=subprocess.PIPE, text=True
    ) as run:
        try:
            assert run.stdout.readline() == "begins\n"
            time.sleep(after)
            if run.poll() is not None:
                assert after > 2, "too easy for this test"
                return
            taken = processor_time(run.pid)
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            run.send_signal(signal.SIGINT)
            assert run.communicate(timeout=100)[0] == "interrupted\n"
            now = resource.getrusage(resource.RUSAGE_CHILDREN)
            # Of its own time, since others may share the machine.
            whole = now.ru_utime + now.ru_stime - before.ru_utime - before.ru_stime
            assert whole - taken < 2, (whole, taken)
        finally:
            run.kill()


def processor_time(pid):
    """Seconds that a process has had of the processor."""
    with open(f"/proc/{pid}/stat") as stat:
        fields = stat.read().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
