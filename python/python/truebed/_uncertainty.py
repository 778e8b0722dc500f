"""What is known of the errors of heights."""

import numpy as np
import numpy.typing as npt

from . import _array
from ._error import VALUE, InputError
from ._length import Lengths
from ._points import Ids, matched


def uncertainty(
    count: int,
    ids: Ids = None,
    *,
    weights: npt.ArrayLike | None = None,
    sigmas: Lengths | None = None,
    covariance: npt.ArrayLike | None = None,
) -> tuple[str, _array.Floats]:
    """The name of the one that is given, ``"alike"`` for none, and its values; weights
    and sigmas may be by the ids of the points."""
    given = {"weights": weights, "sigmas": sigmas, "covariance": covariance}
    names = [name for name, values in given.items() if values is not None]
    if len(names) > 1:
        expected = f"None, since there are {names[0]}"
        raise InputError(VALUE, [(name, "values", expected) for name in names[1:]])
    if weights is not None:
        return "weights", _array.numbers("weights", matched("weights", weights, ids), count)
    if sigmas is not None:
        return "sigmas", _array.lengths("sigmas", matched("sigmas", sigmas, ids), count)
    if covariance is not None:
        return "covariance", _array.table("covariance", covariance, (count, count))
    return "alike", np.empty(0)
