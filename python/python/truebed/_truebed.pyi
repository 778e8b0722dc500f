from collections.abc import Callable, Iterable, Sequence
from typing import Any, TextIO, final

import numpy as np
import numpy.typing as npt

from ._bed import Bearing, BedPlan, LaidSlab
from ._error import Error
from ._estimate import Estimate, FrontKit, Kit, ReadingsNeeded
from ._floor import FloorFinding, FloorNumbers, FloorVerdict, Gap, LocalSlopes
from ._highest import Highest
from ._length import Length
from ._lifting import LegLoads, Mass
from ._next import NextReadings
from ._plan import ShimPlan
from ._plane import LeastSquares, MinimumZone, Plane, Planes, Resting
from ._points import Ids, Index
from ._problem import Stock
from ._roll import BallRolls, Roll
from ._shortfall import Shortfall
from ._site import Place, Square, WayIn
from ._survey import Closure, Heights, Slope, UnionJack
from ._verdict import GlobalRisks, Prior, Verdict

__all__ = [
    "__version__",
    "adjust",
    "arrow_estimate",
    "arrow_plan",
    "arrow_run_jobs",
    "assess_floor",
    "BearingShape",
    "Budget",
    "CAUTIONS",
    "check",
    "check_floor",
    "Columns",
    "components",
    "door_swing",
    "drift_mm",
    "dying_speed",
    "estimate",
    "EstimateOptions",
    "fit_floor",
    "fit_plane",
    "fit_planes",
    "Floor",
    "floor_numbers",
    "global_risks",
    "guard_band",
    "highest",
    "job_page",
    "job_picture",
    "job_schema",
    "job_sheet",
    "kit",
    "kit_front",
    "Laid",
    "least_squares",
    "leg_loads",
    "lengths",
    "level_grid",
    "level_line",
    "Limits",
    "Load",
    "local_slopes",
    "minimum_zone",
    "MOST_PROBLEMS",
    "next_pass",
    "numbers",
    "parse_length",
    "patch_load",
    "people",
    "Picture",
    "place",
    "plain",
    "plan_bed",
    "plan_many",
    "plan_shims",
    "point_load",
    "PRESETS",
    "quantile",
    "read_next",
    "read_plain",
    "Reading",
    "reading",
    "reading_from_row",
    "readings_from_csv",
    "readings_needed",
    "Rest",
    "resting",
    "roll",
    "roll_balls",
    "rolling_acceleration",
    "room_picture",
    "run_job",
    "run_jobs",
    "Shim",
    "ShimProblem",
    "shortfall",
    "Slab",
    "slate_mass",
    "Solution",
    "square",
    "straightedge",
    "Survey",
    "survey",
    "texts",
    "tradeoff",
    "tradeoff_picture",
    "union_jack",
    "way_in",
]

_Floats = npt.NDArray[np.float64]
__version__: str
CAUTIONS: tuple[str, ...]
MOST_PROBLEMS: int
PRESETS: dict[str, str]

@final
class Slab:
    def __new__(
        cls,
        x: tuple[Length, Length],
        y: tuple[Length, Length],
        thickness: Length,
        *,
        e_gpa: float,
        nu: float,
        density: float,
        strength_mpa: float | None = None,
        strength_factor: float | None = None,
    ) -> Slab: ...
    @property
    def x(self) -> tuple[float, float]: ...
    @property
    def y(self) -> tuple[float, float]: ...
    @property
    def thickness(self) -> float: ...
    @property
    def e_gpa(self) -> float: ...
    @property
    def nu(self) -> float: ...
    @property
    def density(self) -> float: ...
    @property
    def strength_mpa(self) -> float | None: ...
    @property
    def strength_factor(self) -> float: ...
    @property
    def weight_n(self) -> float: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __reduce__(self) -> tuple[Any, Any]: ...

