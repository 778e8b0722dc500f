"""What to read next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from . import _array, _truebed
from ._array import listed
from ._truebed import Limits, Reading
from ._length import Length
from ._points import Index, indices, matched
from ._result import Result, shown
from ._survey import Slope, items, survey
from ._verdict import Rule, Verdict

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True, slots=True, eq=False)
class NextReading(Result):
    """What a further reading would do.

    >>> import truebed
    >>> readings = [truebed.rise("A", "B", 0.05, 0.03)]
    >>> points = {"A": (0, 0), "B": (900, 0)}
    >>> next = truebed.read_next(readings, readings, 0.05, points=points).readings[0]
    >>> next.candidate, next.doubt < 0.05
    (0, True)
    """

    candidate: int
    """Index of the candidate."""
    doubt: float
    """The doubt that it is expected to leave: never more than there is now."""
    changes: float
    """The probability that the verdict is another one after it."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class NextReadings(Result):
    """What the readings prove, and what further readings would do.

    >>> import truebed
    >>> readings = [truebed.rise("A", "B", 0.01, 0.01)]
    >>> points = {"A": (0, 0), "B": (900, 0)}
    >>> truebed.read_next(readings, readings, 0.05, points=points).enough
    True
    """

    doubt: float
    """The probability of being wrong about all limits together, if one has to say whether they are
    met: 0.5 at the most."""
    enough: bool
    """Whether the readings are enough: ``status`` is ``"settled"``."""
    status: Literal["settled", "read-on", "none-helps"]
    """Whether to read on: the verdict is settled, since it is one and no candidate is likely to change it
    (each with a probability of at most the risk; of simple acceptance, which has none, 5 %); at least one
    candidate is likely to change it; or the readings do not tell, and no candidate by itself helps."""
    verdict: Verdict
    """The verdict by the readings that there are."""
    readings: list[NextReading]
    """The candidates, the one that leaves the least doubt first."""

    def __repr__(self) -> str:
        return (
            f"NextReadings(doubt={self.doubt!r}, status={self.status!r}, "
            f"readings={shown(self.readings)})"
        )


def read_next(
    readings: Iterable[Reading] | pandas.DataFrame,
    candidates: Iterable[Reading],
    limits: Length | Limits,
    *,
    points: Mapping[str, Sequence[Length]],
    of: Iterable[str] | None = None,
    lifts: Mapping[str, Length] | Sequence[Length] | None = None,
    fixed: Mapping[str, Length | tuple[Length, Length]] | None = None,
    surface: Literal["floor", "frame"] = "floor",
    datum: Iterable[str] | None = None,
    levels: Mapping[str, Slope] | None = None,
    lasers: Mapping[str, Slope] | None = None,
    without: Iterable[int] = (),
    joints: Iterable[Sequence[Index]] | None = None,
    rule: Rule | None = None,
    risk: float | None = None,
) -> NextReadings:
    """Tells what further readings would do for the verdict on ``limits``: the doubt that each of the
    ``candidates`` by itself is expected to leave. What value a candidate is given does not matter; its
    uncertainty does. One from a set-up or with a level of the ``readings`` shares the errors of these.

    ``readings``, ``points``, ``fixed``, ``surface``, ``datum``, ``levels``, ``lasers`` and ``without`` are
    those of :func:`adjust`. ``of`` are the points to judge, by id; the default is all. ``lifts`` is how
    far each is lifted before that, as by a plan, in the same order or by id. ``limits``, ``joints``, ``rule`` and ``risk`` are those of
    :func:`check`.

    The GIL is released. Raises what :func:`adjust` and :func:`check` raise (candidates count on behind
    the readings), and :class:`InputError` for no candidates.

    >>> import truebed
    >>> points = {"A": (0, 0), "B": (900, 0), "C": (1800, 0)}
    >>> readings = [truebed.rise("A", "B", 0, 0.005), truebed.rise("A", "C", 0.09, 0.03)]
    >>> again = [truebed.rise("A", "B", 0, 0.01), truebed.rise("A", "C", 0, 0.01)]
    >>> next = truebed.read_next(readings, again, 0.05, points=points)
    >>> next.readings[0].candidate, next.enough
    (1, False)
    """
    points = dict(items("points", points))
    ids = list(points) if of is None else listed("of", of, "a list of ids")
    ids = _truebed.texts("of", ids)
    places = {id: points[id] for id in ids if id in points}
    xy = _array.positions([places.get(id, (0, 0)) for id in ids])
    none: Any = np.empty(0)
    raised = none if lifts is None else _array.lengths("lifts", matched("lifts", lifts, ids), len(ids))
    return _truebed.read_next(
        survey(
            readings,
            points=points,
            fixed=fixed,
            surface=surface,
            datum=datum,
            levels=levels,
            lasers=lasers,
            without=without,
        ),
        listed("candidates", candidates, "a list of readings"),
        ids,
        xy,
        raised,
        limits,
        indices("joints", joints, ids),
        rule,
        risk,
    )
