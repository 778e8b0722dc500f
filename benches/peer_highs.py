"""HiGHS: one thread, no gap, lengths in micrometres, one model that the stages add to, each
starting from the last plan."""

from collections.abc import Iterable
from time import process_time

import highspy

from instance import Instance, Stacks
from peer import Stage

NM = 1000
"""Nanometres in the unit of the model: heights of thousands, tolerances far below a nanometre."""


def solve(instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """See `peer.Solve`; the time is that of `Highs.run`, without the building of the model."""
    model = Model(instance, limit)
    stages = []
    for goal in goals:
        model.aim(goal)
        stages.append(model.run(goal))
        value = stages[-1].value
        if value is None or not stages[-1].proven:
            break
        model.settle(goal, value)
    return stages


class Model:
    """Columns: the pieces of each kind under each support, the low end of the window of tops, its
    width, then what stages and spans add."""

    def __init__(self, instance: Instance, limit: float) -> None:
        self.instance = instance
        self.supports = range(len(instance.heights))
        self.kinds = range(len(instance.thickness))
        self.plan: list[float] | None = None
        self.highs = highs = highspy.Highs()
        for option, value in {
            "output_flag": False,
            "threads": 1,
            "mip_rel_gap": 0.0,
            "mip_abs_gap": 0.0,
            "time_limit": limit,
        }.items():
            highs.setOptionValue(option, value)

        self.most = [instance.most(at, kind) for at in self.supports for kind in self.kinds]
        for most in self.most:
            highs.addVar(0, most)
        self.pieces = range(len(self.most))
        self.integral(self.pieces)
        self.steps = [
            [self.add_var(0, instance.settings(kind)[1]) for kind in instance.adjustable]
            for _ in self.supports
        ]
        for at, steps in zip(self.supports, self.steps):
            self.integral(steps)
            for column, kind in zip(steps, instance.adjustable):
                most = instance.settings(kind)[1]
                self.row(-highspy.kHighsInf, 0, {column: 1, self.column(at, kind): -most})
            if len(instance.adjustable) > 1:
                self.row(0, 1, {self.column(at, kind): 1 for kind in instance.adjustable})
        width = instance.width / NM
        self.low = self.add_var(-width, 0)
        # The width is free only when it is the goal.
        self.width = self.add_var(width, width)
        for at in self.supports:
            self.window(at, self.low, self.width, 0)
        for members, span in instance.spans:
            low = self.add_var(-width, width)
            for at in members:
                self.window(at, low, None, span / NM)
        if instance.max_pieces is not None:
            for at in self.supports:
                columns = [self.column(at, kind) for kind in self.kinds]
                self.row(0, instance.max_pieces, {column: 1 for column in columns})
        for kind in self.kinds:
            count = instance.counts[kind]
            columns = [self.column(at, kind) for at in self.supports]
            if count is not None and count < sum(self.most[column] for column in columns):
                self.row(0, count, {column: 1 for column in columns})

    def column(self, support: int, kind: int) -> int:
        return support * len(self.kinds) + kind

    def add_var(self, lower: float, upper: float) -> int:
        self.highs.addVar(lower, upper)
        return self.highs.getNumCol() - 1

    def integral(self, columns: Iterable[int]) -> None:
        for column in columns:
            self.highs.changeColIntegrality(column, highspy.HighsVarType.kInteger)

    def row(self, lower: float, upper: float, terms: dict[int, float]) -> None:
        self.highs.addRow(lower, upper, len(terms), list(terms), list(terms.values()))

    def window(self, support: int, low: int, width: int | None, span: float) -> None:
        """The top of a support lies from `low` to `low + width + span`."""
        height = self.instance.heights[support] / NM
        top = {
            self.column(support, kind): self.instance.thickness[kind] / NM for kind in self.kinds
        }
        for column, kind in zip(self.steps[support], self.instance.adjustable):
            top[column] = self.instance.settings(kind)[0] / NM
        self.row(-height, highspy.kHighsInf, {**top, low: -1})
        wide = {} if width is None else {width: -1}
        self.row(-highspy.kHighsInf, span - height, {**top, low: -1, **wide})

    def aim(self, goal: str) -> None:
        """Makes a goal the objective."""
        costs = [0.0] * self.highs.getNumCol()
        match goal:
            case "price":
                costs[: len(self.most)] = (self.instance.prices or []) * len(self.supports)
            case "pieces":
                costs[: len(self.most)] = [1.0] * len(self.most)
            case "range":
                self.highs.changeColBounds(self.width, 0, self.instance.width / NM)
                costs[self.width] = 1.0
            case "kinds":
                for kind in self.kinds:
                    taken = self.add_var(0, 1)
                    self.integral(range(taken, taken + 1))
                    costs.append(1.0)
                    if self.plan is not None:
                        self.plan.append(1.0)
                    for at in self.supports:
                        column = self.column(at, kind)
                        terms = {column: 1, taken: -self.most[column]}
                        self.row(-highspy.kHighsInf, 0, terms)
        for column, cost in enumerate(costs):
            self.highs.changeColCost(column, cost)

    def settle(self, goal: str, value: int) -> None:
        """Holds a goal at its value."""
        match goal:
            case "price":
                prices = self.instance.prices or []
                prices = {column: prices[column % len(prices)] for column in self.pieces}
                self.row(value, value, {column: price for column, price in prices.items() if price})
            case "pieces":
                self.row(value, value, {column: 1 for column in self.pieces})
            case "range":
                # Half a nanometre more, so that rounding costs no plan.
                self.highs.changeColBounds(self.width, 0, (value + 0.5) / NM)

    def run(self, goal: str) -> Stage:
        if self.plan is not None:
            solution = highspy.HighsSolution()
            solution.col_value = self.plan
            self.highs.setSolution(solution)
        start = process_time()
        self.highs.run()
        seconds = process_time() - start
        status = self.highs.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return Stage(None, True, seconds)
        columns = list(self.highs.getSolution().col_value)
        if self.highs.getInfo().primal_solution_status != 2 or not columns:
            return Stage(None, False, seconds)
        stacks = self.stacks(columns)
        steps = [[round(columns[column]) for column in steps] for steps in self.steps]
        # A plan within the tolerances of the solver, but not within the limits, proves nothing.
        if not self.instance.allows(stacks, steps):
            return Stage(None, False, seconds)
        self.plan = columns
        proven = status == highspy.HighsModelStatus.kOptimal
        return Stage(self.instance.value(goal, stacks, steps), proven, seconds)

    def stacks(self, columns: list[float]) -> Stacks:
        return [
            [round(columns[self.column(at, kind)]) for kind in self.kinds] for at in self.supports
        ]
