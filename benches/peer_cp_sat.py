"""CP-SAT: one thread, whole nanometres, a model for each stage with the last plan as its hint."""

from time import process_time

from ortools.sat.python import cp_model

from instance import Instance, Stacks
from peer import Stage


def solve(instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """See `peer.Solve`; the time is that of `CpSolver.solve`, without the building of the model."""
    settled: dict[str, int] = {}
    hint: Stacks | None = None
    stages = []
    for goal in goals:
        model, used = build(instance, goal, settled, hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        # Far faster here than the default of 1, where stock and window hardly bound the pieces.
        solver.parameters.linearization_level = 2
        solver.parameters.max_time_in_seconds = limit
        start = process_time()
        status = solver.solve(model)
        seconds = process_time() - start
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            hint = [[solver.value(n) for n in stack] for stack in used]
            assert instance.allows(hint)
            value = instance.value(goal, hint)
            stages.append(Stage(value, status == cp_model.OPTIMAL, seconds))
            settled[goal] = value
        else:
            stages.append(Stage(None, status == cp_model.INFEASIBLE, seconds))
        if status != cp_model.OPTIMAL:
            break
    return stages


def build(
    instance: Instance, goal: str, settled: dict[str, int], hint: Stacks | None
) -> tuple[cp_model.CpModel, list[list[cp_model.IntVar]]]:
    """The model of a stage, and its numbers of pieces."""
    model = cp_model.CpModel()
    supports, kinds = range(len(instance.heights)), range(len(instance.thickness))
    most = [[instance.most(at, kind) for kind in kinds] for at in supports]
    used = [[model.new_int_var(0, most[at][kind], "") for kind in kinds] for at in supports]
    tops = [
        instance.heights[at] + cp_model.LinearExpr.weighted_sum(used[at], instance.thickness)
        for at in supports
    ]

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
    if "pieces" in settled:
        model.add(pieces == settled["pieces"])
    match goal:
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
        for stack, old in zip(used, hint):
            for n, value in zip(stack, old):
                model.add_hint(n, value)
    return model, used
