"""What is wrong with an input."""

from collections.abc import Sequence
from typing import NamedTuple

from . import _truebed


class Problem(NamedTuple):
    """One thing that is wrong with an input.

    >>> import truebed
    >>> print(truebed.Problem("heights[2]", "NaN mm", "a length within ±1000 km"))
    heights[2]: got NaN mm, expected a length within ±1000 km
    """

    field: str
    """The field, with the index or key of the item: ``heights[2]``."""
    got: str
    """What stood there."""
    expected: str
    """What the field takes, with its unit."""

    def __str__(self) -> str:
        return f"{self.field}: got {self.got}, expected {self.expected}"


class Error(Exception):
    """Base of everything that truebed raises; its text has a line for every problem.

    >>> import truebed
    >>> try:
    ...     truebed.plan_shims([[0, 0]], [0], {"1 mm": -1, "2 mm": "five"}, 0.1)
    ... except truebed.Error as error:
    ...     print(error.code, [problem.field for problem in error.problems])
    10 ["stock['1 mm'].count", "stock['2 mm'].count"]
    """

    # Tracebacks name it as users do.
    __module__ = "truebed"

    code: int
    """The number of the first problem's kind, the same as the C library's status."""
    problems: list[Problem]
    """The problems that were found: at least one, at most 50."""

    def __init__(self, code: int, problems: Sequence[tuple[str, str, str]]) -> None:
        # A long list could hold millions.
        problems = problems[: _truebed.MOST_PROBLEMS]
        super().__init__(code, problems)
        self.code = code
        self.problems = [Problem(*problem) for problem in problems]

    def __str__(self) -> str:
        return "\n".join(map(str, self.problems))


class InputError(Error, ValueError):
    """A value that a field cannot take, a shape, or a document that is not one.

    >>> import truebed
    >>> try:
    ...     truebed.fit_plane([[0, 0], [1, 0], [0, 1]], [0, 0])
    ... except truebed.InputError as error:  # a ValueError
    ...     print(error)
    z: got shape (2,), expected shape (3,)
    """

    __module__ = "truebed"


class InputTypeError(Error, TypeError):
    """A value of a type that a field does not take.

    >>> import truebed
    >>> try:
    ...     truebed.parse_length(None)
    ... except truebed.InputTypeError as error:  # a TypeError
    ...     print(error)
    length: got None (NoneType), expected a number of mm or a text with a unit
    """

    __module__ = "truebed"


VALUE = 10
"""Code of a value that a field cannot take."""
DUPLICATE = 12
"""Code of what is there twice."""
UNKNOWN = 13
"""Code of a name that nothing has."""
SHAPE = 14
"""Code of arrays whose sizes do not belong together."""
DOCUMENT = 16
"""Code of a document that is not the JSON expected."""