@final
class Load:
    @property
    def newtons(self) -> float: ...
    @property
    def middle_mm(self) -> tuple[float, float]: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __reduce__(self) -> tuple[Any, Any]: ...

def point_load(x: Length, y: Length, newtons: float) -> Load: ...
def patch_load(
    x: tuple[Length, Length], y: tuple[Length, Length], newtons: float
) -> Load: ...

@final
class Laid:
    def __new__(
        cls,
        slab: Slab,
        xy: _Floats,
        pull_n: _Floats,
        stiffness_n_per_mm: _Floats | None,
        loads: list[Load],
        weight: bool,
    ) -> Laid: ...
    def elements(self) -> tuple[int, int]: ...
    def bear(self, laid: LaidSlab, tops: _Floats) -> Bearing: ...
    def bear_many(self, tops: _Floats) -> tuple[_Floats, _Floats]: ...

@final
class BearingShape:
    def accuracy_mm(self) -> float: ...
    def sag_mm(self) -> float: ...
    def at(self, xy: _Floats) -> _Floats: ...
    def stress(self) -> tuple[float, tuple[float, float], float | None] | None: ...

def plan_bed(
    slab: Slab,
    xy: _Floats,
    frame_mm: _Floats,
    stock: Stock,
    limits: Length | Limits,
    at: _Floats,
    loads: list[Load],
    weight: bool,
    pull_n: _Floats,
    stiffness_n_per_mm: _Floats | None,
    idle: list[Any],
    least_force_n: float,
    keep_highest: bool,
    max_pieces: int | None,
    budget: int | Budget | None,
    ids: Ids,
    laid: LaidSlab,
) -> BedPlan: ...

@final
class Shim:
    def __new__(
        cls,
        thickness: Length,
        count: int | None = None,
        price: int | None = None,
        *,
        loaded_factor: float | None = None,
        sigma: Length | None = None,
        common_sigma: Length | None = None,
        to: Length | None = None,
        step: Length | None = None,
        under: Iterable[Index] | None = None,
        name: str | None = None,
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
    def sigma(self) -> float: ...
    @property
    def common_sigma(self) -> float: ...
    @property
    def to(self) -> float | None: ...
    @property
    def step(self) -> float | None: ...
    @property
    def under(self) -> list[Index] | None: ...
    @property
    def name(self) -> str | None: ...
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
        named: Iterable[tuple[Sequence[Index], Length]] | None = None,
        slope_along: float | None = None,
        slope_across: float | None = None,
        by_preset: Sequence[str] | None = None,
    ) -> Limits: ...
    @staticmethod
    def preset(name: str) -> Limits: ...
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
    def named(self) -> list[tuple[list[Index], float]]: ...
    @property
    def slope_along(self) -> float: ...
    @property
    def slope_across(self) -> float: ...
    @property
    def by_preset(self) -> list[str]: ...
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
        *,
        order: str,
        keep_highest: bool,
        max_pieces: int | None,
        max_stack: Length | None,
        joints: Iterable[Sequence[int]] | None,
        budget: int | Budget | None,
        placed: Sequence[Sequence[Length]] | None,
        covariance: _Floats | None,
        risk: float | None,
        risk_of: str,
        stock_is: str | None,
        owned: Sequence[Shim] | None,
        ids: Ids,
        survey: Solution | None,
    ) -> ShimProblem: ...

@final
class Columns:
    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...

@final
class Picture:
    def __new__(cls, json: str) -> Picture: ...
    def svg(self, units: str, narrow: bool) -> str: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __getnewargs__(self) -> tuple[str]: ...

@final
class Reading:
    def __new__(cls, document: str) -> Reading: ...
    @property
    def kind(self) -> str: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __getnewargs__(self) -> tuple[str]: ...

@final
class Survey:
    def __new__(cls, document: str) -> Survey: ...
    def without(self, readings: Sequence[int]) -> Survey: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __getnewargs__(self) -> tuple[str]: ...

