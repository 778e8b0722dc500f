"""The second visit: some pieces gave way, and few legs are lifted again. The figures are invented."""

import truebed

xy = [(0, 0), (2100, 0), (2100, 950), (0, 950)]
stock = {0.5: 20, 0.1: 20}
first = truebed.plan_shims(xy, [0, -1.2, -2.3, -0.6], stock, limits=0.1)

# The tops as they are read after the first pass, and what is left in the van.
tops = [0, -0.22, -0.25, -0.1]
left = {0.5: 20 - first.used[0], 0.1: 20 - first.used[1]}
again = truebed.plan_shims(xy, tops, left, limits=0.1, placed=first)

print(f"first pass: {first.pieces} pieces under {len(first.lifted)} legs")
print(f"next pass: {again.moved} pieces moved under {len(again.lifted)} legs: {again.lifted}")
print(*truebed.CAUTIONS, sep="\n")
print(f"settled by {first.settlement_mm(tops).max():.2f} mm at most")
