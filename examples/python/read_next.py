"""Which further reading does most for the verdict. The figures are invented."""

import truebed

points = {"A": (0, 0), "B": (1200, 0), "C": (2400, 0)}
readings = [truebed.rise("A", "B", "0.01 mm", "0.01 mm"), truebed.rise("B", "C", "0.06 mm", "0.04 mm")]
# What they would show does not matter, only how well they are read.
candidates = [truebed.rise("A", "B", 0, "0.01 mm"), truebed.rise("B", "C", 0, "0.01 mm")]

found = truebed.read_next(readings, candidates, limits="0.05 mm", points=points)
print(f"doubt now: {found.doubt:.2f}")
for reading in found.readings:
    print(f"candidate {reading.candidate}: {reading.doubt:.2f}")
