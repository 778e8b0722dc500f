"""Readings: one function for each kind. The extension reads their arguments as the core's table of
kinds names them. A note is a remark of your own, which is kept and nothing more."""

from __future__ import annotations

from collections.abc import Sequence

from ._length import Length
from ._survey import Slope
from ._truebed import Reading, reading


def height(
    point: str,
    value: Length,
    sigma: Length | None = None,
    *,
    setup: str | None = None,
    instrument: str | None = None,
    note: str | None = None,
) -> Reading:
    """The height of a point: typed in, or read from a set-up of an instrument.

    Without a ``setup``, ``value`` is the height itself, positive upwards; without ``sigma`` it counts
    as exact. With a ``setup``, ``value`` is what the instrument reads at the point. ``instrument`` is
    "staff" (the default), "water-level", "laser" or "indicator". A larger reading means a lower point
    for a staff, a water level and a laser, and a higher point for an indicator.

    ``value`` and ``sigma`` are lengths (a number of mm, or a text with a unit). The default sigma is
    0.3 mm for a staff, 0.5 mm for a water level and a laser, 0.005 mm for an indicator (common
    practice).

    >>> import truebed
    >>> truebed.height("A", "1204.1 mm", setup="door", instrument="laser")
    height(instrument="laser", point="A", setup="door", value="1204.1 mm")
    """
    return reading(
        "height",
        point=point,
        value=value,
        sigma=sigma,
        setup=setup,
        instrument=instrument,
        note=note,
    )


def rise(
    a: str, b: str, value: Length, sigma: Length | None = None, *, note: str | None = None
) -> Reading:
    """How much higher ``b`` is than ``a``, a length (a number of mm, or a text with a unit).

    The default sigma is 0.42 mm, that of two staff readings (common practice).

    >>> import truebed
    >>> truebed.rise("A", "B", -2.5, sigma="0.1 mm")
    rise(a="A", b="B", sigma="0.1 mm", value="-2.5 mm")
    """
    return reading("rise", a=a, b=b, value=value, sigma=sigma, note=note)


def bubble(
    a: str,
    b: str,
    divisions: float | Sequence[float],
    sensitivity: Slope,
    *,
    base: Length | None = None,
    span: Length | None = None,
    level: str | None = None,
    turned: bool | None = None,
    sigma: float | None = None,
    note: str | None = None,
) -> Reading:
    """A spirit level laid from ``a`` to ``b``.

    ``divisions`` is how far the bubble stands off the middle, positive towards ``b`` (the bubble runs
    to the higher end): one number, or a list with one number for each step along the line.
    ``sensitivity`` is the slope of one division, such as "0.02 mm/m" or "0.0005 in/ft". ``base`` is the
    length of the level's base. ``span`` is the distance from ``a`` to ``b``; its default comes from the
    places of the points, or is steps times base. ``level`` is the name of the level, default "level":
    readings of one level share its zero error. ``turned`` says that the level was turned end for end.
    ``sigma`` is the standard uncertainty of one step, in divisions; the default is 0.2 (common
    practice).

    >>> import truebed
    >>> readings = [truebed.bubble("A", "B", [3, 2.5], "0.05 mm/m", base="500 mm", span="1 m")]
    >>> truebed.adjust(readings).mm.round(4).tolist()  # two steps of half a metre
    [-0.0688, 0.0688]
    """
    return reading(
        "bubble",
        a=a,
        b=b,
        divisions=divisions,
        sensitivity=sensitivity,
        base=base,
        span=span,
        level=level,
        turned=turned,
        sigma=sigma,
        note=note,
    )


def slope(
    a: str,
    b: str,
    value: Slope,
    *,
    span: Length | None = None,
    level: str | None = None,
    turned: bool | None = None,
    sigma: Slope | None = None,
    note: str | None = None,
) -> Reading:
    """An electronic level (inclinometer) laid from ``a`` to ``b``.

    ``value`` is the slope, positive where ``b`` is higher: a number of mm/m, or a text with a unit,
    such as "0.05 deg". ``span`` is the distance from ``a`` to ``b``; its default comes from the places
    of the points. ``level`` is the name of the level, default "level": readings of one level share its
    zero error. ``turned`` says that the level was turned end for end. ``sigma`` is the standard
    uncertainty of the slope; the default is 0.873 mm/m, which is 0.05 degrees (common practice).

    >>> import truebed
    >>> readings = [truebed.slope("A", "B", "0.05 deg", span="1 m")]
    >>> truebed.adjust(readings).mm.round(3).tolist()
    [-0.436, 0.436]
    """
    return reading(
        "slope",
        a=a,
        b=b,
        value=value,
        span=span,
        level=level,
        turned=turned,
        sigma=sigma,
        note=note,
    )


def gap(
    point: str,
    a: str,
    b: str,
    value: Length,
    sigma: Length | None = None,
    *,
    at: float | None = None,
    note: str | None = None,
) -> Reading:
    """The gap at a point under a straightedge that rests on ``a`` and ``b``, a length (a number of mm,
    or a text with a unit).

    ``at`` is where the point lies on the way from ``a`` (0) to ``b`` (1); its default comes from the
    places of the points. The default sigma is 0.0144 mm, for feeler leaves of 0.05 mm (common
    practice).

    >>> import truebed
    >>> truebed.gap("M", "A", "B", "0.3 mm", at=0.5)
    gap(a="A", at=0.5, b="B", point="M", value="0.3 mm")
    """
    return reading("gap", point=point, a=a, b=b, value=value, sigma=sigma, at=at, note=note)


def leg_gap(
    point: str, value: Length, sigma: Length | None = None, *, note: str | None = None
) -> Reading:
    """The gap under a leg that floats while the frame stands on the others, a length (a number of mm,
    or a text with a unit). All other readings at this leg were taken on the frame.

    The default sigma is 0.0144 mm, for feeler leaves of 0.05 mm (common practice).

    >>> import truebed
    >>> readings = [truebed.height("A", 0), truebed.height("B", 0), truebed.leg_gap("B", 0.4)]
    >>> truebed.adjust(readings).mm.round(9).tolist()  # the floor under B is lower than the frame
    [0.0, -0.4]
    """
    return reading("leg-gap", point=point, value=value, sigma=sigma, note=note)


def slate_gap(
    point: str, value: Length, sigma: Length | None = None, *, note: str | None = None
) -> Reading:
    """The gap below a slate at a support that it does not touch, read with feelers: a length (a number
    of mm, or a text with a unit). All other readings at this point were taken on the slate, and the
    height of the point is that of the support.

    The default sigma is 0.0144 mm, for feeler leaves of 0.05 mm (common practice).

    >>> import truebed
    >>> readings = [truebed.height("A", 0), truebed.height("B", 0), truebed.slate_gap("B", "0.15 mm")]
    >>> truebed.adjust(readings).mm.round(9).tolist()  # the frame under B is lower than the slate
    [0.0, -0.15]
    """
    return reading("slate-gap", point=point, value=value, sigma=sigma, note=note)
