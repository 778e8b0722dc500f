"""Many tables in one call, on all cores. The figures are invented."""

import truebed

xy = [(0, 0), (2100, 0), (2100, 950), (0, 950)]
tables = [
    {"xy": xy, "heights": [0, -0.3 * table, -0.7 * table, -0.2], "stock": {0.5: 20, 0.1: 40}, "limits": 0.1}
    for table in range(1, 6)
]
plans = truebed.plan_many(tables)
for table, plan in enumerate(plans, 1):
    print(f"table {table}: {plan.status.capitalize()}, {plan.pieces} pieces")
print(f"{sum(plan.pieces for plan in plans)} pieces in all")
