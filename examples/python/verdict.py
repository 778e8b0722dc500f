"""Whether a bed is level, and how sure that is. The figures are invented."""

import numpy as np

import truebed

xy = [(0, 0), (1200, 0), (2400, 0), (0, 1200), (1200, 1200), (2400, 1200)]
heights = [0.02, 0, -0.03, 0.01, -0.02, 0]
limits = truebed.Limits(overall="0.1 mm", along="0.05 mm", across="0.05 mm")

verdict = truebed.check(heights, limits, xy=xy, covariance=np.eye(6) * 0.01**2)
words = {True: "met", False: "not met", None: "cannot tell"}
print(f"all limits: {words[verdict.met]}")
for finding in verdict.findings:
    found = f"{finding.found_mm:.3f} of {finding.allowed_mm:.3f} mm"
    print(f"{finding.limit} {finding.points}: {words[finding.met]}, {found}")
