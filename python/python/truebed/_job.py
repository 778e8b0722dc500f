"""The job document: the dict or the JSON text that holds a whole job."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from typing import Any, TypeAlias, TypeVar

from . import _truebed
from ._array import listed
from ._error import DOCUMENT, VALUE, Error, InputError, InputTypeError
from ._progress import Progress, reported
from ._strict import strict
from ._truebed import Budget

Document = TypeVar("Document", dict[str, Any], str, bytes)

Stop: TypeAlias = Callable[[], object]
"""What is called without arguments, some ten times a second, and says something true to stop."""


@strict
def run_job(
    document: Document, *, budget: int | Budget | None = None, stop: Stop | None = None
) -> Document:
    """Runs a job and returns it with its outcome: dict in, dict out; JSON text in, JSON text out.

    ``budget``, a number of search nodes or a :class:`Budget`, caps what the job itself allows: no search
    takes more nodes than either has, and the whole run no more time than ``time_ms``. ``stop`` is called
    without arguments, some ten times a second; something true ends the run. What was cut short is listed in
    ``outcome["ran_out"]``, and a plan that was cut short says so in its ``status``; what was found before
    stays. The GIL is released while the job runs; Ctrl-C stops it.

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
    return _like(document, _truebed.run_job(_text(document), budget=budget, stop=stop))


@strict
def run_jobs(
    documents: Iterable[Document],
    *,
    budget: int | Budget | None = None,
    threads: int | None = None,
    stop: Stop | None = None,
    progress: Progress = False,
) -> list[Document | Error]:
    """Runs many jobs on all cores, or on so many ``threads``, each as :func:`run_job` does: for each, in
    their order, the document with its outcome, or the exception that says what is wrong with it. A job that
    is bad takes no other with it.

    ``budget`` is that of each job. Once ``stop`` says to stop, jobs under way end with what they have found
    and no further one is begun; in its place is an :class:`InputError`. ``progress`` is that of
    :func:`plan_many`. Ctrl-C stops it.

    With the job of :func:`run_job`:

    >>> done, wrong = truebed.run_jobs([job, {"version": 2}])
    >>> done == truebed.run_job(job), str(wrong)
    (True, 'version: got 2, expected 1')
    """
    given = listed("documents", documents, "a list of jobs")
    texts = [_attempted(document) for document in given]
    with reported(progress, len(given)) as report:

        def ask(done: int) -> object:
            if report is not None:
                report(done)
            return stop is not None and stop()

        good = [text for text in texts if isinstance(text, bytes)]
        run = iter(_truebed.run_jobs(good, budget=budget, threads=threads, ask=ask))
        answers = [next(run) if isinstance(text, bytes) else text for text in texts]
    return [
        answer if isinstance(answer, Error) else _like(document, answer)
        for document, answer in zip(given, answers)
    ]


@strict
def job_sheet(
    document: dict[str, Any] | str | bytes,
    *,
    run: bool = True,
    budget: int | Budget | None = None,
    stop: Stop | None = None,
) -> str:
    """Runs a job and gives its work sheet as plain text; an outcome that it already has is not
    trusted, since the job may have changed. With ``run=False`` that outcome is written, and nothing is run:
    for what :func:`run_job` has just returned. ``budget`` and ``stop`` are those of :func:`run_job`.

    Raises what :func:`run_job` raises, and :class:`InputError` where ``run`` is false and there is no outcome.

    With the job of :func:`run_job`:

    >>> print(truebed.job_sheet(job)[:27])
    Levelling job
    =============
    """
    return _truebed.job_sheet(_text(document), run=run, budget=budget, stop=stop)


@strict
def job_picture(
    document: dict[str, Any] | str | bytes,
    *,
    narrow: bool = False,
    run: bool = True,
    budget: int | Budget | None = None,
    stop: Stop | None = None,
) -> str:
    """Runs a job and draws its stages, as SVG text in the job's ``units``. ``narrow`` sets it for the screen of
    a phone, 380 pixels wide. The other arguments are those of :func:`job_sheet`; it raises what that raises.

    With the job of :func:`run_job`:

    >>> truebed.job_picture(job)[:4]
    '<svg'
    """
    narrow = bool(narrow)
    return _truebed.job_picture(_text(document), narrow=narrow, run=run, budget=budget, stop=stop)


