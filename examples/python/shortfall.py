"""What to do where the stock cannot level the floor. The figures are invented."""

import truebed

xy = [(0, 0), (2100, 0), (2100, 950), (0, 950)]
heights = [0, -1.2, -2.3, -0.6]
stock = [truebed.Shim(0.5, 4), truebed.Shim(0.1, 3)]

short = truebed.shortfall(xy, heights, stock, limits=0.1)
print(f"supports {short.conflict.supports} cannot be levelled by what there is")
print(f"the flattest plan is {short.flattest.worst_mm:.3f} mm off")
for shim, more in zip(stock, short.addition.pieces):
    print(f"{shim.thickness:.1f} mm: {more} more")
