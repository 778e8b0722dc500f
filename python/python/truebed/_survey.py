"""Surveys: from readings to heights that can be trusted."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, TypedDict

import numpy as np
import numpy.typing as npt

from . import _array, _truebed
from ._array import listed
from ._truebed import Reading
from ._error import SHAPE, VALUE, Error, InputError, InputTypeError
from ._frame import is_frame, rows
from ._length import Length
from ._result import Result, shown
from ._signature import takes

if TYPE_CHECKING:
    import pandas
    from typing_extensions import Unpack

    from ._plan import Units

Slope: TypeAlias = float | str
"""A number of mm/m, or a text with a unit such as ``"0.02 mm/m"``, ``"0.0005 in/ft"``,
``"4 arcsec"``, ``"0.1 deg"`` or ``"0.05 %"``."""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Offset(Result):
    """What the readings say of an instrument: the height of a set-up, mm, or the zero error of a
    level, mm/m.

    >>> import truebed
    >>> readings = [truebed.height("A", 12, setup="S"), truebed.height("B", 13, setup="S")]
    >>> heights = truebed.adjust(readings, fixed={"A": 0})
    >>> offset = heights.setups[0]
    >>> offset.name, round(offset.value, 6)
    ('S', 12.0)
    """

    name: str
    """The name by which the readings call it."""
    value: float
    """Its height, mm, or its zero error, mm/m."""
    sigma: float
    """Standard uncertainty of the value."""


@dataclass(frozen=True, slots=True, eq=False)
class Closure(Result):
    """A loop of readings from a point back to itself, or from one fixed height to another. Zero
    errors of levels count as adjusted; straightedges have no part in loops.

    >>> import truebed
    >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
    >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
    >>> closure = truebed.adjust(readings).closures()[0]
    >>> sorted(closure.readings), round(abs(closure.mm), 6), round(closure.sigma_mm, 6)
    ([0, 1, 2], 0.1, 0.173205)
    """

    readings: list[int]
    """The readings of the loop, by index, in order."""
    mm: float
    """What it fails to close by, mm."""
    sigma_mm: float
    """Standard uncertainty of that, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class SuspectGroup(Result):
    """Readings of which one is suspected to be wrong, and no data can say which.

    >>> import truebed
    >>> readings = [truebed.rise("A", "B", 1, 0.01), truebed.rise("A", "B", 1.5, 0.01)]
    >>> truebed.adjust(readings).suspect_groups[0].readings
    [0, 1]
    """

    readings: list[int]
    """The readings, by index; one alone where it can be told apart from all others."""
    blunder_mm: float
    """About how large the blunder is, mm; over its span for a slope."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Heights(Result):
    """Adjusted heights, and for each reading how well the others check it.

    Standard uncertainties are a priori: they rest on those of the readings. A number that the
    readings do not determine is NaN. Arrays of heights may be taken from it as from any array-like, so that
    :func:`truebed.check` and :func:`truebed.plan_shims` take it as it is.

    >>> import truebed
    >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
    >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
    >>> heights = truebed.adjust(readings, fixed={"A": 0})
    >>> heights.ids, heights.mm.round(3).tolist(), heights.dof
    (['A', 'B', 'C'], [0.0, 1.033, 2.067], 1)
    """

    ids: list[str]
    """Ids of the points, n of them: as in ``points``, else as they appear in the readings."""
    mm: Floats
    """Heights, mm, shape (n,)."""
    sigma_mm: Floats
    """Standard uncertainty of each height, mm, shape (n,); 0 for those that count as exact. Where
    nothing fixes the heights, of the height above the mean of the datum."""
    residuals_mm: Floats
    """Adjusted minus read, mm, one per reading; of a slope over its span."""
    redundancy: Floats
    """Redundancy number of each reading, from 0 (no other reading checks it) to 1."""
    normalised: Floats
    """Baarda's w of each reading: residual over its standard uncertainty; NaN where nothing checks
    the reading. For a reading left out: how far off it is, in standard uncertainties."""
    tau: Floats
    """Pope's tau of each reading: w over the square root of the variance factor."""
    detectable_mm: Floats
    """Smallest blunder of each reading that the test finds with the stated power, mm; infinite
    where nothing checks the reading."""
    suspects: list[int]
    """Readings that the others speak against, by index, worst first. One blunder makes good readings
    look bad: see ``suspect_groups``."""
    critical: float
    """The critical value of |w| (or |tau|)."""
    left_out: list[int]
    """Readings left out, by index."""
    dof: int
    """Degrees of freedom: how many readings there are beyond those needed."""
    variance_factor: float
    """Sum of weighted squares of the residuals over dof, about 1 where the uncertainties are right;
    NaN without degrees of freedom."""
    p_value: float
    """Global test: probability of residuals at least so large if the uncertainties are right and no
    reading is a blunder; NaN without degrees of freedom."""
    setups: list[Offset]
    """Heights of the set-ups, mm: what a reading of 0 would mean."""
    zero_errors: list[Offset]
    """Zero errors of the levels, mm/m."""
    plane_slopes: list[list[Offset]]
    """Slopes of the plane that a laser throws from each of its set-ups, along and across, mm/m; none where
    ``points`` does not say where the points lie."""
    unchecked: list[tuple[Literal["level", "laser"], str]]
    """Levels, and set-ups of lasers, by name, whose error nothing checks: the figures rest on its stated
    uncertainty. Turn the level; read from a second set-up."""
    suspect_groups: list[SuspectGroup]
    """The suspects in groups, the worst first: one reading of a group is wrong, and no data can say which.
    Read all of them again; leave a reading out, with :meth:`without`, only where it is alone."""
    condition: float
    """Largest pivot of the normal equations over the smallest: as many of the 16 digits as it has
    may be lost."""
    _solution: _truebed.Solution
    _survey: _truebed.Survey

    @property
    def covariance(self) -> Floats:
        """Covariance of the heights, mm², shape (n, n). It is computed when it is asked for; keep it
        if you need it twice.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
        >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
        >>> truebed.adjust(readings, fixed={"A": 0}).covariance.round(5).tolist()
        [[0.0, 0.0, 0.0], [0.0, 0.00667, 0.00333], [0.0, 0.00333, 0.00667]]
        """
        covariance: Floats = self._solution.covariance()
        covariance.flags.writeable = False
        return covariance

    def separability(self) -> list[tuple[int, float] | None]:
        """For each reading the other one, by index, with which a blunder in it is most easily confused,
        and the correlation of their normalised residuals, from -1 to 1. At either end no data can tell
        the two apart. None where nothing checks the reading.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, 0.01), truebed.rise("A", "B", 1.5, 0.01)]
        >>> other, correlation = truebed.adjust(readings).separability()[0]
        >>> other, round(correlation, 9)
        (1, -1.0)
        """
        return self._solution.separability()

    def closures(self) -> list[Closure]:
        """The loops of readings and what they fail to close by.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
        >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
        >>> len(truebed.adjust(readings).closures())
        1
        """
        return self._solution.closures()

    def without(self, *readings: int) -> Heights:
        """The heights without these readings, by index. They stay listed in ``left_out``, and
        their residuals tell how far off they are.

        Raises :class:`InputError` for a reading that is not there, and for points that the others
        do not tie.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
        >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
        >>> heights = truebed.adjust(readings, fixed={"A": 0}).without(2)
        >>> heights.mm.round(6).tolist(), heights.left_out
        ([0.0, 1.0, 2.0], [2])
        """
        return _truebed.adjust(self._survey.without(list(readings)))

    def picture(self, units: Units = "both", *, narrow: bool = False) -> str:
        """How far each reading is from what the others say, and which are suspected, as SVG text.
        Readings are named by what they read, in ``units``: ``"both"``, ``"metric"`` or ``"inch"``. In a
        notebook the heights show it by themselves. ``narrow`` sets it for the screen of a phone, 380
        pixels wide.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
        >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
        >>> truebed.adjust(readings).picture()[:4]
        '<svg'
        """
        return self._solution.picture(units, bool(narrow))

    def _repr_svg_(self) -> str:
        return self.picture()

    def to_frame(self) -> pandas.DataFrame:
        """The heights as a pandas DataFrame: by id, columns ``mm`` and ``sigma_mm``.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
        >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
        >>> truebed.adjust(readings, fixed={"A": 0}).to_frame().round(3)
               mm  sigma_mm
        id
        A   0.000     0.000
        B   1.033     0.082
        C   2.067     0.082
        """
        import pandas

        index = pandas.Index(self.ids, name="id")
        return pandas.DataFrame({"mm": self.mm, "sigma_mm": self.sigma_mm}, index=index)

    def readings_to_frame(self) -> pandas.DataFrame:
        """How well the readings check each other as a pandas DataFrame, a row for each reading.

        >>> import truebed
        >>> readings = [truebed.rise("A", "B", 1, sigma=0.1), truebed.rise("B", "C", 1, sigma=0.1)]
        >>> readings.append(truebed.rise("A", "C", 2.1, sigma=0.1))
        >>> truebed.adjust(readings).readings_to_frame()[["normalised", "suspect"]].round(3)
                 normalised  suspect
        reading
        0             0.577    False
        1             0.577    False
        2            -0.577    False
        """
        import pandas

        count = len(self.residuals_mm)
        return pandas.DataFrame(
            {
                "residual_mm": self.residuals_mm,
                "redundancy": self.redundancy,
                "normalised": self.normalised,
                "tau": self.tau,
                "detectable_mm": self.detectable_mm,
                "suspect": np.isin(np.arange(count), self.suspects),
                "left_out": np.isin(np.arange(count), self.left_out),
            },
            index=pandas.RangeIndex(count, name="reading"),
        )

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> npt.NDArray[Any]:
        return np.array(self.mm, dtype=dtype)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Heights):
            return NotImplemented
        # The same survey has the same heights.
        return bool(self._survey == other._survey)

    def __reduce__(self) -> tuple[Any, ...]:
        return _truebed.adjust, (self._survey,)

    def __repr__(self) -> str:
        left_out = f", left_out={shown(self.left_out)}" if self.left_out else ""
        return (
            f"Heights(ids={shown(self.ids)}, mm={shown(self.mm.tolist())}, "
            f"sigma_mm={shown(self.sigma_mm.tolist())}, dof={self.dof}, "
            f"variance_factor={self.variance_factor!r}, suspects={shown(self.suspects)}{left_out})"
        )


