"""Which shims go under which leg. The figures are invented."""

import truebed

legs = {"door": (0, 0), "window": (2100, 0), "hearth": (2100, 950), "stairs": (0, 950)}
heights = {"door": -7.1, "window": -2.6, "hearth": 0, "stairs": -4.3}
stock = {"1/8 in": 8, "1/16 in": 8, "0.020 in": 16, "0.010 in": 24}

plan = truebed.plan_shims(legs, heights, stock, limits="0.010 in")
print(f"{plan.status.capitalize()}: {plan.pieces} pieces, at most {plan.worst_mm:.3f} mm off")
for id, lift, stack in zip(plan.ids, plan.lifts_mm, plan.stacks):
    print(f"{id}: lift {lift:.3f} mm with {len(stack)} pieces")

for better in truebed.tradeoff(legs, heights, stock, limits="0.010 in")[1:]:
    print(f"{better.pieces} pieces: at most {better.worst_mm:.3f} mm off")
print(*truebed.CAUTIONS, sep="\n")
