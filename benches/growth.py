"""Draws how time and memory grow with the number of supports.

`python benches/growth.py`, with the requirements here: runs the family `growth` and writes
growth.svg beside this file. Each size is a process of its own, for the peak of its memory.
"""

from pathlib import Path

import matplotlib

matplotlib.use("svg")
import matplotlib.pyplot as plt
from side_by_side import families

import json


def main() -> None:
    supports, seconds, peaks = [], [], []
    for instances in range(1, 5):
        document = json.loads(families(["growth", "--instances", str(instances)]))
        # The last is the largest, and the peak is its own.
        largest = document["instances"][-1]
        supports.append(len(largest["heights"]))
        seconds.append(largest["result"]["seconds"])
        peaks.append((document["peak_kib"] or 0) / 1024)
    plt.rcParams["svg.hashsalt"] = "truebed"
    figure, (time, memory) = plt.subplots(1, 2, figsize=(9, 4), layout="constrained")
    for axes, values, label in [(time, seconds, "seconds"), (memory, peaks, "peak MiB")]:
        axes.loglog(supports, values, "o-", color="black", label="plan_shims")
        # What would be in proportion to the number of supports.
        straight = [values[-1] * count / supports[-1] for count in supports]
        axes.loglog(supports, straight, "--", color="grey", label="in proportion")
        for count, value in zip(supports, values):
            axes.annotate(f"{value:.3g}", (count, value), (4, -12), textcoords="offset points")
        axes.set(xlabel="supports", ylabel=label)
        axes.margins(0.15)
        axes.legend()
    figure.suptitle("12 mm, ±.0025 in, nine inch kinds, as many as it takes: proven plans")
    figure.savefig(Path(__file__).with_name("growth.svg"), metadata={"Date": None, "Creator": None})
    for row in zip(supports, seconds, peaks):
        print("%d supports: %.3g s, %.0f MiB" % row)


if __name__ == "__main__":
    main()
