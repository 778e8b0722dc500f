"""The examples in the docstrings."""

import doctest
import importlib
import pkgutil

import truebed


def test_examples_run():
    names = [module.name for module in pkgutil.iter_modules(truebed.__path__)]
    results = [doctest.testmod(importlib.import_module(f"truebed.{name}")) for name in names]
    assert sum(result.attempted for result in results) > 0
    assert all(result.failed == 0 for result in results)
