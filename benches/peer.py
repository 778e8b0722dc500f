"""What a peer, a general-purpose solver, says about an instance."""

from collections.abc import Callable
from dataclasses import dataclass

from instance import Instance


@dataclass(frozen=True)
class Stage:
    """One goal with those before it settled: the best value found, if any, and whether it is
    proven (or, without a value, that there is none)."""

    value: int | None
    proven: bool
    seconds: float


Solve = Callable[[Instance, list[str], float], list[Stage]]
"""Settles goals one after the other, each with a limit of seconds; stops behind the first one that
has no proven value."""

def solve(peer: Solve, instance: Instance, goals: list[str], limit: float) -> list[Stage]:
    """Settles the goals; where there is no plan, that, and if more than the first was asked for the
    least range that the stock allows whatever the limits, as truebed answers it."""
    stages = peer(instance, goals, limit)
    if len(goals) > 1 and stages[0].proven and stages[0].value is None:
        stages += peer(instance.without_limits(), ["range"], limit)
    return stages
