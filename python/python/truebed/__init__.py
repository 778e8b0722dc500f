"""Levelling and shim solving for heavy slate-bed tables and other machine beds.

Plain numbers are millimetres; anywhere a length is taken, a text with a unit is taken too, as in
``"0.010 in"``. Heights are positive upwards; x runs along the bed, y across. Bad input raises
:class:`InputError` (a :class:`ValueError`) or :class:`InputTypeError` (a :class:`TypeError`), both
of them :class:`Error`; how a search ended is the ``status`` of its plan, never an exception.

>>> import truebed
>>> thickness: truebed.Length = "1/64 in"
>>> truebed.parse_length(thickness)
0.396875
>>> fall: truebed.Slope = "4 arcsec"
>>> reading = truebed.slope("A", "B", fall, span="1 m")
>>> [caution for caution in truebed.CAUTIONS if "jacked" in caution]
['A jacked frame is blocked before anyone reaches under it.']
>>> truebed.PRESETS["WPA 2001"][:20]
'World Pool-Billiard '
>>> truebed.__version__.count(".")
2
"""

from importlib import import_module
from typing import TYPE_CHECKING

from ._truebed import (
    CAUTIONS,
    PRESETS,
    Budget,
    Limits,
    Load,
    Reading,
    Shim,
    Slab,
    __version__,
    drift_mm,
    dying_speed,
    parse_length,
    patch_load,
    point_load,
    readings_from_csv,
    rolling_acceleration,
)
from ._error import Error, InputError, InputTypeError, Problem
from ._length import Length
from ._lifting import LegLoads, Mass, leg_loads, people, slate_mass
from ._plan import ShimPlan, plan_many, plan_shims, tradeoff, tradeoff_picture
from ._plane import (
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
from ._problem import PlanArguments
from ._reading import bubble, gap, height, leg_gap, rise, slate_gap, slope
from ._survey import (
    Closure,
    Heights,
    Offset,
    Slope,
    SuspectGroup,
    UnionJack,
    adjust,
    components,
    level_grid,
    level_line,
    pieces,
    union_jack,
)
from ._verdict import (
    Finding,
    GlobalRisks,
    SlopeFinding,
    Verdict,
    check,
    global_risks,
    guard_band,
)

if TYPE_CHECKING:
    from ._bed import Bearing, Bearings, BedPlan, LaidSlab, bear, plan_bed
    from ._estimate import (
        Estimate,
        FittedFloor,
        FloorModel,
        FrontKit,
        Kit,
        KitFront,
        MorePieces,
        ReadingsNeeded,
        RestOfFloor,
        SlatesOnFrame,
        UpdatedFloor,
        estimate,
        fit_floor,
        kit,
        kit_front,
        readings_needed,
    )
    from ._floor import (
        FloorFinding,
        FloorNumbers,
        FloorVerdict,
        Gap,
        LocalSlope,
        LocalSlopes,
        assess_floor,
        check_floor,
        floor_numbers,
        local_slopes,
        straightedge,
        straightedge_between,
    )
    from ._highest import Highest, highest
    from ._job import job_page, job_picture, job_schema, job_sheet, next_pass, run_job, run_jobs
    from ._next import NextReading, NextReadings, read_next
    from ._roll import BallRolls, Play, Roll, play, roll, roll_balls
    from ._shortfall import Addition, Conflict, ConflictLimit, Shortfall, shortfall
    from ._site import (
        Carried,
        Passage,
        Place,
        Short,
        Side,
        Square,
        WayIn,
        door_swing,
        place,
        room_picture,
        square,
        way_in,
    )

_LATER = {
    "_bed": "Bearing Bearings BedPlan LaidSlab bear plan_bed",
    "_estimate": "Estimate FittedFloor FloorModel FrontKit Kit KitFront MorePieces ReadingsNeeded "
        "RestOfFloor SlatesOnFrame UpdatedFloor estimate fit_floor kit kit_front "
        "readings_needed",
    "_floor": "FloorFinding FloorNumbers FloorVerdict Gap LocalSlope LocalSlopes assess_floor "
        "check_floor floor_numbers local_slopes straightedge straightedge_between",
    "_highest": "Highest highest",
    "_job": "job_page job_picture job_schema job_sheet next_pass run_job run_jobs",
    "_next": "NextReading NextReadings read_next",
    "_roll": "BallRolls Play Roll play roll roll_balls",
    "_shortfall": "Addition Conflict ConflictLimit Shortfall shortfall",
    "_site": "Carried Passage Place Short Side Square WayIn door_swing place room_picture square "
        "way_in",
}
"""The names of modules that a program imports when it first asks for one of them."""

_MODULES = {name: module for module, names in _LATER.items() for name in names.split()}

__all__ = [
    "Addition",
    "BallRolls",
    "Bearing",
    "Bearings",
    "BedPlan",
    "Budget",
    "CAUTIONS",
    "Carried",
    "Closure",
    "Conflict",
    "ConflictLimit",
    "Contact",
    "Error",
    "Estimate",
    "Finding",
    "FittedFloor",
    "FloorFinding",
    "FloorModel",
    "FloorNumbers",
    "FloorVerdict",
    "FrontKit",
    "Gap",
    "GlobalRisks",
    "Heights",
    "Highest",
    "InputError",
    "InputTypeError",
    "Kit",
    "KitFront",
    "LaidSlab",
    "LeastSquares",
    "LegLoads",
    "Length",
    "Limits",
    "Load",
    "LocalSlope",
    "LocalSlopes",
    "Mass",
    "MinimumZone",
    "MorePieces",
    "NextReading",
    "NextReadings",
    "Offset",
    "PRESETS",
    "Passage",
    "Place",
    "PlanArguments",
    "Plane",
    "Planes",
    "Play",
    "Problem",
    "Reading",
    "ReadingsNeeded",
    "RestOfFloor",
    "Resting",
    "Rock",
    "Roll",
    "Shim",
    "ShimPlan",
    "Short",
    "Shortfall",
    "Side",
    "Slab",
    "SlatesOnFrame",
    "Slope",
    "SlopeFinding",
    "Square",
    "SuspectGroup",
    "UnionJack",
    "UpdatedFloor",
    "Verdict",
    "WayIn",
    "__version__",
    "adjust",
    "assess_floor",
    "bear",
    "bubble",
    "check",
    "check_floor",
    "components",
    "door_swing",
    "drift_mm",
    "dying_speed",
    "estimate",
    "fit_floor",
    "fit_plane",
    "fit_planes",
    "floor_numbers",
    "gap",
    "global_risks",
    "guard_band",
    "height",
    "highest",
    "job_page",
    "job_picture",
    "job_schema",
    "job_sheet",
    "kit",
    "kit_front",
    "least_squares",
    "leg_gap",
    "leg_loads",
    "level_grid",
    "level_line",
    "local_slopes",
    "minimum_zone",
    "next_pass",
    "parse_length",
    "patch_load",
    "people",
    "pieces",
    "place",
    "plan_bed",
    "plan_many",
    "plan_shims",
    "play",
    "point_load",
    "read_next",
    "readings_from_csv",
    "readings_needed",
    "resting",
    "rise",
    "roll",
    "roll_balls",
    "rolling_acceleration",
    "room_picture",
    "run_job",
    "run_jobs",
    "shortfall",
    "slate_gap",
    "slate_mass",
    "slope",
    "square",
    "straightedge",
    "straightedge_between",
    "tradeoff",
    "tradeoff_picture",
    "union_jack",
    "way_in",
]


if not TYPE_CHECKING:  # So that what is no name of the package is an error to a type checker.

    def __getattr__(name: str) -> object:
        module = name if name in _LATER else _MODULES.get(name)
        if module is None:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}", name=name)
        found = import_module(f".{module}", __name__)
        return found if name in _LATER else globals().setdefault(name, getattr(found, name))


def __dir__() -> list[str]:
    return __all__