class SurveyOptions(TypedDict, total=False):
    """The arguments of :func:`adjust` by name."""

    points: Mapping[str, Sequence[Length]] | None
    fixed: Mapping[str, Length | tuple[Length, Length]] | None
    surface: Literal["floor", "frame"]
    datum: Iterable[str] | None
    levels: Mapping[str, Slope] | None
    lasers: Mapping[str, Slope] | None
    without: Iterable[int]
    test: Literal["w", "tau"]
    alpha: float
    power: float


def survey(
    readings: Iterable[Reading] | pandas.DataFrame,
    *,
    points: Mapping[str, Sequence[Length]] | None = None,
    fixed: Mapping[str, Length | tuple[Length, Length]] | None = None,
    surface: Literal["floor", "frame"] = "floor",
    datum: Iterable[str] | None = None,
    levels: Mapping[str, Slope] | None = None,
    lasers: Mapping[str, Slope] | None = None,
    without: Iterable[int] = (),
    test: Literal["w", "tau"] = "w",
    alpha: float = 0.001,
    power: float = 0.8,
) -> _truebed.Survey:
    """The survey as the extension takes it. The arguments of :func:`adjust` and their defaults
    stand here."""
    if is_frame(readings):
        readings = _from_frame(readings)
    return _truebed.survey(
        listed("readings", readings, "a list of readings or a DataFrame"),
        points=[(id, *_pair(f"points[{id!r}]", xy)) for id, xy in items("points", points)],
        fixed=[
            (id, *height) if isinstance(height, tuple) and len(height) == 2 else (id, height, None)
            for id, height in items("fixed", fixed)
        ],
        surface=surface,
        datum=listed("datum", datum or [], "a list of ids"),
        levels=items("levels", levels),
        lasers=items("lasers", lasers),
        without=listed("without", without, "a list of indices"),
        test=test,
        alpha=alpha,
        power=power,
    )


