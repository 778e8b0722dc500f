"""The programs of examples/python print what examples/output holds, as those of examples/rust do."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
NOUNS = sorted(path.stem for path in (EXAMPLES / "output").glob("*.txt"))


def test_all_are_there():
    assert len(NOUNS) == 13
    assert set(NOUNS) <= {path.stem for path in (EXAMPLES / "python").glob("*.py")}


@pytest.mark.parametrize("noun", NOUNS)
def test_prints_what_it_should(noun):
    # In UTF-8 whatever the machine's own encoding.
    command = [sys.executable, "-X", "utf8", EXAMPLES / f"python/{noun}.py"]
    done = subprocess.run(command, capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr
    assert done.stdout == (EXAMPLES / f"output/{noun}.txt").read_text("utf-8")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full disk there")
@pytest.mark.parametrize("noun", NOUNS)
def test_no_output_is_no_success(noun):
    command = [sys.executable, "-X", "utf8", EXAMPLES / f"python/{noun}.py"]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode != 0 and "No space left" in done.stderr
    # Nobody reads.
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, text=True)
    os.close(writer)
    assert done.returncode != 0 and "Broken pipe" in done.stderr
