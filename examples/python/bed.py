"""What a slate does on its shims: the fourth one carries little. The figures are invented."""

import truebed

slab = truebed.Slab((0, 1370), (0, 880), 25.4, e_gpa=48.36, nu=0.25, density=2794)
shims = {"NW": (50, 700), "NE": (1320, 830), "SE": (1320, 50), "SW": (50, 50)}
bearing = truebed.bear(slab, shims, [0, 0, 0, -0.5])
for name, force in zip(shims, bearing.forces_n):
    print(f"shim {name}: {force:.0f} N")

laid = truebed.LaidSlab(slab, shims)
for low in (0.0, 1.0, 2.0, 3.0):
    bearing = laid.bear([0, 0, 0, -low])
    print(f"shim SW {low:.1f} mm low: carries {str(bool(bearing.carries[3])).lower()}, gap {bearing.gaps_mm[3]:.2f} mm")