@takes(survey)
def adjust(
    readings: Iterable[Reading] | pandas.DataFrame, **options: Unpack[SurveyOptions]
) -> Heights:
    """Adjusts readings: weighted least squares of all of them at once.

    ``readings`` are made by :func:`height`, :func:`rise`, :func:`bubble`, :func:`slope`,
    :func:`gap`, :func:`leg_gap` and :func:`slate_gap`, or are a pandas DataFrame with a column ``kind`` and the
    arguments of those functions as the others. ``points``, id -> (x, y), lists all points and where
    they lie, which slopes without a span and gaps without an ``at`` need. ``fixed``, id -> height
    or (height, sigma), is what is known beforehand. Where nothing is, the mean height of the points of
    the ``datum`` is 0; the default datum is all points.

    ``surface`` is the surface whose heights are adjusted where legs float: the floor, or the frame on
    top of which the readings were taken. ``levels``, name -> standard uncertainty of its zero error, is
    what is known of levels beforehand; the default is half a division, or 0.05° for an electronic
    level (common practice). ``lasers``, name of a set-up -> standard uncertainty of the slope of its
    plane, is the same for lasers; the default is 0.1 mm/m (common practice), and it counts where
    ``points`` says where the points lie. ``without`` lists readings to leave out, by index. ``test``,
    ``alpha`` and ``power`` belong to the test for blunders (Baarda 1968, Pope 1976).

    The GIL is released. Raises :class:`InputError` with everything that is wrong with the readings,
    for points that they do not tie together (with the components, and a reading that would tie them),
    and for uncertainties too far apart to compute with; :class:`InputTypeError` for what is of
    another type.

    >>> import truebed
    >>> readings = [truebed.height("A", "1204.1 mm", setup="door", instrument="laser")]
    >>> readings.append(truebed.height("B", "1206.6 mm", setup="door", instrument="laser"))
    >>> readings.append(truebed.rise("A", "B", "-2.5 mm", sigma=0.1))
    >>> heights = truebed.adjust(readings, fixed={"A": 0})
    >>> heights.mm.round(6).tolist(), heights.suspects
    ([0.0, -2.5], [])
    """
    return _truebed.adjust(survey(readings, **options))


