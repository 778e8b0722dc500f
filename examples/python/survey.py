"""Readings to heights, and a reading that does not fit. The figures are invented."""

import truebed

readings = [
    # A laser at the door: a larger reading on the staff means a lower point.
    truebed.height("A", "1203.0 mm", setup="door", instrument="laser"),
    truebed.height("B", "1205.1 mm", setup="door", instrument="laser"),
    truebed.height("C", "1204.4 mm", setup="door", instrument="laser"),
    # Rises read with a water level, from one point to the other.
    truebed.rise("A", "B", "-2.0 mm", sigma="0.3 mm"),
    truebed.rise("B", "C", "0.8 mm", sigma="0.3 mm"),
    truebed.rise("C", "A", "-4.0 mm", sigma="0.3 mm"),  # the sign is wrong: should be about 1.3
]
heights = truebed.adjust(readings, fixed={"A": 0})
print(f"global test: p = {heights.p_value:.1e}, suspected first: reading {heights.suspects[0]}")

heights = heights.without(5)
for id, mm, sigma in zip(heights.ids, heights.mm, heights.sigma_mm):
    print(f"{id}: {mm:+.2f} ± {sigma:.2f} mm")
