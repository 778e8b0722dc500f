"""CP-SAT: one thread, whole nanometres, a model for each stage with the last plan as its hint."""

from time import process_time

from ortools.sat.python import cp_model

from instance import Instance, Plan
from peer import Stage


def solve(instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """See `peer.Solve`; the time is that of `CpSolver.solve`, without the building of the model."""
    settled: dict[str, int] = {}
    hint: Plan | None = None
    stages = []
    for goal in goals:
        model = Model(instance, goal, settled, hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        # Far faster here than the default of 1, where stock and window hardly bound the pieces.
        solver.parameters.linearization_level = 2
        solver.parameters.max_time_in_seconds = limit
        start = process_time()
        status = solver.solve(model.model)
        seconds = process_time() - start
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            hint = model.plan(solver)
            assert instance.allows(hint)
            value = instance.value(goal, hint)
            stages.append(Stage(value, status == cp_model.OPTIMAL, seconds))
            settled[goal] = value
        else:
            stages.append(Stage(None, status == cp_model.INFEASIBLE, seconds))
        if status != cp_model.OPTIMAL:
            break
    return stages


class Model:
    """The model of a stage: numbers of pieces, the steps of the adjustable ones, and the slope."""

    def __init__(
        self, instance: Instance, goal: str, settled: dict[str, int], hint: Plan | None
    ) -> None:
        self.instance = instance
        self.supports = range(len(instance.heights))
        self.kinds = range(len(instance.thickness))
        self.model = model = cp_model.CpModel()
        self.most = [[instance.most(at, kind) for kind in self.kinds] for at in self.supports]
        self.used = [[model.new_int_var(0, most, "") for most in stack] for stack in self.most]
        settings = [instance.settings(kind) for kind in instance.adjustable]
        self.steps = [[model.new_int_var(0, most, "") for _, most in settings] for _ in self.supports]
        self.tilt = [model.new_int_var(-most, most, "") for most in instance.slopes]
        self.stacks()
        self.limits(goal, settled)
        self.stock()
        self.aim(goal, settled)
        if hint is not None:
            for n, value in zip(sum(self.used + self.steps, []), sum(hint.stacks + hint.steps, [])):
                model.add_hint(n, value)
            for slope, value in zip(self.tilt, hint.tilt):
                model.add_hint(slope, value)

    def plan(self, solver: cp_model.CpSolver) -> Plan:
        def of(stacks: list[list[cp_model.IntVar]]) -> list[list[int]]:
            return [[solver.value(n) for n in stack] for stack in stacks]

        along, across = (solver.value(slope) for slope in self.tilt)
        return Plan(of(self.used), of(self.steps), (along, across))

    def stacks(self) -> None:
        """What a stack may be, and that one of the anchors is bare."""
        instance, model = self.instance, self.model
        for stack, step in zip(self.used, self.steps):
            for n, kind in zip(step, instance.adjustable):
                model.add(n <= instance.settings(kind)[1] * stack[kind])
            if len(instance.adjustable) > 1:
                model.add(sum(stack[kind] for kind in instance.adjustable) <= 1)
            if instance.max_pieces is not None:
                model.add(sum(stack) <= instance.max_pieces)
        if len(instance.anchors) > 1:
            bare = []
            for at in instance.anchors:
                bare.append(model.new_bool_var(""))
                for n in self.used[at]:
                    model.add(n == 0).only_enforce_if(bare[-1])
            model.add_bool_or(bare)

    def limits(self, goal: str, settled: dict[str, int]) -> None:
        instance, model = self.instance, self.model
        tops = []
        for at in self.supports:
            terms = [*self.used[at], *self.steps[at], *self.tilt]
            each = instance.thickness + [instance.settings(kind)[0] for kind in instance.adjustable]
            each += [-way for way in instance.places[at]]
            tops.append(instance.heights[at] + cp_model.LinearExpr.weighted_sum(terms, each))
        # Above a slope all heights shift with the place of the anchor too.
        width, away = instance.width, sum(
            slope * max(map(abs, axis)) for slope, axis in zip(instance.slopes, zip(*instance.places))
        )
        low = model.new_int_var(-width - away, away, "")
        self.window = settled.get("range", width)
        if goal == "range":
            self.window = model.new_int_var(0, self.window, "")
        for top in tops:
            model.add(top >= low)
            model.add(top <= low + self.window)
        for members, span in instance.spans:
            if len(members) == 2:
                a, b = members
                model.add_linear_constraint(tops[a] - tops[b], -span, span)
                continue
            low = model.new_int_var(-width - away, width + away, "")
            for at in members:
                model.add(tops[at] >= low)
                model.add(tops[at] <= low + span)

    def stock(self) -> None:
        for kind in self.kinds:
            count = self.instance.counts[kind]
            if count is not None and count < sum(most[kind] for most in self.most):
                self.model.add(sum(stack[kind] for stack in self.used) <= count)

    def aim(self, goal: str, settled: dict[str, int]) -> None:
        """Holds the settled goals at their values, and makes another the objective."""
        for settled_goal, value in settled.items():
            if settled_goal not in ("range", "kinds"):
                self.model.add(self.total(settled_goal) == value)
        match goal:
            case "range":
                self.model.minimize(self.window)
            case "kinds":
                taken = [self.model.new_bool_var("") for _ in self.kinds]
                for stack, most in zip(self.used, self.most):
                    for n, most_of, of in zip(stack, most, taken):
                        self.model.add(n <= most_of * of)
                self.model.minimize(sum(taken))
            case _:
                self.model.minimize(self.total(goal))

    def total(self, goal: str) -> cp_model.LinearExprT:
        """A goal that adds up."""
        instance, model = self.instance, self.model
        pairs = [(at, kind) for at in self.supports for kind in self.kinds]
        match goal:
            case "price":
                return sum((instance.prices or [])[kind] * self.used[at][kind] for at, kind in pairs)
            case "lifts":
                lifted = [model.new_bool_var("") for _ in self.supports]
                for at, kind in pairs:
                    same = self.used[at][kind] == instance.home(at, kind)
                    model.add(same).only_enforce_if(~lifted[at])
                return sum(lifted)
            case "moved":
                moved = []
                for at, kind in pairs:
                    n, home = self.used[at][kind], instance.home(at, kind)
                    if home == 0:
                        moved.append(n)
                        continue
                    moved.append(model.new_int_var(0, max(home, self.most[at][kind]), ""))
                    model.add(moved[-1] >= n - home)
                    model.add(moved[-1] >= home - n)
                return sum(moved)
        return sum(n for stack in self.used for n in stack)