def components(
    readings: Iterable[Reading] | pandas.DataFrame,
    *,
    points: Mapping[str, Sequence[Length]] | None = None,
    fixed: Mapping[str, Length | tuple[Length, Length]] | None = None,
) -> list[list[str]]:
    """The connected components that the readings make of the points, by ids.

    There is one component where :func:`adjust` can give heights.

    Raises what :func:`adjust` raises, but for points that are not tied together.

    >>> import truebed
    >>> truebed.components([truebed.rise("A", "B", 1), truebed.rise("C", "D", 1)])
    [['A', 'B'], ['C', 'D']]
    """
    return _truebed.components(survey(readings, points=points, fixed=fixed))


def pieces(
    readings: Iterable[Reading] | pandas.DataFrame,
    *,
    points: Mapping[str, Sequence[Length]] | None = None,
    fixed: Mapping[str, Length | tuple[Length, Length]] | None = None,
) -> list[list[str]]:
    """The old name of :func:`components`, deprecated.

    >>> import truebed, warnings
    >>> warnings.simplefilter("ignore", DeprecationWarning)
    >>> truebed.pieces([truebed.rise("A", "B", 1), truebed.rise("C", "D", 1)])
    [['A', 'B'], ['C', 'D']]
    """
    warnings.warn("pieces is now components", DeprecationWarning, stacklevel=2)
    return components(readings, points=points, fixed=fixed)


def level_line(
    ids: Sequence[str],
    divisions: npt.ArrayLike,
    *,
    sensitivity: Slope,
    base: Length,
    level: str = "level",
    turned: bool = False,
    sigma: float | None = None,
) -> list[Reading]:
    """The readings of a level stepped along a line of n points, one number of ``divisions`` a step,
    shape (n - 1,). A line that ends where it began closes.

    Raises :class:`InputError` for another number of steps, and for what :func:`bubble` refuses.

    >>> import truebed
    >>> line = truebed.level_line("ABC", [1, -2], sensitivity="0.05 mm/m", base="500 mm")
    >>> truebed.adjust(line, fixed={"A": 0}).mm.round(6).tolist()
    [0.0, 0.025, -0.025]
    """
    steps = _array.numbers("divisions", divisions, None)
    return _truebed.level_line(
        _names("ids", ids), steps.tolist(), sensitivity, base, level, turned, sigma
    )


def level_grid(
    ids: Sequence[Sequence[str]],
    along: npt.ArrayLike,
    across: npt.ArrayLike,
    *,
    sensitivity: Slope,
    base: Length,
    level: str = "level",
    sigma: float | None = None,
) -> list[Reading]:
    """The readings of a level stepped along all lines of a grid of r × c points: divisions
    ``along`` the rows, shape (r, c - 1), and ``across`` from row to row, shape (r - 1, c).

    Raises :class:`InputError` for other shapes, and for what :func:`bubble` refuses.

    >>> import truebed
    >>> level = {"sensitivity": "0.05 mm/m", "base": "500 mm"}
    >>> grid = truebed.level_grid(["AB", "CD"], [[1], [1]], [[-2, -2]], **level)
    >>> truebed.adjust(grid, fixed={"A": 0}).mm.round(6).tolist()
    [0.0, 0.025, -0.05, -0.025]
    """
    grid = [
        _names(f"ids[{at}]", row) for at, row in enumerate(listed("ids", ids, "rows of ids"))
    ]
    columns = len(grid[0]) if grid else 0
    steps = [
        _array.table("along", along, (len(grid), max(columns - 1, 0))),
        _array.table("across", across, (max(len(grid) - 1, 0), columns)),
    ]
    return _truebed.level_grid(
        grid, steps[0].tolist(), steps[1].tolist(), sensitivity, base, level, sigma
    )


