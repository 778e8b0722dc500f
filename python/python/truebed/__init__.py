"""Levelling and shim solving for heavy slate-bed tables and other machine beds.

Plain numbers are millimetres; anywhere a length is taken, a text with a unit is taken too, as in
``"0.010 in"``. Heights are positive upwards; x runs along the bed, y across. Bad input raises
:class:`InputError` (a :class:`ValueError`) or :class:`InputTypeError` (a :class:`TypeError`), both
of them :class:`Error`; how a search ended is the ``status`` of its plan, never an exception.
"""

from ._truebed import (
    CAUTIONS,
    Budget,
    Limits,
    Reading,
    Shim,
    __version__,
    bubble,
    gap,
    height,
    leg_gap,
    parse_length,
    readings_from_csv,
    rise,
    slope,
)
from .error import Error, InputError, InputTypeError, Problem
from .job import job_schema, job_sheet, run_job
from .length import Length
from .plan import ShimPlan, plan_many, plan_shims, tradeoff
from .plane import Plane, fit_plane
from .problem import PlanArguments
from .shortfall import Addition, Conflict, ConflictLimit, Shortfall, shortfall
from .survey import (
    Closure,
    Heights,
    Offset,
    Slope,
    UnionJack,
    adjust,
    level_grid,
    level_line,
    pieces,
    union_jack,
)
from .verdict import Finding, Verdict, check

__all__ = [
    "CAUTIONS",
    "Addition",
    "Budget",
    "Conflict",
    "ConflictLimit",
    "Closure",
    "Error",
    "Finding",
    "Heights",
    "InputError",
    "InputTypeError",
    "Length",
    "Limits",
    "Offset",
    "PlanArguments",
    "Plane",
    "Problem",
    "Reading",
    "Shim",
    "ShimPlan",
    "Shortfall",
    "Slope",
    "UnionJack",
    "Verdict",
    "__version__",
    "adjust",
    "bubble",
    "check",
    "fit_plane",
    "gap",
    "height",
    "job_schema",
    "job_sheet",
    "leg_gap",
    "level_grid",
    "level_line",
    "parse_length",
    "pieces",
    "plan_many",
    "plan_shims",
    "readings_from_csv",
    "rise",
    "run_job",
    "shortfall",
    "slope",
    "tradeoff",
    "union_jack",
]