@strict
def job_page(
    document: dict[str, Any] | str | bytes,
    *,
    run: bool = True,
    budget: int | Budget | None = None,
    stop: Stop | None = None,
) -> str:
    """Runs a job and writes the page that a crew works from: one HTML file that needs no script and no
    network, made for print and for a phone. The arguments are those of :func:`job_sheet`; it raises what
    that raises.

    With the job of :func:`run_job`:

    >>> truebed.job_page(job)[:15]
    '<!DOCTYPE html>'
    """
    return _truebed.job_page(_text(document), run=run, budget=budget, stop=stop)


@strict
def next_pass(
    document: dict[str, Any] | str | bytes, readings: list[dict[str, Any]], *, run: bool = True
) -> dict[str, Any]:
    """The document of the next pass of a job: stacks become what is ``placed``, the stock what is left,
    and ``readings`` take the place of all that were taken before. The job is run first. With ``run=False``
    its outcome is taken as it is: hand over the document whose plan the crew has carried out, since a plan
    that ran out of its budget may be another one when it is run again. Once legs are lifted, slates that
    have not been read again are left out. Ctrl-C stops it.

    Raises what :func:`run_job` raises, and :class:`InputError` for a plan that does not meet its limits,
    a reading that the plan was made from of a point that has been lifted since, and a point that has
    not been read again.

    With the job of :func:`run_job`:

    >>> again = [{"kind": "height", "point": id, "value": "0 mm"} for id in corners]
    >>> second = truebed.next_pass(job, again)
    >>> second["legs"]["placed"]
    [{'id': 'B', 'shims': ['0.5 mm', '0.5 mm']}, {'id': 'C', 'shims': ['0.5 mm']}]
    """
    again = _dumped("readings", listed("readings", readings, "a list of readings"))
    made: dict[str, Any] = json.loads(_truebed.next_pass(_text(document), again, run=run))
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


def _like(document: Document, done: str) -> Document:
    """A document of the kind that went in."""
    if isinstance(document, dict):
        outcome: dict[str, Any] = json.loads(done)
        return outcome
    return done.encode() if isinstance(document, bytes) else done


def _attempted(document: dict[str, Any] | str | bytes) -> bytes | Error:
    try:
        return _text(document)
    except Error as error:
        return error


def _text(document: dict[str, Any] | str | bytes) -> bytes:
    if isinstance(document, bytes):
        return document
    if isinstance(document, str):
        # What is not Unicode goes on as it is, to be refused with its place.
        return document.encode(errors="surrogatepass")
    if not isinstance(document, dict):
        got = type(document).__name__
        raise InputTypeError(VALUE, [("job", got, "a dict or JSON text")])
    return _dumped("job", document)


def _dumped(field: str, document: Any) -> bytes:
    try:
        return json.dumps(document, allow_nan=False).encode()
    except (TypeError, ValueError, RecursionError) as error:
        wrong = list(islice(_no_json(field, document), 50))
        kind = type(document).__name__
        whole = (field, f"a {kind} that is no JSON ({error})", "what JSON can hold")
        raise InputError(DOCUMENT, wrong or [whole]) from error


def _no_json(path: str, value: Any, depth: int = 0) -> Iterator[tuple[str, str, str]]:
    """What JSON cannot hold, by path; what is nested too deep, or in itself, is wrong as a whole."""
    if depth > 32:
        return
    if isinstance(value, dict):
        for name, item in value.items():
            inner = str(name) if path == "job" else f"{path}.{name}"
            yield from _no_json(inner, item, depth + 1)
    elif isinstance(value, (list, tuple)):
        for at, item in enumerate(value):
            yield from _no_json(f"{path}[{at}]", item, depth + 1)
    elif isinstance(value, float) and not math.isfinite(value):
        yield path, repr(value), "a number that JSON can hold"
    elif not isinstance(value, (str, int, float, bool, type(None))):
        yield path, type(value).__name__, "what JSON can hold"