@dataclass(frozen=True, slots=True, eq=False)
class UnionJack(Result):
    """A surface plate's heights about the plane through its centre in which both diagonals lie
    level from end to end.

    >>> import truebed
    >>> side = dict.fromkeys(["ne_nw", "ne_se", "se_sw", "nw_sw", "e_w", "n_s"], [0, 0])
    >>> diagonal = {"nw_se": [0, 1], "ne_sw": [0, 1]}
    >>> plate = truebed.union_jack(**side, **diagonal, step="100 mm")
    >>> isinstance(plate, truebed.UnionJack), plate.nw_se.round(6).tolist()
    (True, [0.000242, 0.0, 0.000242])
    """

    nw_se: Floats
    """Heights of the stations from north-west to south-east, mm."""
    ne_sw: Floats
    """From north-east to south-west, mm."""
    ne_nw: Floats
    """Along the north side, mm."""
    ne_se: Floats
    """Along the east side, mm."""
    se_sw: Floats
    """Along the south side, mm."""
    nw_sw: Floats
    """Along the west side, mm."""
    e_w: Floats
    """Along the centre line from east to west, mm."""
    n_s: Floats
    """Along the centre line from north to south, mm."""
    closures_mm: tuple[float, float]
    """Where the centre lines, east to west and north to south, miss the centre, mm."""
    flatness_mm: float
    """The highest station above the lowest, mm."""


def union_jack(
    *,
    nw_se: npt.ArrayLike,
    ne_sw: npt.ArrayLike,
    ne_nw: npt.ArrayLike,
    ne_se: npt.ArrayLike,
    se_sw: npt.ArrayLike,
    nw_sw: npt.ArrayLike,
    e_w: npt.ArrayLike,
    n_s: npt.ArrayLike,
    unit: Slope = "1 arcsec",
    step: Length,
) -> UnionJack:
    """Works a union-jack survey of a surface plate out (J. C. Moody, The Tool Engineer, October
    1955). Each of the eight lines is read at every ``step`` from the corner or side that it is
    named after first; a reading of 1 is a slope of one ``unit``.

    Raises :class:`InputError` for lines without two halves, readings that are not finite, and a
    step or unit of nothing.

    >>> import truebed
    >>> side = dict.fromkeys(["ne_nw", "ne_se", "se_sw", "nw_sw", "e_w", "n_s"], [0, 0])
    >>> diagonal = {"nw_se": [0, 1], "ne_sw": [0, 1]}
    >>> plate = truebed.union_jack(**side, **diagonal, step="100 mm")
    >>> round(plate.flatness_mm, 6)
    0.000242
    """
    def line(name: str, readings: npt.ArrayLike) -> Floats:
        return _array.numbers(name, readings, None)

    return _truebed.union_jack(
        nw_se=line("nw_se", nw_se),
        ne_sw=line("ne_sw", ne_sw),
        ne_nw=line("ne_nw", ne_nw),
        ne_se=line("ne_se", ne_se),
        se_sw=line("se_sw", se_sw),
        nw_sw=line("nw_sw", nw_sw),
        e_w=line("e_w", e_w),
        n_s=line("n_s", n_s),
        unit=unit,
        step=step,
    )


def _names(field: str, ids: Sequence[str]) -> list[str]:
    """Ids in order; those of one letter may stand in a text."""
    names = list(ids) if isinstance(ids, str) else listed(field, ids, "a list of ids")
    return _truebed.texts(field, names)


def items(field: str, mapping: Mapping[str, Any] | None) -> list[tuple[str, Any]]:
    """What a mapping holds; nothing, for None."""
    if mapping is None:
        return []
    if not isinstance(mapping, Mapping):
        got = f"{type(mapping).__name__}, which is no mapping"
        raise InputTypeError(VALUE, [(field, got, "a mapping by name")])
    return list(mapping.items())


def _pair(field: str, xy: Any) -> tuple[Any, Any]:
    pair = listed(field, xy, "a pair (x, y)")
    if len(pair) != 2:
        raise InputError(SHAPE, [(field, f"{len(pair)} values", "a pair (x, y)")])
    return pair[0], pair[1]


def _from_frame(frame: Any) -> list[Reading]:
    """A reading of each row; empty cells are not given."""
    readings: list[Reading] = []
    refused: list[Error] = []
    told: list[tuple[str, str, str]] = []
    for at, row in enumerate(rows(frame)):
        try:
            readings.append(_truebed.reading_from_row(row))
        except Error as error:
            refused.append(error)
            for field, got, expected in error.problems:
                told.append((f"readings[{at}].{field}", got, expected))
    if refused:
        raise type(refused[0])(refused[0].code, told)
    return readings