@final
class Solution:
    def covariance(self) -> _Floats: ...
    def picture(self, units: str, narrow: bool) -> str: ...
    def closures(self) -> list[Closure]: ...
    def separability(self) -> list[tuple[int, float] | None]: ...

def reading(kind: str, **fields: Any) -> Reading: ...
def readings_from_csv(text: str | TextIO) -> list[Reading]: ...
def reading_from_row(row: dict[str, Any]) -> Reading: ...
def level_line(
    ids: Sequence[str],
    divisions: Sequence[float],
    sensitivity: Slope,
    base: Length,
    level: str,
    turned: bool,
    sigma: float | None,
) -> list[Reading]: ...
def level_grid(
    ids: Sequence[Sequence[str]],
    along: Sequence[Sequence[float]],
    across: Sequence[Sequence[float]],
    sensitivity: Slope,
    base: Length,
    level: str,
    sigma: float | None,
) -> list[Reading]: ...
def survey(
    readings: Sequence[Reading],
    *,
    points: Sequence[tuple[str, Length, Length]],
    fixed: Sequence[tuple[str, Length, Length | None]],
    surface: str,
    datum: Sequence[str],
    levels: Sequence[tuple[str, Slope]],
    lasers: Sequence[tuple[str, Slope]],
    without: Sequence[int],
    test: str,
    alpha: float,
    power: float,
) -> Survey: ...
def adjust(survey: Survey) -> Heights: ...
def components(survey: Survey) -> list[list[str]]: ...
def union_jack(
    *,
    nw_se: _Floats,
    ne_sw: _Floats,
    ne_nw: _Floats,
    ne_se: _Floats,
    se_sw: _Floats,
    nw_sw: _Floats,
    e_w: _Floats,
    n_s: _Floats,
    unit: Slope,
    step: Length,
) -> UnionJack: ...
def parse_length(length: Length) -> float: ...
def lengths(field: str, elements: Sequence[Any], shape: Sequence[int]) -> _Floats: ...
def plain(field: str, value: float) -> float: ...
def texts(field: str, items: Sequence[Any]) -> list[str]: ...
def numbers(field: str, elements: Sequence[Any], shape: Sequence[int]) -> _Floats: ...
def fit_plane(
    xy: _Floats, z: _Floats, kind: str, weights: _Floats | None, ids: Ids
) -> Plane: ...
def fit_planes(xy: _Floats, z: _Floats, kind: str, threads: int | None) -> Planes: ...
def least_squares(
    xy: _Floats, z: _Floats, known: str, values: _Floats, ids: Ids
) -> LeastSquares: ...
def minimum_zone(xy: _Floats, z: _Floats, direction: str, ids: Ids) -> MinimumZone: ...
def resting(xy: _Floats, z: _Floats, centre: Sequence[float] | None, ids: Ids) -> Resting: ...
def highest(
    heights: _Floats, known: str, values: _Floats, confidence: float, ids: Ids
) -> Highest: ...
def local_slopes(xy: _Floats, z: _Floats, line_width: Length) -> LocalSlopes: ...
def straightedge(
    xy: _Floats,
    z: _Floats,
    ends: Sequence[Sequence[float]] | None,
    length: Length,
    line_width: Length,
) -> Gap | None: ...
def check_floor(
    xy: _Floats, z: _Floats, floor_class: str, line_width: Length
) -> list[FloorFinding]: ...
def floor_numbers(lines: Sequence[_Floats]) -> FloorNumbers: ...
def plan_shims(problem: ShimProblem) -> ShimPlan: ...
def tradeoff(problem: ShimProblem) -> list[ShimPlan]: ...
def arrow_plan(
    data: object,
    *,
    stock: Stock | None,
    limits: Length | Limits | None,
    order: str,
    keep_highest: bool,
    max_pieces: int | None,
    max_stack: Length | None,
    budget: int | Budget | None,
    threads: int | None,
) -> Columns: ...
def arrow_estimate(
    data: object,
    *,
    stock: Stock | None,
    limits: Length | Limits | None,
    order: str,
    max_pieces: int | None,
    max_stack: Length | None,
    options: EstimateOptions,
    quantiles: Sequence[float],
) -> Columns: ...
def arrow_run_jobs(
    data: object, *, column: str, budget: int | Budget | None, threads: int | None
) -> Columns: ...
def read_plain(items: Sequence[Any]) -> list[ShimProblem | None]: ...
def plan_many(
    problems: Sequence[ShimProblem],
    progress: Callable[[int], object] | None,
    threads: int | None,
) -> list[ShimPlan]: ...
def shortfall(problem: ShimProblem, catalogue: Stock | None) -> Shortfall | None: ...
def check(
    xy: _Floats | None,
    heights: _Floats,
    covariance: _Floats | None,
    limits: Length | Limits,
    joints: Iterable[Sequence[int]] | None,
    rule: str | None,
    risk: float | None,
    ids: Ids,
    survey: Solution | None,
    level: float,
    overrule: bool,
    scale: bool,
    expected: tuple[_Floats, _Floats, Length] | None,
) -> Verdict: ...
def read_next(
    survey: Survey,
    candidates: Sequence[Reading],
    points: Sequence[str],
    xy: _Floats,
    lifts: _Floats,
    limits: Length | Limits,
    joints: Iterable[Sequence[int]] | None,
    rule: str | None,
    risk: float | None,
) -> NextReadings: ...
def assess_floor(
    xy: _Floats,
    z: _Floats,
    covariance: _Floats,
    floor_class: str,
    line_width: Length,
    rule: str | None,
    risk: float | None,
) -> FloorVerdict: ...
def global_risks(
    prior: Prior, sigma: float, tolerance: float, acceptance: float
) -> GlobalRisks: ...
def guard_band(prior: Prior, sigma: float, tolerance: float, risk: float) -> float: ...
@final
class Floor:
    def __new__(cls, json: str) -> Floor: ...
    @staticmethod
    def from_f_numbers(ff: float, fl: float) -> Floor: ...
    @staticmethod
    def from_sigma(sigma_mm: float) -> Floor: ...
    @staticmethod
    def of(floor_class: str) -> Floor: ...
    def with_fall(self, sigma_mm_per_m: float) -> Floor: ...
    @property
    def hurst(self) -> float: ...
    @property
    def assumptions(self) -> list[str]: ...
    def sigma_of_difference_mm(self, distance_mm: float) -> float: ...
    def sample(self, xy: _Floats, n: int, seed: int) -> _Floats: ...
    def given(
        self,
        read_xy: _Floats,
        heights: _Floats,
        sigma_mm: float,
        xy: _Floats,
    ) -> Rest: ...
    def updated(
        self,
        xy: _Floats,
        heights: _Floats,
        sigma_mm: float,
        worth: float,
    ) -> tuple[Floor, float, list[float], int, float, float]: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __getnewargs__(self) -> tuple[str]: ...

