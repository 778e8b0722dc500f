"""Does the table fit the room, and is its frame square? The figures are invented."""

import truebed

room = [(0, 0), (6500, 0), (6500, 4800), (0, 4800)]
hearth = {"hearth": [(2500, 4500), (4000, 4500), (4000, 4800), (2500, 4800)]}
place = truebed.place(room, ("100 in", "50 in"), obstacles=hearth)
print(f"fits: {str(place.fits).lower()}, the least clearance is {place.least_mm:.0f} mm")
print(f"{100 * place.free_share:.0f} % of the edge have a full stroke before them")

frame = truebed.square((2540, 2540), (1270, 1270), (2843, 2837), sigma=0.5)
print(f"the diagonals differ by {frame.differences_mm[2]:.1f} mm")
print(f"push corner {frame.corner} by {frame.rack_mm:.1f} mm, give or take {frame.rack_sigma_mm:.1f} mm")
