"""Jobs that are capped or stopped, many at once, and what is written of an outcome at hand."""

import json
import threading
import time

import pytest

import truebed
from test_arrow import JOB

CALLS = [truebed.job_sheet, truebed.job_picture, truebed.job_page]

# Legs as uneven as an old floor, on a target that may slope: a search of minutes.
HEIGHTS = [0, -1.197, -0.51, -5.293, -1.652, -1.685, -5.903, -5.298, -2.091, -5.788, -3.466, -4.228]
ENDLESS = {
    "version": 1,
    "stock": [
        {"thickness": f"{inch} in", "count": 8}
        for inch in [0.002, 0.003, 0.005, 0.010, 0.015, 0.020, 0.03125, 0.0625, 0.125]
    ],
    "points": [
        {"id": f"L{at}", "x": f"{at % 6 * 400} mm", "y": f"{at // 6 * 900} mm", "role": "leg"}
        for at in range(12)
    ],
    "readings": [
        {"kind": "height", "point": f"L{at}", "value": f"{height} mm", "sigma": "0.01 mm"}
        for at, height in enumerate(HEIGHTS)
    ],
    "legs": {
        "limits": {
            "overall": "0.03 mm", "slope_along_um_per_m": 3000, "slope_across_um_per_m": 3000
        },
        "options": {"budget": {"time_ms": 600_000}},
    },
}


def test_the_cap_of_the_caller_beats_that_of_the_document():
    assert truebed.run_job(JOB)["outcome"]["legs"]["plan"]["status"] == "proven"
    asks_more = {**JOB, "legs": {**JOB["legs"], "options": {"budget": {"nodes": 1000}}}}
    for job in (JOB, asks_more):
        plan = truebed.run_job(job, budget=1)["outcome"]["legs"]["plan"]
        assert plan["status"] == "budget" and plan["nodes"] <= 2
    start = time.process_time()
    outcome = truebed.run_job(ENDLESS, budget=truebed.Budget(nodes=10**15, time_ms=300))["outcome"]
    assert time.process_time() - start < 2
    assert outcome["legs"]["plan"]["status"] == "budget"
    # And a cap above that of the document changes nothing.
    assert truebed.run_job(asks_more, budget=10**12) == truebed.run_job(asks_more)


def test_a_run_is_stopped():
    asked = []

    def third_time():
        asked.append(threading.current_thread())
        return len(asked) == 3

    outcome = truebed.run_job(ENDLESS, stop=third_time)["outcome"]
    assert asked == [threading.current_thread()] * 3
    assert outcome["legs"]["plan"]["status"] == "budget"
    assert {"stage": "legs", "step": "verdict"} in outcome["ran_out"]
    for call in CALLS:
        assert call(ENDLESS, stop=lambda: True)
    with pytest.raises(ZeroDivisionError):
        truebed.run_job(ENDLESS, stop=lambda: 1 / 0)
    with pytest.raises(truebed.InputTypeError, match="stop: got 3"):
        truebed.run_job(JOB, stop=3)


def test_whoever_reads_a_run_that_had_no_time_is_told():
    none = truebed.Budget(time_ms=0)
    outcome = truebed.run_job(ENDLESS, budget=none)["outcome"]
    assert outcome["ran_out"]
    for call in (truebed.job_sheet, truebed.job_page):
        text = call(ENDLESS, budget=none)
        assert "before the verdict" in text and "raised leg or slab" in text


@pytest.mark.parametrize("call", CALLS)
def test_an_outcome_at_hand_is_written_without_a_run(call):
    for form in (dict, json.dumps, lambda job: json.dumps(job).encode()):
        done = truebed.run_job(form(JOB))
        assert call(done, run=False) == call(JOB)
    # It is not run: what stands there is what is written.
    capped = truebed.run_job(JOB, budget=1)
    assert call(capped, run=False) == call(JOB, budget=1)
    with pytest.raises(truebed.InputError, match="outcome: got none, expected the outcome of a job"):
        call(JOB, run=False)


def test_the_next_pass_of_what_a_crew_worked_by():
    again = [{"kind": "height", "point": id, "value": "0 mm"} for id in "ABC"]
    done = truebed.run_job(JOB)
    assert truebed.next_pass(done, again, run=False) == truebed.next_pass(JOB, again)
    other = truebed.run_job({**JOB, "stock": [{"thickness": "0.1 mm"}]})
    other["stock"] = [{"thickness": "0.1 mm"}]
    placed = truebed.next_pass(other, again, run=False)["legs"]["placed"]
    assert placed[0]["shims"] == ["0.1 mm"] * len(placed[0]["shims"])
    with pytest.raises(truebed.InputError, match="outcome: got none"):
        truebed.next_pass(JOB, again, run=False)
    without = truebed.run_job(ENDLESS, budget=truebed.Budget(time_ms=0))
    if "legs" not in without["outcome"]:
        with pytest.raises(truebed.InputError, match="legs: got no such plan"):
            truebed.next_pass(without, again, run=False)


@pytest.mark.parametrize("threads", [None, 1, 3])
def test_many_jobs(threads):
    good, bad = json.dumps(JOB), {**JOB, "stock": []}
    jobs = [JOB, good, bad, good.encode(), 7, b"\xff", {"version": 2}] * 5
    seen = []
    done = truebed.run_jobs(jobs, threads=threads, progress=lambda done, of: seen.append((done, of)))
    assert seen[-1] == (35, 35)
    for at in range(0, 35, 7):
        assert done[at] == truebed.run_job(JOB)
        assert done[at + 1] == truebed.run_job(good) and done[at + 3] == truebed.run_job(good.encode())
        errors = [done[at + 2], *done[at + 4 : at + 7]]
        assert [type(error) for error in errors] == [
            truebed.InputError, truebed.InputTypeError, truebed.InputError, truebed.InputError
        ]
        with pytest.raises(truebed.InputError) as alone:
            truebed.run_job(bad)
        assert str(errors[0]) == str(alone.value)


def test_many_jobs_are_capped_and_stopped():
    done = truebed.run_jobs([ENDLESS] * 3 + [JOB], budget=truebed.Budget(nodes=1))
    assert [job["outcome"]["legs"]["plan"]["status"] for job in done] == ["budget"] * 4
    done = truebed.run_jobs([ENDLESS] * 50, stop=lambda: True, threads=2)
    assert len(done) == 50
    assert "got a stop before it was begun" in str(done[-1])
    assert truebed.run_jobs([]) == []
    with pytest.raises(truebed.InputError, match="threads: got 0"):
        truebed.run_jobs([JOB], threads=0)
    with pytest.raises(truebed.InputTypeError, match="documents: got str"):
        truebed.run_jobs("[]")
