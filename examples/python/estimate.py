"""What a job will take before anyone has seen the floor. The figures are invented."""

import truebed

floor = truebed.FloorModel.of("DIN 18202 row 3")
legs = [(0, 0), (2134, 0), (2134, 1016), (0, 1016)]
found = truebed.estimate(floor, legs, {3: 4, 1: 8, 0.2: 12}, 0.15, jobs=2000)
low, high = found.interval
print(f"the stock serves {100 * found.served:.0f} % of the jobs ({100 * low:.0f} to {100 * high:.0f} %)")
print(f"pieces: {found.quantile('pieces', 0.5):.0f} in the middle, {found.quantile('pieces', 0.9):.0f} in one job of ten")

kit = truebed.kit(floor, legs, [3, 1, 0.2], 0.15, share=0.9, training_jobs=300, fresh_jobs=300)
print(f"to serve 90 %: {kit.counts} pieces of 3, 1 and 0.2 mm")
