"""Levelling and shim solving for heavy slate-bed tables and other machine beds.

Plain numbers are millimetres; anywhere a length is taken, a text with a unit is taken too, as in
``"0.010 in"``. Heights are positive upwards; x runs along the bed, y across. Bad input raises
:class:`InputError` (a :class:`ValueError`) or :class:`InputTypeError` (a :class:`TypeError`), both
of them :class:`Error`; how a search ended is the ``status`` of its plan, never an exception.
"""

from ._truebed import CAUTIONS, Budget, Limits, Shim, __version__, parse_length
from .error import Error, InputError, InputTypeError, Problem
from .job import job_schema, job_sheet, run_job
from .length import Length
from .plan import ShimPlan, plan_many, plan_shims, tradeoff
from .plane import Plane, fit_plane
from .problem import PlanArguments
from .shortfall import Addition, Conflict, ConflictLimit, Shortfall, shortfall
from .verdict import Finding, Verdict, check

__all__ = [
    "CAUTIONS",
    "Addition",
    "Budget",
    "Conflict",
    "ConflictLimit",
    "Error",
    "Finding",
    "InputError",
    "InputTypeError",
    "Length",
    "Limits",
    "PlanArguments",
    "Plane",
    "Problem",
    "Shim",
    "ShimPlan",
    "Shortfall",
    "Verdict",
    "__version__",
    "check",
    "fit_plane",
    "job_schema",
    "job_sheet",
    "parse_length",
    "plan_many",
    "plan_shims",
    "run_job",
    "shortfall",
    "tradeoff",
]
