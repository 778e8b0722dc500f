"""truebed beside HiGHS, CP-SAT and toulbar2, instance by instance and goal by goal.

`python benches/side_by_side.py [FAMILY ...]`; see README.md here. Fails if any two disagree.
"""

import argparse
import json
import math
import statistics
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import peer
import peer_cp_sat
import peer_highs
import peer_toulbar2
from instance import Instance
from peer import Stage

PEERS = {
    "HiGHS": peer_highs.solve,
    "CP-SAT": peer_cp_sat.solve,
    "toulbar2": peer_toulbar2.solve,
}

SETTLING = ["HiGHS", "CP-SAT"]
"""Peers that settle all goals; the others are held against the first alone."""

FAMILIES = "cargo run --quiet --release --package truebed-benches --bin families --".split()


def main() -> int:
    arguments = parse()
    if arguments.first_goal:
        SETTLING.clear()
    rows, disagreements = head(), []
    for family in arguments.families or names():
        document = truebed(family, arguments)
        compared = []
        for data in document["instances"]:
            peers = {}
            if len(data["heights"]) <= arguments.supports:
                instance = Instance.read(data)
                for name, solve in PEERS.items():
                    goals = instance.goals[:1] if arguments.first_goal else instance.goals
                    peers[name] = peer.solve(solve, instance, goals, arguments.limit)
                    for problem in disagreement(data["result"], instance.goals, peers[name]):
                        disagreements.append(f"{family}, seed {data['seed']}, {name}: {problem}")
            compared.append(Compared(data["result"], peers))
            print(f"{family}, seed {data['seed']}: {compared[-1]}", file=sys.stderr, flush=True)
        rows.append(row(family, document, compared))
    print("\n".join(rows))
    print(f"\n{len(disagreements)} disagreements")
    print("\n".join(disagreements))
    return 1 if disagreements else 0


def parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="truebed beside HiGHS, CP-SAT and toulbar2")
    parser.add_argument("families", nargs="*", metavar="FAMILY", help="default: all")
    parser.add_argument("--instances", type=int, default=1000, help="the most of a family")
    parser.add_argument(
        "--first-goal", action="store_true", help="peers settle the first goal alone"
    )
    parser.add_argument("--limit", type=float, default=60, help="seconds a stage of a peer")
    parser.add_argument("--seconds", type=int, default=20, help="seconds a plan of truebed")
    parser.add_argument("--nodes", type=int, help="nodes a plan of truebed")
    parser.add_argument(
        "--supports", type=int, default=1000, help="peers get no instance of more supports"
    )
    return parser.parse_args()


def names() -> list[str]:
    return [line.split(":")[0] for line in families([]).splitlines()]


def truebed(family: str, arguments: argparse.Namespace) -> dict[str, Any]:
    """The instances of a family with truebed's results."""
    options = [family, "--instances", str(arguments.instances)]
    options += ["--seconds", str(arguments.seconds)]
    if arguments.nodes is not None:
        options += ["--nodes", str(arguments.nodes)]
    return json.loads(families(options))


def families(options: list[str]) -> str:
    command = [*FAMILIES, *options]
    here = Path(__file__).parent
    return subprocess.run(command, cwd=here, check=True, stdout=subprocess.PIPE, text=True).stdout


def disagreement(result: dict[str, Any], goals: list[str], stages: list[Stage]) -> list[str]:
    """Where a peer's proof and truebed's cannot both be right, or either has a plan that the
    other's proof excludes."""
    problems = []
    first = stages[0]
    if result["front"]:
        return disagreement_of_fronts(result, first)
    if infeasible(result):
        if first.value is not None:
            return [f"infeasible, but a plan of {first.value}"]
        # Below, the flattest that the stock allows; the first stage had no plan to compare.
        bound = bound_of("range", result)
        checks = [("range", bound == result["range"], bound, result["range"], stages[1:])]
    elif first.proven and first.value is None:
        return ["a plan where none is"] if result["meets_limits"] else []
    else:
        proven = result["status"] == "proven"
        found = math.inf if not result["meets_limits"] else result[goals[0]]
        checks = [(goals[0], proven, bound_of(goals[0], result), found, stages[:1])]
        if proven:
            checks += [
                (goal, True, result[goal], result[goal], stages[at : at + 1])
                for at, goal in enumerate(goals[1:], 1)
            ]
    for goal, proven, bound, found, stage in checks:
        for own in stage:
            if own.value is not None and own.value < bound:
                problems.append(f"{goal} of {own.value} below truebed's {bound}")
            elif own.proven and own.value is not None and found < own.value:
                problems.append(f"{goal} of {found} below the peer's proven {own.value}")
            elif own.proven and own.value is None and goal != goals[0]:
                problems.append(f"no plan for {goal}")
            elif own.proven and proven and own.value != found:
                problems.append(f"{goal} of {own.value}, not {found}")
    return problems


