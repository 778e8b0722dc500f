"""An instance as a peer sees it, in whole nanometres above the highest support without shims."""

from dataclasses import dataclass, replace
from math import ceil, sqrt
from statistics import NormalDist
from typing import Any

Stacks = list[list[int]]
"""Pieces of each kind under each support."""


Tilt = tuple[int, int]
"""The slope of the target along and across, µm/m."""


@dataclass(frozen=True)
class Plan:
    """`steps` says by how many steps the adjustable piece of each kind stands above its least."""

    stacks: Stacks
    steps: Stacks
    tilt: Tilt = (0, 0)


@dataclass(frozen=True)
class Instance:
    """`width` is the difference of height allowed over all supports, `spans` within further sets.

    One of the `anchors` stays bare, so every top lies within `width` of it.
    """

    heights: list[int]
    places: list[tuple[int, int]]
    """In whole millimetres."""
    thickness: list[int]
    counts: list[int | None]
    under: list[list[int] | None]
    """Of kinds that may go under some supports only, which."""
    width: int
    spans: list[tuple[list[int], int]]
    anchors: list[int]
    max_pieces: int | None
    prices: list[int] | None
    """Where the lowest price is the first goal."""
    flattest: bool
    """Whether the narrowest range of tops is the first goal."""
    adjusts: list[tuple[int, int] | None]
    """Of adjustable kinds, of which a stack has one piece at the most, the greatest thickness and the
    step."""
    placed: Stacks | None
    """What stands under the supports, in a next pass: it counts what differs."""
    slopes: tuple[int, int]
    """How much the target may slope along and across, µm/m."""
    tradeoff: bool
    """Whether the whole trade-off between pieces and range is asked for."""

    @classmethod
    def read(cls, data: dict[str, Any]) -> "Instance":
        highest = max(data["heights"])
        assert data["keep_highest"] and data["heights"].count(highest) == 1
        heights = [height - highest for height in data["heights"]]
        (everyone, width), *spans = narrowed(data["spans"], data["guard"])
        assert len(everyone) == len(heights)
        placed = data["placed"]
        # A support that is bare may stay so.
        bare = [at for at, stack in enumerate(placed or []) if not any(stack)]
        return cls(
            heights,
            [tuple(place) for place in data["places"]],
            data["thickness"],
            data["counts"],
            data["under"],
            width,
            [(members, span) for members, span in spans if span < width],
            sorted({heights.index(0), *(at for at in bare if heights[at] >= -width)}),
            data["max_pieces"],
            data["prices"],
            data["flattest"],
            [None if adjusts is None else tuple(adjusts) for adjusts in data["adjusts"]],
            placed,
            tuple(data["slopes"]),
            data["tradeoff"],
        )

    @property
    def goals(self) -> list[str]:
        """What is to be settled, one after the other. Above a slope, kinds come after the slope nearest
        to level, which no peer is asked for."""
        if self.placed is not None:
            return ["lifts", "moved", "range", "kinds"]
        if self.flattest:
            return ["range", "pieces", "kinds"]
        price = [] if self.prices is None else ["price"]
        return [*price, "pieces", "range", *([] if any(self.slopes) else ["kinds"])]

    @property
    def adjustable(self) -> list[int]:
        """The adjustable kinds."""
        return [kind for kind, adjusts in enumerate(self.adjusts) if adjusts is not None]

    def settings(self, kind: int) -> tuple[int, int]:
        """The step of an adjustable kind, and how many there are above its least thickness."""
        to, step = self.adjusts[kind] or (0, 1)
        return step, (to - self.thickness[kind]) // step

    @property
    def rise(self) -> int:
        """How much further apart two heights can be above a slope of the target."""
        ways = [max(axis) - min(axis) for axis in zip(*self.places)]
        return sum(slope * way for slope, way in zip(self.slopes, ways))

    def without_limits(self) -> "Instance":
        """Any plan will do that is no worse than no shims at all."""
        return replace(self, width=-min(self.heights), spans=[])

    def home(self, support: int, kind: int) -> int:
        """Pieces in place."""
        return 0 if self.placed is None else self.placed[support][kind]

    def most(self, support: int, kind: int) -> int:
        """The most pieces of a kind that fit under a support."""
        under = self.under[kind]
        if self.anchors == [support] or (under is not None and support not in under):
            return 0
        room = self.width + self.rise - self.heights[support]
        fit = max(room // self.thickness[kind], 0)
        if self.adjusts[kind] is not None:
            fit = min(fit, 1)
        if self.max_pieces is not None:
            fit = min(fit, self.max_pieces)
        count = self.counts[kind]
        return fit if count is None else min(fit, count)

    def value(self, goal: str, plan: Plan) -> int:
        """What a plan reaches of a goal."""
        stacks = plan.stacks
        match goal:
            case "price":
                prices = self.prices or []
                return sum(n * price for stack in stacks for n, price in zip(stack, prices))
            case "pieces":
                return sum(map(sum, stacks))
            case "lifts":
                return sum(stack != home for stack, home in zip(stacks, self.placed or []))
            case "moved":
                pairs = zip(sum(stacks, []), sum(self.placed or [], []))
                return sum(abs(n - home) for n, home in pairs)
            case "range":
                tops = self.tops(plan)
                return max(tops) - min(tops)
            case "kinds":
                return sum(any(kind) for kind in zip(*stacks))
        raise ValueError(goal)

    def tops(self, plan: Plan) -> list[int]:
        """Above the slope of the target."""
        widths = [self.settings(kind)[0] for kind in self.adjustable]
        return [
            height
            + sum(n * nm for n, nm in zip(stack, self.thickness))
            + sum(n * nm for n, nm in zip(step, widths))
            # µm/m times mm are nm.
            - sum(slope * way for slope, way in zip(plan.tilt, place))
            for height, place, stack, step in zip(
                self.heights, self.places, plan.stacks, plan.steps
            )
        ]

    def allows(self, plan: Plan) -> bool:
        """Whether a plan keeps to the limits and the stock, exactly."""
        tops, stacks = self.tops(plan), plan.stacks
        spans = [(range(len(tops)), self.width), *self.spans]
        return all(
            max(tops[at] for at in members) - min(tops[at] for at in members) <= width
            for members, width in spans
        ) and all(
            count is None or sum(kind) <= count for count, kind in zip(self.counts, zip(*stacks))
        ) and all(
            self.max_pieces is None or sum(stack) <= self.max_pieces for stack in stacks
        ) and all(
            stack[kind] == 0
            for kind, under in enumerate(self.under)
            for at, stack in enumerate(stacks)
            if under is not None and at not in under
        ) and all(
            sum(stack[kind] for kind in self.adjustable) <= 1
            and all(
                0 <= n <= self.settings(kind)[1] * stack[kind]
                for n, kind in zip(step, self.adjustable)
            )
            for stack, step in zip(stacks, plan.steps)
        ) and any(not any(stacks[at]) for at in self.anchors) and all(
            abs(slope) <= most for slope, most in zip(plan.tilt, self.slopes)
        )


def narrowed(
    spans: list[tuple[list[int], int]], guard: tuple[list[float], float] | None
) -> list[tuple[list[int], int]]:
    """Spans, each with the least guard band of its pairs, and the pairs that need a wider one."""
    if guard is None:
        return spans
    covariance, risk = guard
    count = round(sqrt(len(covariance)))
    narrow = []
    pairs: dict[tuple[int, int], int] = {}
    for members, width in spans:
        bands = {}
        for b in members:
            for a in members:
                if a < b:
                    variance = covariance[a * count + a] + covariance[b * count + b]
                    variance -= 2 * covariance[a * count + b]
                    bands[a, b] = band(sqrt(variance), width, risk)
        least = min(bands.values())
        narrow.append((members, width - least))
        for pair, wider in bands.items():
            if wider > least:
                pairs[pair] = min(width - wider, pairs.get(pair, width))
    return narrow + [([*pair], width) for pair, width in pairs.items()]


def band(sigma_mm: float, width: int, risk: float) -> int:
    """The least guard band, nm, with which a difference found within a width less the band is within
    the width with a probability of 1 - risk (JCGM 106:2012, 8.3)."""
    if sigma_mm == 0:
        return 0
    normal, limit = NormalDist(), width / 1e6 / sigma_mm
    near, far = normal.inv_cdf(1 - risk), limit
    if 2 * limit - near < 9:
        assert 1 - 2 * normal.cdf(-limit) >= 1 - risk
        near = min(near, limit)
        for _ in range(60):
            middle = (near + far) / 2
            sure = 1 - normal.cdf(-middle) - normal.cdf(middle - 2 * limit) >= 1 - risk
            near, far = (near, middle) if sure else (middle, far)
        near = far
    return min(ceil(near * sigma_mm * 1e6), width)
