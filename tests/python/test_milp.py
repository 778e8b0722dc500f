"""truebed's plans against a mixed-integer program, goal by goal: optima tie, so values are
compared and not stacks."""

import numpy as np
import pytest
from shim_milp import GOALS, Problem, brute_force, solve

import truebed

UNIT_MM = 0.01
LINE_WIDTH_MM = 10
THICKNESSES = [4, 5, 10, 13, 25, 40, 51, 79, 100, 159, 318]


class Site:
    """A random problem, as truebed takes it and as the oracle does."""

    def __init__(self, seed: int) -> None:
        random = np.random.default_rng(seed)
        count = int(random.integers(3, 9))
        # Two rows, nowhere further off their lines than points of one line may be apart.
        self.xy = np.array([[700 * (at // 2), 1000 * (at % 2)] for at in range(count)], float)
        self.xy += random.uniform(0, LINE_WIDTH_MM - 1, (count, 2))
        span = int(random.choice([20, 80, 300, 600]))
        heights = random.choice(np.arange(-span, 0), count, replace=False).tolist()
        kinds = int(random.integers(3, 6))
        thickness = random.choice(THICKNESSES, kinds, replace=False).tolist()
        counts = [None if random.random() < 0.5 else int(random.integers(0, 8)) for _ in thickness]
        self.order = list(GOALS)[seed % len(GOALS)]
        price = random.integers(0, 10, kinds).tolist() if self.order == "cheapest" else [0] * kinds

        overall = int(random.integers(2, 16))
        along = int(random.integers(2, 10)) if random.random() < 0.4 else None
        across = int(random.integers(2, 10)) if random.random() < 0.4 else None
        self.joints = []
        if random.random() < 0.4:
            self.joints = [(0, 1)] if count < 4 else [(0, 2), (3, 1)]
        step = int(random.integers(1, 10)) if self.joints else None
        self.limits = [overall, along, across, step]
        self.problem = Problem(
            heights,
            thickness,
            counts,
            price,
            widths(count, overall, along, across, step, self.joints),
            keep_highest=bool(random.random() < 0.7),
            max_pieces=int(random.integers(2, 5)) if random.random() < 0.3 else None,
            goals=GOALS[self.order],
        )

    def plan(self) -> truebed.ShimPlan:
        problem = self.problem
        kinds = zip(problem.thickness, problem.count, problem.price)
        return truebed.plan_shims(
            self.xy,
            [height * UNIT_MM for height in problem.heights],
            [truebed.Shim(thickness * UNIT_MM, n, price) for thickness, n, price in kinds],
            truebed.Limits(*(None if limit is None else limit * UNIT_MM for limit in self.limits)),
            order=self.order,
            keep_highest=problem.keep_highest,
            max_pieces=problem.max_pieces,
            joints=self.joints,
            # More than the default, which a few of these need to be proven.
            budget=truebed.Budget(nodes=200_000_000),
        )


def widths(count, overall, along, across, step, joints):
    """The limits as largest differences of height within sets of supports."""
    rows = [list(range(side, count, 2)) for side in range(2)]
    columns = [[at, at + 1] for at in range(0, count - 1, 2)]
    found = [(list(range(count)), 2 * overall)]
    found += [(row, 2 * along) for row in rows if along is not None]
    found += [(column, 2 * across) for column in columns if across is not None]
    return found + [([a, b], step) for a, b in joints]


def units(mm):
    """Whole units; what is not whole was not computed exactly."""
    value = mm / UNIT_MM
    assert abs(value - round(value)) < 1e-6
    return round(value)


@pytest.mark.parametrize("seed", range(160))
def test_plan_reaches_the_optimum_of_every_goal(seed):
    site = Site(seed)
    problem, plan = site.problem, site.plan()
    check_plan(problem, plan)
    expected = solve(problem)
    if expected is None:
        assert plan.status == "infeasible"
        assert not plan.meets_limits
        (flattest,) = solve(problem.without_limits())
        assert units(2 * plan.worst_mm) == units(2 * plan.bound) == flattest
        return
    reached = {
        "pieces": plan.pieces,
        "range": units(2 * plan.worst_mm),
        "kinds": sum(used > 0 for used in plan.used),
        "lifts": sum(bool(stack) for stack in plan.stacks),
        "price": sum(used * price for used, price in zip(plan.used, problem.price)),
    }
    assert plan.status == "proven"
    assert tuple(reached[name] for name in problem.goals) == expected
    first = plan.bound if problem.goals[0] != "range" else units(2 * plan.bound)
    assert first == expected[0]


def check_plan(problem, plan):
    """That the plan is one: from the stock, within the limits, and added up rightly."""
    stacks = [[units(thickness) for thickness in stack] for stack in plan.stacks]
    lifts = [sum(stack) for stack in stacks]
    tops = [height + lift for height, lift in zip(problem.heights, lifts)]
    assert all(stack == sorted(stack, reverse=True) for stack in stacks)
    assert [units(lift) for lift in plan.lifts_mm] == lifts
    assert [units(top) for top in plan.tops_mm] == tops
    assert units(2 * plan.target_mm) == max(tops) + min(tops)
    assert units(2 * plan.worst_mm) == max(tops) - min(tops)
    assert plan.pieces == sum(map(len, stacks)) == sum(plan.used)
    for thickness, count, used in zip(problem.thickness, problem.count, plan.used):
        assert sum(stack.count(thickness) for stack in stacks) == used
        assert count is None or used <= count
    assert problem.max_pieces is None or max(map(len, stacks)) <= problem.max_pieces
    bare = [at for at, stack in enumerate(stacks) if not stack]
    highest = problem.heights.index(max(problem.heights))
    assert highest in bare if problem.keep_highest else bare
    differences = [
        (max(tops[at] for at in members) - min(tops[at] for at in members), width)
        for members, width in problem.widths
    ]
    assert plan.meets_limits == all(found <= width for found, width in differences)


@pytest.mark.parametrize("seed", range(60))
def test_the_oracle_is_right_where_everything_can_be_tried(seed):
    random = np.random.default_rng(1000 + seed)
    count = int(random.integers(2, 5))
    kinds = 2 if count > 3 else int(random.integers(2, 4))
    overall, step = int(random.integers(0, 6)), int(random.integers(1, 6))
    along = int(random.integers(0, 6)) if seed % 3 == 0 else None
    problem = Problem(
        random.choice(np.arange(-20, 0), count, replace=False).tolist(),
        random.choice(np.arange(1, 13), kinds, replace=False).tolist(),
        random.integers(0, 4, kinds).tolist(),
        random.integers(0, 5, kinds).tolist(),
        widths(count, overall, along, None, step, [(0, 1)] if seed % 2 else []),
        keep_highest=bool(random.random() < 0.5),
        max_pieces=2 if random.random() < 0.3 else None,
        goals=list(GOALS.values())[seed % len(GOALS)],
    )
    assert solve(problem) == brute_force(problem)
    assert solve(problem.without_limits()) == brute_force(problem.without_limits())
