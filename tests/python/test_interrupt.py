"""Ctrl-C while a search runs."""

import signal
import subprocess
import sys
import time

import pytest

# Three supports five millimetres down and 128 kinds that are nearly alike: millions of stacks are
# as good as each other.
#
# In the background of a shell SIGINT is ignored, and so it is in what is started there: Python then
# has no handler, unless it is told to.
ENDLESS = """
import signal
import truebed

signal.signal(signal.SIGINT, signal.default_int_handler)

stock = {1 + kind * 1e-4: None for kind in range(128)}
xy = [[at * 1000, 0] for at in range(4)]
site = dict(xy=xy, heights=[0, -5, -5, -5], stock=stock, limits=0.05)
job = {
    "version": 1,
    "stock": [{"thickness": f"{thickness:.4f} mm"} for thickness in stock],
    "points": [{"id": f"L{x}", "x": f"{x} mm", "y": "0 mm", "role": "leg"} for x, _ in xy],
    "readings": [
        {"kind": "height", "point": f"L{x}", "value": f"{height} mm"}
        for (x, _), height in zip(xy, site["heights"])
    ],
    "legs": {"limits": {"overall": "0.05 mm"}},
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
