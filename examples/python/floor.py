"""How even a floor is: a straightedge, and a class of a standard. The figures are invented."""

import truebed

xy = [(x, 0) for x in range(0, 4000, 500)]
heights = [0, 1, 3, 4, 2, 1, 0, -1]

gap = truebed.straightedge(xy, heights, length="2 m")
print(f"{gap.gap_mm:.2f} mm under a straightedge of 2 m, at point {gap.at}")
findings = truebed.check_floor(xy, heights, "DIN 18202 row 3")
for finding in findings:
    met = str(finding.met).lower()
    print(f"{finding.what}: {finding.found:.2f}, allowed {finding.limit:.2f}, met: {met}")