@final
class Rest:
    def __new__(cls, heights: _Floats, covariance: _Floats) -> Rest: ...
    @property
    def heights_mm(self) -> _Floats: ...
    @property
    def covariance_mm2(self) -> _Floats: ...
    def sample(self, n: int, seed: int) -> _Floats: ...

def quantile(values: _Floats, p: float) -> float: ...
def readings_needed(
    problem: ShimProblem,
    pattern: str,
    sigma_mm: float,
    left_mm: float,
    doubt: float,
) -> ReadingsNeeded: ...
def kit_front(
    floor: Floor,
    problem: ShimProblem,
    *,
    shares: Sequence[float],
    confidence: float,
    seed: int,
    most: Sequence[int],
    packs: Sequence[int],
    cheapest: bool,
    training_jobs: int,
    fresh_jobs: int,
    threads: int | None,
) -> tuple[list[FrontKit], str]: ...
def fit_floor(
    floors: Sequence[tuple[_Floats, _Floats]],
) -> tuple[Floor, list[float], int]: ...
@final
class EstimateOptions:
    def __new__(
        cls,
        *,
        jobs: int,
        seed: int,
        standard_error: float | None,
        confidence: float,
        again: Sequence[float] | None,
        prices: Sequence[float] | None,
        minutes: Sequence[float] | None,
        slates: int,
        on_frame: tuple[ShimProblem, Floor, Sequence[Laid], float] | None,
        threads: int | None,
    ) -> EstimateOptions: ...

