"""What weighs how much, what stands on each leg, and how many people a lift takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._length import Length, Positions
from ._result import Result
from ._strict import listed_pair, strict


@dataclass(frozen=True, slots=True, eq=False)
class Mass(Result):
    """A mass and its centre in plan.

    >>> import truebed
    >>> truebed.Mass(kg=48.9, x_mm=350, y_mm=500).kg
    48.9
    """

    kg: float
    """The mass, kg."""
    x_mm: float
    """Its centre along the bed, mm."""
    y_mm: float
    """Its centre across the bed, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class LegLoads(Result):
    """What each leg of a table carries. Whoever raises a leg reads :data:`CAUTIONS` first.

    >>> import truebed
    >>> legs = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    >>> truebed.leg_loads(legs, 400, (1000, 500)).raises_kg.tolist()
    [200.0, 200.0, 200.0, 200.0]
    """

    stands_kg: npt.NDArray[np.float64]
    """What stands on each leg while the table stands on all, kg, shape (k,): a rigid table on equal
    springs, which is assumed."""
    raises_kg: npt.NDArray[np.float64]
    """The most that it takes to raise each leg, kg, shape (k,): the table then hangs on that leg and on
    what lies beyond its centre of mass. NaN where the centre of mass is not between the legs."""


@strict
def slate_mass(outline: Positions, thickness: Length, density: float = 2793.6) -> Mass:
    """The mass of a slate, or of any plate of one thickness: the area of its outline × thickness ×
    density. ``outline`` is its corners in plan in their order, shape (k, 2); ``density`` is in kg/m³, by
    default that of a slate of Virginia.

    Heavy slabs are moved by enough trained people with proper lifting gear: see :data:`CAUTIONS`.

    Raises :class:`InputError` for corners without an area, and for a thickness or a density that is not
    above 0.

    >>> import truebed
    >>> round(truebed.slate_mass([[0, 0], [700, 0], [700, 1000], [0, 1000]], "25 mm").kg, 1)
    48.9
    """
    corners = _array.positions(outline, "outline")
    dense = _truebed.plain("density", density)
    found: Mass = _truebed.slate_mass(corners, _truebed.parse_length(thickness), dense)
    return found


@strict
def leg_loads(xy: Positions, kg: float, at: tuple[Length, Length]) -> LegLoads:
    """What each leg at the places ``xy``, shape (k, 2), carries of a mass of ``kg`` whose centre is
    ``at`` (x, y).

    Raises :class:`InputError` for a mass below 0 and for values that are not finite.

    >>> import truebed
    >>> legs = [[0, 0], [2000, 0], [2000, 1000], [0, 1000]]
    >>> truebed.leg_loads(legs, 400, (1000, 500)).stands_kg.tolist()
    [100.0, 100.0, 100.0, 100.0]
    """
    x, y = (_truebed.parse_length(it) for it in listed_pair("at", at, "x and y of the centre"))
    found: LegLoads = _truebed.leg_loads(_array.positions(xy), _truebed.plain("kg", kg), (x, y))
    return found


@strict
def people(kg: float, kg_a_person: float = 23.0) -> int:
    """How many people a lift takes, no one lifting more than ``kg_a_person``. The default is the load
    constant of the revised NIOSH lifting equation, 1994 (from memory): what a fit person may lift once
    in a good posture with a good grip, no more. See :data:`CAUTIONS`.

    Raises :class:`InputError` for a mass below 0 and for a share that is not above 0.

    >>> import truebed
    >>> truebed.people(115.5)
    6
    """
    return _truebed.people(_truebed.plain("kg", kg), _truebed.plain("kg_a_person", kg_a_person))
