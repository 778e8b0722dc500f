"""What a peer, a general-purpose solver, says about an instance."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from instance import Instance


@dataclass(frozen=True)
class Stage:
    """One goal with those before it settled: the best value found, if any, and whether it is
    proven (or, without a value, that there is none)."""

    value: int | list[list[int]] | None
    proven: bool
    seconds: float


Solve = Callable[[Instance, list[str], float], list[Stage]]
"""Settles goals one after the other, each with a limit of seconds; stops behind the first one that
has no proven value."""


def solve(peer: Solve, instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """Settles the goals; where there is no plan, that, and if more than the first was asked for the
    least range that the stock allows whatever the limits, as truebed answers it. Of a trade-off the one
    stage is all of it."""
    if instance.tradeoff:
        return [front(peer, instance, limit)]
    stages = peer(instance, goals, limit)
    if len(goals) > 1 and stages[0].proven and stages[0].value is None:
        stages += peer(instance.without_limits(), ["range"], limit)
    return stages


def front(peer: Solve, instance: Instance, limit: float) -> Stage:
    """All pairs of pieces and range that no other betters, by the epsilon-constraint method: fewest
    pieces, then the least range with those, then the same below that range (Haimes, Lasdon & Wismer
    1971, from memory)."""
    found: list[list[int]] = []
    seconds = 0.0
    while True:
        stages = peer(instance, ["pieces", "range"], limit)
        seconds += sum(stage.seconds for stage in stages)
        if stages[0].proven and stages[0].value is None:
            return Stage(found or None, True, seconds)
        if not all(stage.proven for stage in stages):
            return Stage(found or None, False, seconds)
        found.append([stage.value for stage in stages])
        if found[-1][1] == 0:
            return Stage(found, True, seconds)
        instance = replace(instance, width=found[-1][1] - 1)
