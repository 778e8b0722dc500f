"""The shim problem as a mixed-integer program, solved goal by goal with HiGHS: an oracle that
shares nothing with truebed but the statement of the problem.

All lengths are whole numbers of one unit, so no tolerance of the solver can blur an objective.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import ceil

import highspy

Goals = tuple[int, ...]

GOALS = {
    "fewest-pieces": ("pieces", "range", "kinds"),
    "flattest": ("range", "pieces", "kinds"),
    "fewest-lifts": ("lifts", "pieces", "range", "kinds"),
    "cheapest": ("price", "pieces", "range", "kinds"),
}
"""What each order settles, one after the other."""


@dataclass
class Problem:
    """A shim problem; `widths` are the largest differences of height within sets of supports."""

    heights: list[int]
    thickness: list[int]
    count: list[int | None]
    price: list[int]
    widths: list[tuple[list[int], int]]
    keep_highest: bool = True
    max_pieces: int | None = None
    goals: tuple[str, ...] = field(default=GOALS["fewest-pieces"])

    def without_limits(self) -> "Problem":
        """The flattest that the stock allows, whatever the limits."""
        return replace(self, widths=[], goals=("range",))


def solve(problem: Problem) -> Goals | None:
    """The least value of each goal with those before it settled; None if there is no plan."""
    model = highspy.Highs()
    model.silent()
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.0)
    supports, kinds = range(len(problem.heights)), range(len(problem.thickness))
    highest, lowest = max(problem.heights), min(problem.heights)
    # One support stays bare, and leaving all bare is flatter than any plan that goes higher above
    # it than the heights differ; beyond that only a limit could let a plan go.
    top = highest + max([highest - lowest, *(width for _, width in problem.widths)])

    def most(kind: int) -> int:
        reach = ceil((top - lowest) / problem.thickness[kind])
        count = problem.count[kind]
        return reach if count is None else min(reach, count)

    used = [[model.addIntegral(0, most(kind)) for kind in kinds] for _ in supports]
    lifted = [model.addBinary() for _ in supports]
    taken = [model.addBinary() for _ in kinds]
    low, high = (model.addVariable(lowest, top) for _ in range(2))
    tops = [
        problem.heights[at] + sum(problem.thickness[kind] * used[at][kind] for kind in kinds)
        for at in supports
    ]

    for at in supports:
        model.addConstr(low <= tops[at])
        model.addConstr(high >= tops[at])
        for kind in kinds:
            model.addConstr(used[at][kind] <= most(kind) * lifted[at])
            model.addConstr(used[at][kind] <= most(kind) * taken[kind])
        if problem.max_pieces is not None:
            model.addConstr(sum(used[at]) <= problem.max_pieces)
    for kind in kinds:
        if (count := problem.count[kind]) is not None:
            model.addConstr(sum(used[at][kind] for at in supports) <= count)
    for members, width in problem.widths:
        for a, b in combinations(members, 2):
            model.addConstr(tops[a] - tops[b] <= width)
            model.addConstr(tops[b] - tops[a] <= width)
    if problem.keep_highest:
        assert problem.heights.count(highest) == 1, "the oracle knows no ties for the highest"
        model.addConstr(lifted[problem.heights.index(highest)] == 0)
    model.addConstr(sum(lifted) <= len(supports) - 1)

    pieces = sum(used[at][kind] for at in supports for kind in kinds)
    goals = {
        "pieces": pieces,
        "range": high - low,
        "kinds": sum(taken),
        "lifts": sum(lifted),
        "price": sum(problem.price[kind] * used[at][kind] for at in supports for kind in kinds),
    }
    found = []
    for name in problem.goals:
        model.minimize(goals[name])
        status = model.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            assert not found, "a settled goal cannot make a problem infeasible"
            return None
        assert status == highspy.HighsModelStatus.kOptimal, status
        value = model.getObjectiveValue()
        assert abs(value - round(value)) < 1e-4, value
        found.append(round(value))
        # Half a unit above a whole number: no plan that is worse gets through.
        model.addConstr(goals[name] <= round(value) + 0.5)
    return tuple(found)


def brute_force(problem: Problem) -> Goals | None:
    """The same by trying everything; for counts and supports that can be told on one hand."""
    supports, kinds = range(len(problem.heights)), range(len(problem.thickness))
    highest = max(problem.heights)
    best: Goals | None = None

    def consider(stacks: list[tuple[int, ...]]) -> None:
        nonlocal best
        tops = [
            height + sum(n * t for n, t in zip(stack, problem.thickness))
            for height, stack in zip(problem.heights, stacks)
        ]
        bare = [at for at in supports if not any(stacks[at])]
        if not bare or problem.keep_highest and all(problem.heights[at] < highest for at in bare):
            return
        for members, width in problem.widths:
            if max(tops[at] for at in members) - min(tops[at] for at in members) > width:
                return
        totals = [sum(stack[kind] for stack in stacks) for kind in kinds]
        values = {
            "pieces": sum(totals),
            "range": max(tops) - min(tops),
            "kinds": sum(total > 0 for total in totals),
            "lifts": len(supports) - len(bare),
            "price": sum(n * price for n, price in zip(totals, problem.price)),
        }
        goals = tuple(values[name] for name in problem.goals)
        best = goals if best is None else min(best, goals)

    def stacks_from(left: list[int], pieces: int | None) -> list[tuple[int, ...]]:
        stacks: list[tuple[int, ...]] = [()]
        for count in left:
            stacks = [stack + (n,) for stack in stacks for n in range(count + 1)]
        return [stack for stack in stacks if pieces is None or sum(stack) <= pieces]

    def go(at: int, left: list[int], chosen: list[tuple[int, ...]], each: Callable) -> None:
        if at == len(supports):
            each(chosen)
            return
        for stack in stacks_from(left, problem.max_pieces):
            rest = [count - n for count, n in zip(left, stack)]
            go(at + 1, rest, [*chosen, stack], each)

    counts = [count for count in problem.count if count is not None]
    assert len(counts) == len(problem.count), "an unlimited kind cannot be tried out"
    go(0, counts, [], consider)
    return best
