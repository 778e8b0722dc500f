"""The site: whether the table fits the room, whether it gets there, whether its frame is square."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._error import SHAPE, VALUE, InputError, InputTypeError
from ._length import Length, Lengths, Positions
from ._result import Result, shown
from ._strict import strict
from ._survey import items

Obstacles = Sequence[Positions] | Mapping[str, Positions]
Readings = Sequence["Length | Lengths | None"]
_Floats = npt.NDArray[np.float64]
_Room = tuple[
    _Floats,
    list[float],
    list[float] | None,
    list[float],
    list[tuple[str, _Floats]],
    str | float,
    list[float] | None,
]


@dataclass(frozen=True, slots=True, eq=False)
class Side(Result):
    """One side of a table and what is before it.

    >>> import truebed
    >>> room = [[0, 0], [6000, 0], [6000, 5000], [0, 5000]]
    >>> truebed.place(room, (2540, 1270)).sides[0].of
    0
    """

    clearance_mm: float
    """From the side straight outwards to the first thing that faces any of it, mm."""
    of: int
    """Index of that thing: walls first, then obstacles."""


@dataclass(frozen=True, slots=True, eq=False)
class Short(Result):
    """A part of a table's edge with less before it than is asked for.

    >>> import truebed
    >>> room = [[0, 0], [6000, 0], [6000, 4000], [0, 4000]]
    >>> part = truebed.place(room, (2540, 1270)).short[0]
    >>> part.side, round(part.by_mm), round(part.cue_mm)
    (0, 159, 1289)
    """

    side: int
    """0 right, 1 ahead, 2 left, 3 behind, seen in the direction of the table's length."""
    from_mm: float
    """Where the part begins, mm from the first corner of the side, going anticlockwise."""
    to_mm: float
    """Where it ends, mm."""
    least_mm: float
    """The least distance from the part to a thing on its side, mm."""
    by_mm: float
    """What is missing there, mm."""
    of: int
    """Index of the thing that is nearest there."""
    cue_mm: float
    """A cue no longer than this has its full stroke over the whole part, mm; 0 or less for none."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Place(Result):
    """Whether a table fits, and where it has most about it.

    >>> import truebed
    >>> room = [[0, 0], [6000, 0], [6000, 5000], [0, 5000]]
    >>> place = truebed.place(room, (2540, 1270))
    >>> place.fits, round(place.x_mm), round(place.y_mm), place.angle_deg
    (True, 3000, 2500, 0.0)
    """

    fits: bool
    """Whether everything is at least as far away as is asked for."""
    x_mm: float
    """The middle of the table, mm."""
    y_mm: float
    """The middle of the table, mm."""
    angle_deg: float
    """The direction of its length, degrees anticlockwise from x."""
    least_mm: float
    """The least distance from the playing surface to anything, mm; 0 where they overlap."""
    frame_least_mm: float
    """The least distance from the bare frame to anything, mm; NaN without one."""
    tightest: int
    """What is nearest to the playing surface: an index of ``clearances_mm``."""
    clearances_mm: npt.NDArray[np.float64]
    """From the playing surface to each wall (from each corner to the next), then to each obstacle,
    mm, shape (walls + obstacles,)."""
    sides: list[Side]
    """Straight out from each side: right, ahead, left, behind."""
    short: list[Short]
    """The parts of the edge with less before them than is asked for."""
    free_share: float
    """The share of the edge that has it, 0 to 1."""
    slack_mm: float
    """The least of what is there beyond what is asked for, of surface and frame, mm."""
    bound_mm: float
    """No position that is allowed has a greater ``slack_mm``, mm; NaN for a position that is judged
    as it stands."""
    outline_mm: npt.NDArray[np.float64]
    """Corners of the playing surface, mm, anticlockwise, shape (4, 2)."""
    names: list[str]
    """What the walls and the obstacles are called."""

    def __repr__(self) -> str:
        return (
            f"Place(fits={self.fits}, x_mm={self.x_mm!r}, y_mm={self.y_mm!r}, "
            f"angle_deg={self.angle_deg!r}, least_mm={self.least_mm!r}, "
            f"tightest={self.names[self.tightest]!r})"
        )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Square(Result):
    """How square a frame is.

    >>> import truebed
    >>> frame = truebed.square((2540, 2540), (1270, 1270), (2845, 2834.6), sigma=0.5)
    >>> frame.met, frame.corner, round(frame.rack_mm, 1)
    (False, 2, 5.8)
    """

    met: bool | None
    """Whether lengths, widths and diagonals differ by no more than ``within_mm``, at a risk of 5 %;
    None where the readings do not tell."""
    probability: float
    """The probability of that; NaN where the tape's uncertainty is not known, as for all that
    follows."""
    within_mm: float
    """How far they may differ, mm."""
    differences_mm: npt.NDArray[np.float64]
    """First less second of lengths, widths and diagonals, mm, shape (3,)."""
    differences_sigma_mm: npt.NDArray[np.float64]
    """Standard uncertainty of each, mm, shape (3,)."""
    off_mm: npt.NDArray[np.float64]
    """How far each corner is out of square, mm, shape (4,): from the end of the width at the corner
    to where it would be in square; above 0 where the corner is wider than a right angle."""
    off_sigma_mm: npt.NDArray[np.float64]
    """Standard uncertainty of each, mm, shape (4,)."""
    off_deg: npt.NDArray[np.float64]
    """The angle at each corner less 90°, shape (4,)."""
    off_sigma_deg: npt.NDArray[np.float64]
    """Standard uncertainty of each, degrees, shape (4,)."""
    corner: int | None
    """The corner to push along the length, towards the other end of its length, while the first
    length stays where it is: 2 or 3; None where the diagonals agree."""
    rack_mm: float
    """How far to push, mm, until the diagonals agree; NaN where no push makes them agree."""
    rack_sigma_mm: float
    """Standard uncertainty of that, mm."""
    rack_probability: float
    """The probability that the push goes the right way."""
    corners_mm: npt.NDArray[np.float64]
    """Corners as adjusted, mm, shape (4, 2): 0 at the origin, 1 on the x axis."""
    residuals_mm: npt.NDArray[np.float64]
    """Adjusted less read, mm, shape (readings,)."""
    dof: int
    """How many readings there are beyond the five that a quadrilateral needs."""
    suspects: list[str]
    """The readings that the others speak against most, as ``"lengths[1][0]"``; several are equally
    suspect, so that only another reading tells which."""

    def __repr__(self) -> str:
        return (
            f"Square(met={self.met}, probability={self.probability!r}, corner={self.corner}, "
            f"rack_mm={self.rack_mm!r}, suspects={shown(self.suspects)})"
        )


@dataclass(frozen=True, slots=True, eq=False)
class Passage(Result):
    """What a piece is carried through; made by :meth:`door`, :meth:`corner`, :meth:`landing` and
    :meth:`stairs`.

    >>> import truebed
    >>> truebed.Passage.door("front door", "32 in", "78 in").width_mm
    812.8
    """

    kind: str
    """``"door"``, ``"corner"``, ``"landing"`` or ``"stairs"``."""
    name: str
    """What a person calls it."""
    width_mm: float
    """Clear width, mm."""
    other_mm: float
    """Clear width behind a corner, or depth of a landing, mm; NaN where there is none."""
    height_mm: float
    """Clear height, or head room, mm."""
    angle_deg: float | None
    """By how much one turns, or how steep stairs are, degrees."""

    @classmethod
    def door(cls, name: str, width: Length, height: Length) -> Passage:
        """A door or a straight corridor.

        >>> import truebed
        >>> truebed.Passage.door("hall", 900, 2200).kind
        'door'
        """
        return cls("door", name, _mm("width", width), np.nan, _mm("height", height), None)

    @classmethod
    def corner(cls, name: str, widths: Lengths, height: Length, turn_deg: float = 90.0) -> Passage:
        """Where a corridor of one width turns into one of another, by ``turn_deg``.

        >>> import truebed
        >>> truebed.Passage.corner("hall", (900, 1000), 2200).angle_deg
        90.0
        """
        before, after = _array.place("widths", widths)
        return cls("corner", name, before, after, _mm("height", height), _truebed.plain("turn_deg", turn_deg))

    @classmethod
    def landing(cls, name: str, size: Lengths, height: Length) -> Passage:
        """A landing on which the piece is turned on the spot.

        >>> import truebed
        >>> truebed.Passage.landing("first floor", (1500, 1200), 2300).other_mm
        1200.0
        """
        width, depth = _array.place("size", size)
        return cls("landing", name, width, depth, _mm("height", height), None)

    @classmethod
    def stairs(
        cls, name: str, width: Length, head_room: Length, pitch_deg: float | None = None
    ) -> Passage:
        """A straight flight, with head room straight up from the edges of the steps; 42° steep by
        default (common practice).

        >>> import truebed
        >>> truebed.Passage.stairs("stairs", 850, 2000).name
        'stairs'
        """
        room, pitch = _mm("head_room", head_room), None if pitch_deg is None else _truebed.plain("pitch_deg", pitch_deg)
        return cls("stairs", name, _mm("width", width), np.nan, room, pitch)


@dataclass(frozen=True, slots=True, eq=False)
class Carried(Result):
    """Whether a piece passes somewhere, carried in the way that leaves most.

    >>> import truebed
    >>> way = truebed.way_in({"slate": (1350, 900, 25)}, [truebed.Passage.door("door", 800, 1980)])
    >>> way.carried[0].carry, way.carried[0].margin_mm, way.carried[0].spare
    ('upright', 775.0, 'width')
    """

    piece: str
    """Name of the piece."""
    passage: str
    """Name of the passage."""
    passes: bool
    """Whether it passes."""
    carry: str
    """``"upright"`` on its long edge, or ``"flat"``."""
    margin_mm: float
    """What is left, mm; what is missing where below 0."""
    spare: str
    """Of what: ``"width"``, ``"height"``, or ``"length"`` that would still go round a corner."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class WayIn(Result):
    """The way in for all pieces.

    >>> import truebed
    >>> way = truebed.way_in({"slate": (1350, 900, 25)}, [truebed.Passage.door("door", 800, 1980)])
    >>> way.passes, way.tightest
    (True, {'slate': 'door'})
    """

    passes: bool
    """Whether every piece passes everywhere."""
    carried: list[Carried]
    """Each piece at each passage, piece by piece."""
    tightest: dict[str, str]
    """The tightest passage of each piece."""

    def __repr__(self) -> str:
        return f"WayIn(passes={self.passes}, tightest={self.tightest})"


