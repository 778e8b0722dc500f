"""The job document: the dict or the JSON text that holds a whole job."""

from __future__ import annotations

import json
from typing import Any, TypeVar

from . import _truebed
from ._error import DOCUMENT, VALUE, InputError, InputTypeError

Document = TypeVar("Document", dict[str, Any], str, bytes)


def run_job(document: Document) -> Document:
    """Runs a job and returns it with its outcome: dict in, dict out; JSON text in, JSON text out.

    Raises :class:`InputError` with everything that is wrong with the document, and
    :class:`InputTypeError` for what is neither a dict nor a text.

    >>> import truebed
    >>> corners = {"A": (0, 0), "B": (2000, 0), "C": (0, 900)}
    >>> job = {
    ...     "version": 1,
    ...     "stock": [{"thickness": "0.5 mm", "count": 4}],
    ...     "points": [
    ...         {"id": id, "x": f"{x} mm", "y": f"{y} mm", "role": "leg"}
    ...         for id, (x, y) in corners.items()
    ...     ],
    ...     "readings": [
    ...         {"kind": "height", "point": id, "value": value}
    ...         for id, value in {"A": "0 mm", "B": "-1.1 mm", "C": "-0.5 mm"}.items()
    ...     ],
    ...     "legs": {"limits": {"overall": "0.1 mm"}},
    ... }
    >>> done = truebed.run_job(job)
    >>> [row["shims"] for row in done["outcome"]["legs"]["stacks"]]
    [[], ['0.5 mm', '0.5 mm'], ['0.5 mm']]
    """
    done = _truebed.run_job(_text(document))
    if isinstance(document, dict):
        outcome: dict[str, Any] = json.loads(done)
        return outcome
    return done.encode() if isinstance(document, bytes) else done


def job_sheet(document: dict[str, Any] | str | bytes) -> str:
    """Run a job and give its work sheet as plain text; an outcome that it already has is not
    trusted, since the job may have changed.

    Raises what :func:`run_job` raises.

    With the job of :func:`run_job`:

    >>> print(truebed.job_sheet(job)[:27])
    Levelling job
    =============
    """
    return _truebed.job_sheet(_text(document))


def job_picture(document: dict[str, Any] | str | bytes, *, narrow: bool = False) -> str:
    """Run a job and draw its stages, as SVG text in the job's ``units``; an outcome that it already
    has is not trusted. ``narrow`` sets it for the screen of a phone, 380 pixels wide.

    Raises what :func:`run_job` raises.

    With the job of :func:`run_job`:

    >>> truebed.job_picture(job)[:4]
    '<svg'
    """
    return _truebed.job_picture(_text(document), bool(narrow))


def job_page(document: dict[str, Any] | str | bytes) -> str:
    """Run a job and write the page that a crew works from: one HTML file that needs no script and no
    network, made for print and for a phone. An outcome that the job already has is not trusted.

    Raises what :func:`run_job` raises.

    With the job of :func:`run_job`:

    >>> truebed.job_page(job)[:15]
    '<!DOCTYPE html>'
    """
    return _truebed.job_page(_text(document))


def next_pass(
    document: dict[str, Any] | str | bytes, readings: list[dict[str, Any]]
) -> dict[str, Any]:
    """The document of the next pass of a job: stacks become what is ``placed``, the stock what is left,
    and ``readings`` take the place of all that were taken before. The job is run first. Once legs are
    lifted, slates that have not been read again are left out.

    Raises what :func:`run_job` raises, and :class:`InputError` for a plan that does not meet its limits,
    a reading that the plan was made from of a point that has been lifted since, and a point that has
    not been read again.

    With the job of :func:`run_job`:

    >>> again = [{"kind": "height", "point": id, "value": "0 mm"} for id in corners]
    >>> second = truebed.next_pass(job, again)
    >>> second["legs"]["placed"]
    [{'id': 'B', 'shims': ['0.5 mm', '0.5 mm']}, {'id': 'C', 'shims': ['0.5 mm']}]
    """
    made: dict[str, Any] = json.loads(_truebed.next_pass(_text(document), json.dumps(readings).encode()))
    return made


def job_schema() -> dict[str, Any]:
    """The JSON Schema of the document (draft 2020-12).

    >>> import truebed
    >>> schema = truebed.job_schema()
    >>> schema["title"], "stock" in schema["properties"]
    ('Job', True)
    """
    schema: dict[str, Any] = json.loads(_truebed.job_schema())
    return schema


def _text(document: dict[str, Any] | str | bytes) -> bytes:
    if isinstance(document, bytes):
        return document
    if isinstance(document, str):
        # What is not Unicode goes on as it is, to be refused with its place.
        return document.encode(errors="surrogatepass")
    if not isinstance(document, dict):
        got = type(document).__name__
        raise InputTypeError(VALUE, [("job", got, "a dict or JSON text")])
    try:
        return json.dumps(document, allow_nan=False).encode()
    except (TypeError, ValueError, RecursionError) as error:
        got = f"a dict that is no JSON ({error})"
        raise InputError(DOCUMENT, [("job", got, "what JSON can hold")]) from error