def slate_mass(
    outline: _Floats, thickness_mm: float, density_kg_per_m3: float
) -> Mass: ...
def leg_loads(xy: _Floats, kg: float, at: Sequence[float]) -> LegLoads: ...
def people(kg: float, kg_a_person: float) -> int: ...
def estimate(
    floor: Floor,
    problem: ShimProblem,
    options: EstimateOptions,
    progress: Callable[[int], object] | None,
) -> Estimate: ...
def kit(
    floor: Floor,
    problem: ShimProblem,
    *,
    share: float,
    confidence: float,
    seed: int,
    most: Sequence[int],
    packs: Sequence[int],
    cheapest: bool,
    jobs_a_day: int,
    slates: tuple[ShimProblem, Floor, Sequence[Laid], float] | None,
    training_jobs: int,
    fresh_jobs: int,
    threads: int | None,
) -> Kit: ...
def roll(
    xy: _Floats,
    z: _Floats,
    start: Sequence[float],
    velocity: Sequence[float],
    resistance: float,
) -> Roll: ...
def roll_balls(xy: _Floats, z: _Floats, resistance: float) -> BallRolls: ...
def rolling_acceleration(slope: float) -> float: ...
def drift_mm(cross_slope: float, length_mm: float, speed: float) -> float: ...
def dying_speed(length_mm: float, resistance: float) -> float: ...
def tradeoff_picture(plans: Sequence[ShimPlan], units: str, narrow: bool) -> str: ...
def run_job(
    document: bytes, *, budget: int | Budget | None, stop: Callable[[], object] | None
) -> str: ...
def job_sheet(
    document: bytes, *, run: bool, budget: int | Budget | None, stop: Callable[[], object] | None
) -> str: ...
def job_page(
    document: bytes, *, run: bool, budget: int | Budget | None, stop: Callable[[], object] | None
) -> str: ...
def job_picture(
    document: bytes,
    *,
    narrow: bool,
    run: bool,
    budget: int | Budget | None,
    stop: Callable[[], object] | None,
) -> str: ...
def next_pass(document: bytes, readings: bytes, *, run: bool) -> str: ...
def run_jobs(
    documents: Sequence[bytes],
    *,
    budget: int | Budget | None,
    threads: int | None,
    ask: Callable[[int], object] | None,
) -> list[str | Error]: ...
def job_schema() -> str: ...
def place(
    room: _Floats,
    surface: Sequence[float],
    frame: Sequence[float] | None,
    asked: Sequence[float],
    obstacles: Sequence[tuple[str, _Floats]],
    turn: str | float,
    at: Sequence[float] | None,
) -> Place: ...
def room_picture(
    room: _Floats,
    surface: Sequence[float],
    frame: Sequence[float] | None,
    asked: Sequence[float],
    obstacles: Sequence[tuple[str, _Floats]],
    turn: str | float,
    at: Sequence[float] | None,
    title: str,
    units: str,
    narrow: bool,
) -> str: ...
def square(tapes: Sequence[_Floats], sigma: float | None, within: float | None) -> Square: ...
def door_swing(
    hinge: Sequence[float], leaf: float, from_deg: float, to_deg: float
) -> _Floats: ...
def way_in(
    pieces: Sequence[tuple[str, Sequence[float]]],
    passages: Sequence[tuple[str, str, float, float, float, float | None]],
) -> WayIn: ...
