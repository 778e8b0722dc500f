from collections.abc import Iterable, Sequence
from typing import Any, final

import numpy as np
import numpy.typing as npt

from .floor import What
from .length import Length
from .plan import Status
from .problem import Stock
from .verdict import Limit

__all__ = [
    "Budget",
    "CAUTIONS",
    "Limits",
    "Shim",
    "ShimProblem",
    "__version__",
    "check",
    "check_floor",
    "fit_plane",
    "fit_planes",
    "floor_numbers",
    "highest",
    "job_schema",
    "job_sheet",
    "least_squares",
    "lengths",
    "local_slopes",
    "minimum_zone",
    "numbers",
    "parse_length",
    "plan_many",
    "plan_shims",
    "resting",
    "run_job",
    "shortfall",
    "straightedge",
    "tradeoff",
]

_Floats = npt.NDArray[np.float64]
_Plane = tuple[float, float, float, _Floats, float, float, float, float]
_Plan = tuple[
    Status,
    int,
    float,
    float,
    float,
    list[list[float]],
    _Floats,
    _Floats,
    list[int],
    bool,
    list[int],
    int,
    list[float],
    list[int],
    int,
]
_Conflict = tuple[list[int], list[tuple[Limit, list[int], float]], list[int], bool, bool, bool]
_Addition = tuple[list[int], int, float, _Plan]

__version__: str
CAUTIONS: tuple[str, ...]

@final
class Shim:
    def __new__(
        cls,
        thickness: Length,
        count: int | None = None,
        price: int | None = None,
        *,
        loaded_factor: float | None = None,
        to: Length | None = None,
        step: Length | None = None,
        under: Iterable[int] | None = None,
    ) -> Shim: ...
    @property
    def thickness(self) -> float: ...
    @property
    def count(self) -> int | None: ...
    @property
    def price(self) -> int: ...
    @property
    def loaded_factor(self) -> float: ...
    @property
    def to(self) -> float | None: ...
    @property
    def step(self) -> float | None: ...
    @property
    def under(self) -> list[int] | None: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...
    def __getnewargs_ex__(self) -> tuple[tuple[float, int | None, int], dict[str, Any]]: ...

@final
class Limits:
    def __new__(
        cls,
        overall: Length | None = None,
        along: Length | None = None,
        across: Length | None = None,
        joint_step: Length | None = None,
        line_width: Length | None = None,
        *,
        named: Iterable[tuple[Sequence[int], Length]] | None = None,
        slope_along: float | None = None,
        slope_across: float | None = None,
    ) -> Limits: ...
    @staticmethod
    def wpa_2001() -> Limits: ...
    @property
    def overall(self) -> float | None: ...
    @property
    def along(self) -> float | None: ...
    @property
    def across(self) -> float | None: ...
    @property
    def joint_step(self) -> float | None: ...
    @property
    def line_width(self) -> float: ...
    @property
    def named(self) -> list[tuple[list[int], float]]: ...
    @property
    def slope_along(self) -> float: ...
    @property
    def slope_across(self) -> float: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __getnewargs_ex__(
        self,
    ) -> tuple[
        tuple[float | None, float | None, float | None, float | None, float], dict[str, Any]
    ]: ...

@final
class Budget:
    def __new__(cls, nodes: int | None = None, time_ms: int | None = None) -> Budget: ...
    @property
    def nodes(self) -> int: ...
    @property
    def time_ms(self) -> int | None: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __getnewargs__(self) -> tuple[int, int | None]: ...

@final
class ShimProblem:
    def __new__(
        cls,
        xy: _Floats,
        heights: _Floats,
        stock: Stock,
        limits: Length | Limits,
        order: str,
        keep_highest: bool,
        max_pieces: int | None,
        max_stack: Length | None,
        joints: Iterable[Sequence[int]] | None,
        budget: int | Budget | None,
        placed: Sequence[Sequence[Length]] | None,
    ) -> ShimProblem: ...

def parse_length(length: Length) -> float: ...
def lengths(field: str, elements: Sequence[Any], shape: Sequence[int]) -> _Floats: ...
def numbers(field: str, elements: Sequence[Any], shape: Sequence[int]) -> _Floats: ...
def fit_plane(
    xy: _Floats, z: _Floats, kind: str, weights: _Floats | None
) -> _Plane: ...
def fit_planes(
    xy: _Floats, z: _Floats, kind: str
) -> tuple[_Floats, _Floats, _Floats, _Floats, _Floats, _Floats, _Floats, _Floats]: ...
def least_squares(
    xy: _Floats, z: _Floats, known: str, values: _Floats
) -> tuple[_Plane, _Floats, float, int]: ...
def minimum_zone(
    xy: _Floats, z: _Floats, direction: str
) -> tuple[_Plane, list[tuple[int, bool, float]], float, bool]: ...
def resting(xy: _Floats, z: _Floats, centre: Sequence[float] | None) -> tuple[
    _Plane,
    list[int],
    list[float],
    list[int],
    _Floats,
    float,
    bool,
    list[tuple[list[int], int | None, float, float, float]],
]: ...
def highest(
    heights: _Floats, known: str, values: _Floats, confidence: float
) -> tuple[list[int], _Floats, float, list[int], bool]: ...
def local_slopes(
    xy: _Floats, z: _Floats, line_width: Length
) -> tuple[list[tuple[list[int], float]], list[tuple[list[int], float]]]: ...
def straightedge(
    xy: _Floats,
    z: _Floats,
    ends: Sequence[Sequence[float]] | None,
    length: Length,
    line_width: Length,
) -> tuple[float, int, list[int], float] | None: ...
def check_floor(
    xy: _Floats, z: _Floats, floor_class: str, line_width: Length
) -> list[tuple[What, float, float, bool | None, list[int]]]: ...
def floor_numbers(lines: Sequence[_Floats]) -> tuple[float, float]: ...
def plan_shims(problem: ShimProblem) -> _Plan: ...
def tradeoff(problem: ShimProblem) -> list[_Plan]: ...
def plan_many(problems: Sequence[ShimProblem]) -> list[_Plan]: ...
def shortfall(
    problem: ShimProblem, catalogue: Stock | None
) -> tuple[_Conflict, _Addition | None, _Plan] | None: ...
def check(
    xy: _Floats | None,
    heights: _Floats,
    limits: Length | Limits,
    joints: Iterable[Sequence[int]] | None,
) -> tuple[bool, list[tuple[Limit, list[int], float, float, bool]]]: ...
def run_job(document: bytes) -> str: ...
def job_sheet(document: bytes) -> str: ...
def job_schema() -> str: ...
