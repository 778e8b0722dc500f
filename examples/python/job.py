"""A whole job as one document: run it, read the outcome, print the sheet. The figures are invented."""

import json
from pathlib import Path

import truebed

document = json.loads((Path(__file__).parents[1] / "data/level_a_table.json").read_text("utf-8"))
done = truebed.run_job(document)

legs = done["outcome"]["legs"]
print(f"{legs['plan']['pieces']} pieces")
for stack in legs["stacks"]:
    print(f"{stack['id']}: {len(stack['shims'])} pieces")
print(truebed.job_sheet(document).splitlines()[0])
