"""What is wrong with an input."""

from collections.abc import Sequence
from typing import NamedTuple


class Problem(NamedTuple):
    """One thing that is wrong with an input."""

    field: str
    """The field, with the index or key of the item: ``heights[2]``."""
    got: str
    """What stood there."""
    expected: str
    """What the field takes, with its unit."""

    def __str__(self) -> str:
        return f"{self.field}: got {self.got}, expected {self.expected}"


class Error(Exception):
    """Base of everything that truebed raises; its text has a line for every problem."""

    code: int
    """The number of the first problem's kind, the same as the C library's status."""
    problems: list[Problem]
    """Every problem that was found, at least one."""

    def __init__(self, code: int, problems: Sequence[tuple[str, str, str]]) -> None:
        super().__init__(code, problems)
        self.code = code
        self.problems = [Problem(*problem) for problem in problems]

    def __str__(self) -> str:
        return "\n".join(map(str, self.problems))


class InputError(Error, ValueError):
    """A value that a field cannot take, a shape, or a document that is not one."""


class InputTypeError(Error, TypeError):
    """A value of a type that a field does not take."""


VALUE = 10
"""Code of a value that a field cannot take."""
SHAPE = 14
"""Code of arrays whose sizes do not belong together."""
DOCUMENT = 16
"""Code of a document that is not the JSON expected."""