def disagreement_of_fronts(result: dict[str, Any], peer: Stage) -> list[str]:
    """Where trade-offs differ; of one that did not come to its end, what there is of it."""
    if infeasible(result):
        return [f"infeasible, but {peer.value}"] if peer.value is not None else []
    whole = result["status"] == "proven"
    front = [list(point) for point in result["front"]]
    found = peer.value or []
    both = len(front) if whole else len(front) - 1
    if not peer.proven:
        both = min(both, len(found))
    if front[:both] != found[:both] or (whole and peer.proven and len(front) != len(found)):
        return [f"a trade-off of {found}, not {front}"]
    return []


def infeasible(result: dict[str, Any]) -> bool:
    return result["status"] == "infeasible"


def bound_of(goal: str, result: dict[str, Any]) -> float:
    """What truebed has proven of a first goal; of the range, where no plan meets the limits."""
    return round(result["bound"] * 2e6) if goal == "range" else result["bound"]


@dataclass(frozen=True)
class Compared:
    """truebed's result, and the stages of each peer that had the instance."""

    result: dict[str, Any]
    peers: dict[str, list[Stage]]

    @property
    def settled(self) -> bool:
        """Whether truebed proved what it says; of an infeasible instance that it has no plan."""
        return infeasible(self.result) or self.result["status"] == "proven"

    def first(self, name: str) -> float:
        return self.peers[name][0].seconds

    def stages(self, name: str) -> list[Stage]:
        """A peer's stages that have to do with the limits."""
        return self.peers[name][:1] if infeasible(self.result) else self.peers[name]

    def all(self, name: str) -> float:
        return sum(stage.seconds for stage in self.stages(name))

    def capped(self, name: str) -> bool:
        return not all(stage.proven for stage in self.stages(name))

    def ratios(self) -> list[float]:
        """How many times truebed's time the fastest peer takes: for all goals, where peers settle
        them, and for the first goal alone (truebed's time being for all goals in both). A peer that
        ran into its limit is the fastest one only if all did."""
        if not (self.settled and self.peers):
            return []
        whole = [(self.capped(name), self.all(name)) for name in SETTLING]
        first = [(not self.peers[name][0].proven, self.first(name)) for name in self.peers]
        return [min(times)[1] / self.result["seconds"] for times in (whole, first) if times]

    def __str__(self) -> str:
        result = self.result
        texts = [
            f"truebed {result['status']} {result['pieces']} pieces, {result['range']} nm, "
            f"{result['kinds']} kinds, {result['nodes']} nodes, {ms(result['seconds'])} ms"
        ]
        for name, stages in self.peers.items():
            values = ", ".join(
                f"{stage.value}{'' if stage.proven else '?'} in {ms(stage.seconds)} ms"
                for stage in stages
            )
            texts.append(f"{name} {values}")
        return "; ".join(texts)


def goals(name: str) -> list[str]:
    return ["first goal", "all goals"] if name in SETTLING else ["first goal"]


def head() -> list[str]:
    """The first rows of the table."""
    columns = [
        "family",
        "instances",
        "feasible",
        "unsettled",
        "truebed median (slowest) ms",
        "nodes median (most)",
        "peak MiB",
        *(f"{name} {what} ms" for name in PEERS for what in goals(name)),
        "capped",
        *(["× all goals"] if SETTLING else []),
        "× first goal only",
    ]
    return ["| " + " | ".join(columns) + " |", "|---" + "|--:" * (len(columns) - 1) + "|"]


def row(family: str, document: dict[str, Any], compared: list[Compared]) -> str:
    """A family's row of the table."""
    results = [each.result for each in compared]
    beside = [each for each in compared if each.peers]
    seconds = [result["seconds"] for result in results]
    nodes = [result["nodes"] for result in results]
    cells = [
        family,
        str(len(compared)),
        str(sum(result["meets_limits"] for result in results)),
        str(sum(not each.settled for each in compared)),
        f"{ms(statistics.median(seconds))} ({ms(max(seconds))})",
        f"{statistics.median(nodes):.0f} ({max(nodes)})",
        "" if document["peak_kib"] is None else f"{document['peak_kib'] / 1024:.0f}",
    ]
    for name in PEERS:
        times = {"first goal": Compared.first, "all goals": Compared.all}
        for what in goals(name):
            cells.append(median([times[what](each, name) for each in beside]))
    capped = [
        sum(not each.peers[name][0].proven if not SETTLING else each.capped(name) for each in beside)
        for name in SETTLING or PEERS
    ]
    cells.append(" + ".join(map(str, capped)))
    ratios = [ratios for each in beside if (ratios := each.ratios())]
    cells += [spread(list(which)) for which in zip(*ratios)] or [""]
    return "| " + " | ".join(cells) + " |"


def ms(seconds: float) -> str:
    """Milliseconds to three figures."""
    value = seconds * 1000
    return f"{value:.{max(0, 2 - math.floor(math.log10(value)))}f}" if value > 0 else "0"


def median(seconds: list[float]) -> str:
    return ms(statistics.median(seconds)) if seconds else ""


def spread(ratios: list[float]) -> str:
    """Least, geometric mean, most."""
    if not ratios:
        return ""
    mean = statistics.geometric_mean(ratios)
    figures = (min(ratios), mean, max(ratios))
    return " / ".join(f"{ratio:.3g}" if ratio < 100 else f"{ratio:.0f}" for ratio in figures)


if __name__ == "__main__":
    sys.exit(main())
