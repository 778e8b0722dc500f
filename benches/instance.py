"""An instance as a peer sees it, in whole nanometres above the highest support."""

from dataclasses import dataclass, replace
from typing import Any

Stacks = list[list[int]]
"""Pieces of each kind under each support."""


@dataclass(frozen=True)
class Instance:
    """`width` is the difference of height allowed over all supports, `spans` within further sets.

    The highest support, at height zero, stays bare, so every top lies within `width` of zero.
    """

    heights: list[int]
    thickness: list[int]
    counts: list[int | None]
    width: int
    spans: list[tuple[list[int], int]]
    max_pieces: int | None
    prices: list[int] | None
    """Where the lowest price is the first goal."""
    adjusts: list[tuple[int, int] | None]
    """Of adjustable kinds, of which a stack has one piece at the most, the greatest thickness and the
    step."""

    @classmethod
    def read(cls, data: dict[str, Any]) -> "Instance":
        highest = max(data["heights"])
        assert data["keep_highest"] and data["heights"].count(highest) == 1
        (everyone, width), *spans = data["spans"]
        assert len(everyone) == len(data["heights"])
        heights = [height - highest for height in data["heights"]]
        spans = [(members, span) for members, span in spans if span < width]
        return cls(
            heights,
            data["thickness"],
            data["counts"],
            width,
            spans,
            data["max_pieces"],
            data["prices"],
            [None if adjusts is None else tuple(adjusts) for adjusts in data["adjusts"]],
        )

    @property
    def goals(self) -> list[str]:
        """What is to be settled, one after the other."""
        return [*([] if self.prices is None else ["price"]), "pieces", "range", "kinds"]

    @property
    def adjustable(self) -> list[int]:
        """The adjustable kinds."""
        return [kind for kind, adjusts in enumerate(self.adjusts) if adjusts is not None]

    def settings(self, kind: int) -> tuple[int, int]:
        """The step of an adjustable kind, and how many there are above its least thickness."""
        to, step = self.adjusts[kind] or (0, 1)
        return step, (to - self.thickness[kind]) // step

    def without_limits(self) -> "Instance":
        """Any plan will do that is no worse than no shims at all."""
        return replace(self, width=-min(self.heights), spans=[])

    def most(self, support: int, kind: int) -> int:
        """The most pieces of a kind that fit under a support."""
        if self.heights[support] == 0:
            return 0
        fit = (self.width - self.heights[support]) // self.thickness[kind]
        if self.adjusts[kind] is not None:
            fit = min(fit, 1)
        if self.max_pieces is not None:
            fit = min(fit, self.max_pieces)
        count = self.counts[kind]
        return fit if count is None else min(fit, count)

    def value(self, goal: str, stacks: Stacks, steps: Stacks) -> int:
        """What a plan reaches of a goal."""
        match goal:
            case "price":
                prices = self.prices or []
                return sum(n * price for stack in stacks for n, price in zip(stack, prices))
            case "pieces":
                return sum(map(sum, stacks))
            case "range":
                tops = self.tops(stacks, steps)
                return max(tops) - min(tops)
            case "kinds":
                return sum(any(kind) for kind in zip(*stacks))
        raise ValueError(goal)

    def tops(self, stacks: Stacks, steps: Stacks) -> list[int]:
        """`steps` says by how many steps the adjustable piece of each kind stands above its least."""
        widths = [self.settings(kind)[0] for kind in self.adjustable]
        return [
            height
            + sum(n * nm for n, nm in zip(stack, self.thickness))
            + sum(n * nm for n, nm in zip(step, widths))
            for height, stack, step in zip(self.heights, stacks, steps)
        ]

    def allows(self, stacks: Stacks, steps: Stacks) -> bool:
        """Whether a plan keeps to the limits and the stock, exactly."""
        tops = self.tops(stacks, steps)
        spans = [(range(len(tops)), self.width), *self.spans]
        return all(
            max(tops[at] for at in members) - min(tops[at] for at in members) <= width
            for members, width in spans
        ) and all(
            count is None or sum(kind) <= count for count, kind in zip(self.counts, zip(*stacks))
        ) and all(
            self.max_pieces is None or sum(stack) <= self.max_pieces for stack in stacks
        ) and all(
            sum(stack[kind] for kind in self.adjustable) <= 1
            and all(
                0 <= n <= self.settings(kind)[1] * stack[kind]
                for n, kind in zip(step, self.adjustable)
            )
            for stack, step in zip(stacks, steps)
        )
