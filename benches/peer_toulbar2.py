"""toulbar2: one thread, whole nanometres, the first goal alone.

A variable for each support, whose values are the stacks that bring its top within the width of zero;
pairs of supports that a width binds have a table of what goes together, and the stock is a linear
constraint a kind. Every process solves once, since the library keeps state between models.
"""

import multiprocessing
from time import process_time

from instance import Instance, Plan, Stacks
from peer import Stage

MOST_STACKS = 1000
"""Of a support: with more, the tables of pairs outgrow the memory and are not tried."""


def solve(instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """See `peer.Solve`; settles no goal but the first, and none where stacks are too many, pieces
    adjustable, or targets slope; no trade-off. The time is that of `CFN.Solve`, without the building of
    the model."""
    if goals[0] == "range" or instance.adjustable or any(instance.slopes) or instance.tradeoff:
        return [Stage(None, False, limit)]
    values = [stacks(instance, at) for at in range(len(instance.heights))]
    if any(len(value) > MOST_STACKS for value in values):
        return [Stage(None, False, limit)]
    if not all(values):
        return [Stage(None, True, 0.0)]
    context = multiprocessing.get_context("spawn")
    queue = context.Queue()
    process = context.Process(target=run, args=(instance, values, limit, queue))
    process.start()
    try:
        plan, proven, seconds = queue.get(timeout=20 * limit + 60)
    except Exception:  # the process died or hangs
        process.kill()
        return [Stage(None, False, limit)]
    finally:
        process.join(1)
    if plan is not None:
        found = Plan(plan, [[] for _ in plan])
        assert instance.allows(found)
        return [Stage(instance.value(goals[0], found), proven, seconds)]
    return [Stage(None, proven, seconds)]


def stacks(instance: Instance, support: int) -> Stacks:
    """The stacks of a support that bring its top within the width of zero."""
    height, found = instance.heights[support], []
    low, high = -instance.width - height, instance.width - height
    kinds = sorted(range(len(instance.thickness)), key=lambda kind: -instance.thickness[kind])
    stack = [0] * len(kinds)

    def descend(at: int, thickness: int, left: int) -> None:
        if len(found) > MOST_STACKS:
            return
        if at == len(kinds):
            if low <= thickness <= high:
                found.append(list(stack))
            return
        kind = kinds[at]
        most = min(instance.most(support, kind), left)
        most = min(most, (high - thickness) // instance.thickness[kind])
        for count in range(most + 1):
            stack[kind] = count
            descend(at + 1, thickness + count * instance.thickness[kind], left - count)
        stack[kind] = 0

    descend(0, 0, instance.max_pieces if instance.max_pieces is not None else 10**6)
    return found


def run(instance: Instance, values: list[Stacks], limit: float, queue: "multiprocessing.Queue") -> None:
    import numpy as np
    import pytoulbar2

    each = instance.prices or [1] * len(instance.thickness)
    cost = [[sum(n * one for n, one in zip(stack, each)) for stack in value] for value in values]
    if instance.placed is not None:
        cost = [[int(stack != home) for stack in value] for value, home in zip(values, instance.placed)]
    most = sum(max(costs) for costs in cost) + 1
    tops = [
        np.array([height + sum(n * nm for n, nm in zip(stack, instance.thickness)) for stack in value])
        for height, value in zip(instance.heights, values)
    ]
    problem = pytoulbar2.CFN(most)
    for at, value in enumerate(values):
        problem.AddVariable(f"s{at}", range(len(value)))
        problem.AddFunction([f"s{at}"], cost[at])
    widths: dict[tuple[int, int], int] = {}
    for members, width in [(range(len(values)), instance.width), *instance.spans]:
        for b in members:
            for a in members:
                if a < b:
                    widths[a, b] = min(width, widths.get((a, b), width))
    for (a, b), width in widths.items():
        apart = np.abs(tops[a][:, None] - tops[b][None, :]) > width
        if apart.any():
            costs = np.where(apart, most, 0).ravel().tolist()
            problem.AddFunction([f"s{a}", f"s{b}"], costs)
    for kind, count in enumerate(instance.counts):
        if count is None:
            continue
        uses = [
            (f"s{at}", index, stack[kind])
            for at, value in enumerate(values)
            for index, stack in enumerate(value)
            if stack[kind] > 0
        ]
        problem.AddGeneralizedLinearConstraint(uses, "<=", count)
    if len(instance.anchors) > 1:
        bare = [
            (f"s{at}", index, 1)
            for at in instance.anchors
            for index, stack in enumerate(values[at])
            if not any(stack)
        ]
        problem.AddGeneralizedLinearConstraint(bare, ">=", 1)
    start = process_time()
    answer = problem.Solve(timeLimit=int(limit) + 1)
    seconds = process_time() - start
    proven = seconds < limit
    plan = None if answer is None else [values[at][index] for at, index in enumerate(answer[0])]
    queue.put((plan, proven, seconds))
