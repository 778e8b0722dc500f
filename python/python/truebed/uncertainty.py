"""What is known of the errors of heights."""

import numpy as np
import numpy.typing as npt

from . import array
from .error import VALUE, InputError
from .length import Lengths


def uncertainty(
    count: int,
    *,
    weights: npt.ArrayLike | None = None,
    sigmas: Lengths | None = None,
    covariance: npt.ArrayLike | None = None,
) -> tuple[str, array.Floats]:
    """The name of the one that is given, ``"alike"`` for none, and its values."""
    given = {"weights": weights, "sigmas": sigmas, "covariance": covariance}
    names = [name for name, values in given.items() if values is not None]
    if len(names) > 1:
        expected = f"None, since there are {names[0]}"
        raise InputError(VALUE, [(name, "values", expected) for name in names[1:]])
    if weights is not None:
        return "weights", array.numbers("weights", weights, count)
    if sigmas is not None:
        return "sigmas", array.lengths("sigmas", sigmas, count)
    if covariance is not None:
        return "covariance", array.table("covariance", covariance, (count, count))
    return "alike", np.empty(0)
