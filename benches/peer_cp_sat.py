"""CP-SAT: one thread, whole nanometres, a model for each stage with the last plan as its hint."""

from time import process_time

from ortools.sat.python import cp_model

from instance import Instance, Stacks
from peer import Stage


def solve(instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """See `peer.Solve`; the time is that of `CpSolver.solve`, without the building of the model."""
    settled: dict[str, int] = {}
    hint: tuple[Stacks, Stacks] | None = None
    stages = []
    for goal in goals:
        model, used, steps = build(instance, goal, settled, hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        # Far faster here than the default of 1, where stock and window hardly bound the pieces.
        solver.parameters.linearization_level = 2
        solver.parameters.max_time_in_seconds = limit
        start = process_time()
        status = solver.solve(model)
        seconds = process_time() - start
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            stacks = [[solver.value(n) for n in stack] for stack in used]
            hint = stacks, [[solver.value(n) for n in stack] for stack in steps]
            assert instance.allows(*hint)
            value = instance.value(goal, *hint)
            stages.append(Stage(value, status == cp_model.OPTIMAL, seconds))
            settled[goal] = value
        else:
            stages.append(Stage(None, status == cp_model.INFEASIBLE, seconds))
        if status != cp_model.OPTIMAL:
            break
    return stages


def build(
    instance: Instance,
    goal: str,
    settled: dict[str, int],
    hint: tuple[Stacks, Stacks] | None,
) -> tuple[cp_model.CpModel, list[list[cp_model.IntVar]], list[list[cp_model.IntVar]]]:
    """The model of a stage, its numbers of pieces, and the steps of the adjustable ones."""
    model = cp_model.CpModel()
    supports, kinds = range(len(instance.heights)), range(len(instance.thickness))
    most = [[instance.most(at, kind) for kind in kinds] for at in supports]
    used = [[model.new_int_var(0, most[at][kind], "") for kind in kinds] for at in supports]
    settings = [instance.settings(kind) for kind in instance.adjustable]
    steps = [[model.new_int_var(0, most, "") for _, most in settings] for _ in supports]
    tops = [
        instance.heights[at]
        + cp_model.LinearExpr.weighted_sum(used[at], instance.thickness)
        + cp_model.LinearExpr.weighted_sum(steps[at], [step for step, _ in settings])
        for at in supports
    ]
    for stack, step in zip(used, steps):
        for n, kind, (_, most_steps) in zip(step, instance.adjustable, settings):
            model.add(n <= most_steps * stack[kind])
        if len(instance.adjustable) > 1:
            model.add(sum(stack[kind] for kind in instance.adjustable) <= 1)

    width = instance.width
    low = model.new_int_var(-width, 0, "")
    window = model.new_int_var(0, settled.get("range", width), "") if goal == "range" else None
    for top in tops:
        model.add(top >= low)
        model.add(top <= low + (settled.get("range", width) if window is None else window))
    for members, span in instance.spans:
        low = model.new_int_var(-width, width, "")
        for at in members:
            model.add(tops[at] >= low)
            model.add(tops[at] <= low + span)
    for kind in kinds:
        count = instance.counts[kind]
        if count is not None and count < sum(most[at][kind] for at in supports):
            model.add(sum(used[at][kind] for at in supports) <= count)

    if instance.max_pieces is not None:
        for stack in used:
            model.add(sum(stack) <= instance.max_pieces)

    pieces = sum(n for stack in used for n in stack)
    totals = {"pieces": pieces}
    if instance.prices is not None:
        totals["price"] = sum(
            price * n for stack in used for price, n in zip(instance.prices, stack)
        )
    for settled_goal, total in totals.items():
        if settled_goal in settled:
            model.add(total == settled[settled_goal])
    match goal:
        case "price":
            model.minimize(totals["price"])
        case "pieces":
            model.minimize(pieces)
        case "range":
            model.minimize(window)
        case "kinds":
            taken = [model.new_bool_var("") for _ in kinds]
            for at in supports:
                for kind in kinds:
                    model.add(used[at][kind] <= most[at][kind] * taken[kind])
            model.minimize(sum(taken))
    if hint is not None:
        for stack, old in zip(used + steps, hint[0] + hint[1]):
            for n, value in zip(stack, old):
                model.add_hint(n, value)
    return model, used, steps