@strict
def place(
    room: Positions,
    surface: Lengths,
    *,
    frame: Lengths | None = None,
    clear: Length = "60 in",
    frame_clear: Length = "62 in",
    stroke: Length = "3 in",
    obstacles: Obstacles = (),
    turn: str | float = "walls",
    at: Sequence[float] | None = None,
) -> Place:
    """Finds where a table stands best in a room: where the least clearance is largest.

    ``room`` has the corners of the walls in order, shape (k, 2); ``surface`` is length and width of
    the playing surface, ``frame`` of the bare frame. ``clear`` and ``frame_clear`` are what is asked
    for about each; ``stroke`` is what a stroke needs beyond the length of the cue (all three are
    common practice). ``obstacles`` are polygons, with or without names. ``turn`` is ``"walls"`` for
    along or across any wall, ``"free"`` for any direction, or an angle in degrees; with ``at``, x and
    y in mm and the angle in degrees, that position is judged as it stands.

    Raises :class:`InputError` for polygons whose sides cross, lengths that are not above zero, an
    obstacle outside the room, a room smaller than the table, a position outside the room;
    :class:`InputTypeError` for what is no array of lengths.

    >>> import truebed
    >>> room = [[0, 0], [6000, 0], [6000, 4000], [0, 4000]]
    >>> tight = truebed.place(room, ("100 in", "50 in"), obstacles={"post": [[0, 0], [200, 0], [200, 200]]})
    >>> tight.fits, tight.names[tight.tightest], round(tight.free_share, 2)
    (False, 'wall 1', 0.25)
    """
    return _truebed.place(*_room(room, surface, frame, (clear, frame_clear, stroke), obstacles, turn, at))


