"""The plane through four corners, and how flat they are. The figures are invented."""

import truebed

xy = [(0, 0), (2000, 0), (2000, 1000), (0, 1000)]
heights = [0, -0.4, -0.7, -0.1]

plane = truebed.fit_plane(xy, heights)
print(f"slope {plane.slope_x * 1e3:.3f} mm/m along, {plane.slope_y * 1e3:.3f} mm/m across")
for (x, y), deviation in zip(xy, plane.deviations_mm):
    print(f"({x}, {y}): {deviation:+.3f} mm")

zone = truebed.minimum_zone(xy, heights)
print(f"flatness {plane.flatness_mm:.3f} mm, at best {zone.plane.flatness_mm:.3f} mm")
