"""Every public name has an example in its docstring, and the examples hold."""

import doctest
import inspect

import pytest

import truebed


def methods(name):
    """The public methods of a class, by where they are found, without those of what it is built on
    outside the package."""
    cls = getattr(truebed, name)
    for base in cls.__mro__:
        if base.__module__.partition(".")[0] != "truebed":
            continue
        for method in vars(base):
            if not method.startswith("_") and inspect.isroutine(getattr(cls, method)):
                yield f"{name}.{method}"


CLASSES = [name for name in truebed.__all__ if inspect.isclass(getattr(truebed, name))]
FUNCTIONS = [name for name in truebed.__all__ if inspect.isroutine(getattr(truebed, name))]
VALUES = sorted(set(truebed.__all__) - {*CLASSES, *FUNCTIONS})
METHODS = sorted({method for name in CLASSES for method in methods(name)})


def documented(path):
    value = truebed
    for name in path.split("."):
        value = getattr(value, name)
    return inspect.getdoc(value) or ""


GOES_ON_FROM = dict.fromkeys(
    ["job_page", "job_picture", "job_sheet", "next_pass", "run_jobs"], "run_job"
)
"""Examples that begin where another one ends."""


def run(text, name):
    """The examples of a docstring, which must hold."""
    values = {}
    if name in GOES_ON_FROM:
        exec(doctest.script_from_examples(documented(GOES_ON_FROM[name])), values)
    test = doctest.DocTestParser().get_doctest(text, values, name, name, 0)
    told = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(test, out=told.append)
    assert not told, "".join(told)
    return test.examples


NAMES = [*CLASSES, *FUNCTIONS, *METHODS]


@pytest.mark.parametrize("name", NAMES)
def test_every_name_has_an_example_that_holds(name):
    # A name that was kept beside a newer one has the examples of that.
    name = getattr(getattr(truebed, name, None), "__name__", name)
    examples = run(documented(name), name)
    assert examples
    called = name.rpartition(".")[2]
    assert name in CLASSES or any(called in example.source for example in examples)


def test_values_have_their_examples_in_the_package():
    """Aliases and constants cannot have docstrings of their own."""
    source = "".join(example.source for example in run(truebed.__doc__, "truebed"))
    assert VALUES == ["CAUTIONS", "Length", "PRESETS", "Slope", "__version__"]
    assert all(f"truebed.{name}" in source for name in VALUES)


@pytest.mark.parametrize("name", CLASSES)
def test_properties(name):
    """Examples that properties have hold too."""
    cls = getattr(truebed, name)
    for attribute, value in inspect.getmembers(cls, lambda value: isinstance(value, property)):
        run(inspect.getdoc(value) or "", f"{name}.{attribute}")
