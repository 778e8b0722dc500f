"""Levelling and shim solving for heavy slate-bed tables and other machine beds.

Plain numbers are millimetres; anywhere a length is taken, a text with a unit is taken too, as in
``"0.010 in"``. Heights are positive upwards; x runs along the bed, y across. Bad input raises
:class:`InputError` (a :class:`ValueError`) or :class:`InputTypeError` (a :class:`TypeError`), both
of them :class:`Error`; how a search ended is the ``status`` of its plan, never an exception.
"""

from ._truebed import CAUTIONS, Budget, Limits, Shim, __version__, parse_length
from .error import Error, InputError, InputTypeError, Problem
from .floor import (
    FloorFinding,
    FloorNumbers,
    Gap,
    LocalSlope,
    LocalSlopes,
    check_floor,
    floor_numbers,
    local_slopes,
    straightedge,
    straightedge_between,
)
from .highest import Highest, highest
from .job import job_schema, job_sheet, run_job
from .length import Length
from .plan import ShimPlan, plan_many, plan_shims, tradeoff
from .plane import (
    Contact,
    LeastSquares,
    MinimumZone,
    Plane,
    Planes,
    Resting,
    Rock,
    fit_plane,
    fit_planes,
    least_squares,
    minimum_zone,
    resting,
)
from .problem import PlanArguments
from .shortfall import Addition, Conflict, ConflictLimit, Shortfall, shortfall
from .verdict import Finding, Verdict, check

__all__ = [
    "CAUTIONS",
    "Addition",
    "Budget",
    "Conflict",
    "ConflictLimit",
    "Contact",
    "Error",
    "Finding",
    "FloorFinding",
    "FloorNumbers",
    "Gap",
    "Highest",
    "InputError",
    "InputTypeError",
    "LeastSquares",
    "Length",
    "Limits",
    "LocalSlope",
    "LocalSlopes",
    "MinimumZone",
    "PlanArguments",
    "Plane",
    "Planes",
    "Problem",
    "Resting",
    "Rock",
    "Shim",
    "ShimPlan",
    "Shortfall",
    "Verdict",
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
    "local_slopes",
    "minimum_zone",
    "parse_length",
    "plan_many",
    "plan_shims",
    "resting",
    "run_job",
    "shortfall",
    "straightedge",
    "straightedge_between",
    "tradeoff",
]
