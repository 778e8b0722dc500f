"""HiGHS: one thread, no gap, lengths in micrometres, one model that the stages add to, each
starting from the last plan."""

from time import process_time

import highspy

from instance import Instance, Plan
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
    """Columns: the pieces of each kind under each support, the steps of the adjustable ones, the slope,
    the low end of the window of tops, its width, then what stages and spans add."""

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
        self.pieces = [self.add_whole(0, most) for most in self.most]
        self.steps = [
            [self.add_whole(0, instance.settings(kind)[1]) for kind in instance.adjustable]
            for _ in self.supports
        ]
        self.tilt = [self.add_whole(-most, most) for most in instance.slopes if most > 0]
        self.totals: dict[str, dict[int, float]] = {}
        self.stacks()
        self.limits()
        self.stock()

    def stacks(self) -> None:
        """What a stack may be, and that one of the anchors is bare."""
        instance = self.instance
        for at, steps in zip(self.supports, self.steps):
            for column, kind in zip(steps, instance.adjustable):
                most = instance.settings(kind)[1]
                self.row(-highspy.kHighsInf, 0, {column: 1, self.column(at, kind): -most})
            if len(instance.adjustable) > 1:
                self.row(0, 1, {self.column(at, kind): 1 for kind in instance.adjustable})
            if instance.max_pieces is not None:
                columns = [self.column(at, kind) for kind in self.kinds]
                self.row(0, instance.max_pieces, {column: 1 for column in columns})
        if len(instance.anchors) > 1:
            bare = {self.add_whole(0, 1): at for at in instance.anchors}
            for flag, at in bare.items():
                for column in (self.column(at, kind) for kind in self.kinds):
                    most = self.most[column]
                    self.row(-highspy.kHighsInf, most, {column: 1, flag: most})
            self.row(1, len(bare), dict.fromkeys(bare, 1))

    def limits(self) -> None:
        instance = self.instance
        width = instance.width / NM
        # Above a slope all heights shift with the place of the anchor too.
        away = sum(
            slope * max(map(abs, axis)) / NM
            for slope, axis in zip(instance.slopes, zip(*instance.places))
        )
        self.low = self.add_var(-width - away, away)
        # The width is free only when it is the goal.
        self.width = self.add_var(width, width)
        for at in self.supports:
            self.window(at, self.low, self.width, 0)
        for members, span in instance.spans:
            if len(members) == 2:
                a, b = members
                apart = (instance.heights[a] - instance.heights[b]) / NM
                terms, others = self.top(a), self.top(b)
                terms = {
                    column: terms.get(column, 0) - others.get(column, 0) for column in terms | others
                }
                self.row(-span / NM - apart, span / NM - apart, terms)
                continue
            low = self.add_var(-width - away, width + away)
            for at in members:
                self.window(at, low, None, span / NM)

    def stock(self) -> None:
        for kind in self.kinds:
            count = self.instance.counts[kind]
            columns = [self.column(at, kind) for at in self.supports]
            if count is not None and count < sum(self.most[column] for column in columns):
                self.row(0, count, {column: 1 for column in columns})

    def column(self, support: int, kind: int) -> int:
        return support * len(self.kinds) + kind

    def add_var(self, lower: float, upper: float) -> int:
        self.highs.addVar(lower, upper)
        if self.plan is not None:
            self.plan.append(lower)
        return self.highs.getNumCol() - 1

    def add_whole(self, lower: int, upper: int) -> int:
        column = self.add_var(lower, upper)
        self.highs.changeColIntegrality(column, highspy.HighsVarType.kInteger)
        return column

    def row(self, lower: float, upper: float, terms: dict[int, float]) -> None:
        self.highs.addRow(lower, upper, len(terms), list(terms), list(terms.values()))

    def top(self, support: int) -> dict[int, float]:
        """The top of a support above the slope, but for its height."""
        instance = self.instance
        top = {self.column(support, kind): instance.thickness[kind] / NM for kind in self.kinds}
        for column, kind in zip(self.steps[support], instance.adjustable):
            top[column] = instance.settings(kind)[0] / NM
        sloping = [way for way, most in zip(instance.places[support], instance.slopes) if most > 0]
        return top | {column: -way / NM for column, way in zip(self.tilt, sloping)}

    def window(self, support: int, low: int, width: int | None, span: float) -> None:
        """The top of a support lies from `low` to `low + width + span`."""
        height, top = self.instance.heights[support] / NM, self.top(support)
        self.row(-height, highspy.kHighsInf, {**top, low: -1})
        wide = {} if width is None else {width: -1}
        self.row(-highspy.kHighsInf, span - height, {**top, low: -1, **wide})

    def total(self, goal: str) -> dict[int, float]:
        """A goal that adds up: columns, and what each counts."""
        if goal not in self.totals:
            self.totals[goal] = self.new_total(goal)
        return self.totals[goal]

    def new_total(self, goal: str) -> dict[int, float]:
        instance, pieces = self.instance, self.pieces
        home = [instance.home(at, kind) for at in self.supports for kind in self.kinds]
        match goal:
            case "price":
                prices = instance.prices or []
                return {column: prices[column % len(prices)] for column in pieces}
            case "lifts":
                lifted = [self.add_whole(0, 1) for _ in self.supports]
                for column in pieces:
                    at, most = lifted[column // len(self.kinds)], self.most[column]
                    more, less = max(most - home[column], 0), home[column]
                    self.row(-highspy.kHighsInf, less, {column: 1, at: -more})
                    self.row(less, highspy.kHighsInf, {column: 1, at: less})
                return dict.fromkeys(lifted, 1)
            case "moved":
                total = {}
                for column in pieces:
                    if home[column] == 0:
                        total[column] = 1
                        continue
                    moved = self.add_var(0, max(home[column], self.most[column]))
                    self.row(-home[column], highspy.kHighsInf, {moved: 1, column: -1})
                    self.row(home[column], highspy.kHighsInf, {moved: 1, column: 1})
                    total[moved] = 1
                return total
            case "kinds":
                taken = [self.add_whole(0, 1) for _ in self.kinds]
                for column in pieces:
                    of = taken[column % len(taken)]
                    self.row(-highspy.kHighsInf, 0, {column: 1, of: -self.most[column]})
                return dict.fromkeys(taken, 1)
        return dict.fromkeys(pieces, 1)

    def aim(self, goal: str) -> None:
        """Makes a goal the objective."""
        if goal == "range":
            self.highs.changeColBounds(self.width, 0, self.instance.width / NM)
        terms = {self.width: 1.0} if goal == "range" else self.total(goal)
        for column in range(self.highs.getNumCol()):
            self.highs.changeColCost(column, terms.get(column, 0.0))

    def settle(self, goal: str, value: int) -> None:
        """Holds a goal at its value."""
        if goal == "range":
            # Half a nanometre more, so that rounding costs no plan.
            self.highs.changeColBounds(self.width, 0, (value + 0.5) / NM)
        else:
            terms = {column: each for column, each in self.total(goal).items() if each}
            self.row(value, value, terms)

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
        plan = self.read(columns)
        # A plan within the tolerances of the solver, but not within the limits, proves nothing.
        if not self.instance.allows(plan):
            return Stage(None, False, seconds)
        self.plan = columns
        proven = status == highspy.HighsModelStatus.kOptimal
        return Stage(self.instance.value(goal, plan), proven, seconds)

    def read(self, columns: list[float]) -> Plan:
        stacks = [
            [round(columns[self.column(at, kind)]) for kind in self.kinds] for at in self.supports
        ]
        steps = [[round(columns[column]) for column in steps] for steps in self.steps]
        slopes = iter(self.tilt)
        tilt = [round(columns[next(slopes)]) if most > 0 else 0 for most in self.instance.slopes]
        return Plan(stacks, steps, (tilt[0], tilt[1]))