def door_swing(
    hinge: Sequence[Length], leaf: Length, from_deg: float, to_deg: float
) -> npt.NDArray[np.float64]:
    """The corners of what a door leaf sweeps, mm, shape (k, 2), as an obstacle for :func:`place`.

    It is hinged at ``hinge`` (x, y), ``leaf`` is how wide it is, and it swings from one direction
    anticlockwise to another, degrees from x. The arc is taken a hair too wide, never too narrow.

    Raises :class:`InputError` for a leaf that is not from 1 mm to 1 km, a swing that is not above 0 and at
    most 359 degrees.

    >>> import truebed
    >>> swing = truebed.door_swing((0, 0), 800, 0, 90)
    >>> swing.shape, swing[0].tolist(), swing[1].tolist()
    ((9, 2), [0.0, 0.0], [800.0, 0.0])
    """
    ends = (_truebed.plain("from_deg", from_deg), _truebed.plain("to_deg", to_deg))
    return _truebed.door_swing(_array.place("hinge", hinge), _mm("leaf", leaf), *ends)


@strict
def room_picture(
    room: Positions,
    surface: Lengths,
    *,
    frame: Lengths | None = None,
    clear: Length = "60 in",
    frame_clear: Length = "62 in",
    stroke: Length = "3 in",
    obstacles: Obstacles = (),
    turn: str | float = "walls",
    at: Sequence[float] | None = None,
    title: str = "",
    units: str = "both",
    narrow: bool = False,
) -> str:
    """The plan of a room with the table where :func:`place` puts it, as SVG; the arguments are its.
    ``narrow`` sets it for the screen of a phone, 380 pixels wide.

    Raises what :func:`place` does, and :class:`InputError` for other units.

    >>> import truebed
    >>> room = [[0, 0], [6000, 0], [6000, 4000], [0, 4000]]
    >>> truebed.room_picture(room, (2540, 1270), units="inch").startswith("<svg")
    True
    """
    asked = _room(room, surface, frame, (clear, frame_clear, stroke), obstacles, turn, at)
    return _truebed.room_picture(*asked, title, units, bool(narrow))


@strict
def square(
    lengths: Readings,
    widths: Readings,
    diagonals: Readings,
    *,
    sigma: Length | None = None,
    within: Length | None = None,
) -> Square:
    """Adjusts tape readings of a frame, or of slates that butt together, by their outer corners.

    ``lengths`` are those from corner 0 to 1 and from 3 to 2, ``widths`` from 0 to 3 and from 1 to 2,
    ``diagonals`` from 0 to 2 and from 1 to 3: each a reading, a list of readings, or None where it was
    not read. ``sigma`` is the standard uncertainty of a reading, ``within`` how far lengths, widths
    and diagonals may differ, 1/8 in by default (common practice).

    Raises :class:`InputError` for fewer than five of the six tapes, values that are not above zero,
    readings that belong to no quadrilateral; :class:`InputTypeError` for what is no length.

    >>> import truebed
    >>> truebed.square((2540, None), (1270, 1270), ([2839, 2840], 2840), sigma=0.2).met
    True
    """
    tapes = [*_pair("lengths", lengths), *_pair("widths", widths), *_pair("diagonals", diagonals)]
    limits = [None if it is None else _mm(name, it) for name, it in (("sigma", sigma), ("within", within))]
    return _truebed.square(tapes, *limits)


@strict
def way_in(pieces: Mapping[str, Lengths], passages: Sequence[Passage]) -> WayIn:
    """Finds for each piece and passage whether it passes, carried upright or flat, and with what
    margin. ``pieces`` are boxes by name, three edges each.

    Raises :class:`InputError` for no pieces or passages, names that cannot be written and sizes that
    are not above zero; :class:`InputTypeError` for what is no length.

    >>> import truebed
    >>> hall = truebed.Passage.corner("hall", (900, 900), 2300)
    >>> way = truebed.way_in({"long side of the frame": (2600, 200, 50)}, [hall])
    >>> way.passes, round(way.carried[0].margin_mm)
    (False, -154)
    """
    boxes = []
    for name, size in items("pieces", pieces):
        edges = _array.lengths(f"pieces[{name!r}]", size, 3)
        boxes.append((name, edges.tolist()))
    form = "passages, as Passage.door and its like make them"
    ways = []
    for at, it in enumerate(_array.listed("passages", passages, form)):
        if not isinstance(it, Passage):
            raise InputTypeError(VALUE, [(f"passages[{at}]", type(it).__name__, form)])
        ways.append((it.kind, it.name, it.width_mm, it.other_mm, it.height_mm, it.angle_deg))
    return _truebed.way_in(boxes, ways)


def _room(
    room: Positions,
    surface: Lengths,
    frame: Lengths | None,
    asked: Sequence[Length],
    obstacles: Obstacles,
    turn: str | float,
    at: Sequence[float] | None,
) -> _Room:
    if isinstance(obstacles, Mapping):
        named = [(str(name), f"obstacles[{name!r}]", it) for name, it in obstacles.items()]
    else:
        listed = _array.listed("obstacles", obstacles, "a list of polygons, or polygons by name")
        named = [(f"obstacle {i + 1}", f"obstacles[{i}]", it) for i, it in enumerate(listed)]
    names = ("clear", "frame_clear", "stroke")
    return (
        _array.polygon("room", room),
        _array.place("surface", surface),
        None if frame is None else _array.place("frame", frame),
        [_mm(name, it) for name, it in zip(names, asked)],
        [(name, _array.polygon(field, it)) for name, field, it in named],
        turn,
        None if at is None else _array.numbers("at", at, 3).tolist(),
    )


def _pair(field: str, readings: Readings) -> list[npt.NDArray[np.float64]]:
    listed = _array.listed(field, readings, "two readings, or lists of readings")
    if len(listed) != 2:
        raise InputError(SHAPE, [(field, f"{len(listed)} readings", "two, or lists of readings")])
    return [_tape(f"{field}[{at}]", it) for at, it in enumerate(listed)]


def _tape(field: str, readings: Any) -> npt.NDArray[np.float64]:
    if readings is None:
        return np.empty(0)
    if isinstance(readings, (list, tuple)) or getattr(readings, "ndim", 0) > 0:
        return _array.lengths(field, readings, None)
    return _array.lengths(field, [readings], 1)


def _mm(field: str, length: Length) -> float:
    return float(_array.lengths(field, [length], 1)[0])
