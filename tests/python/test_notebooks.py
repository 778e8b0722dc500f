"""The notebooks in examples/python run from top to bottom and draw what they say."""

from pathlib import Path

import nbclient
import nbformat
import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "examples/python").glob("*.ipynb"))


# What the notebook's own tools warn of is not ours.
@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs(path, tmp_path):
    notebook = nbformat.read(path, as_version=4)
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(not cell.outputs for cell in cells), "stored without outputs"
    resources = {"metadata": {"path": str(tmp_path)}}
    nbclient.NotebookClient(notebook, timeout=120, resources=resources).execute()
    drawn = [
        output.data["image/svg+xml"]
        for cell in cells
        for output in cell.outputs
        if "image/svg+xml" in output.get("data", {})
    ]
    assert drawn and all("</svg>" in svg for svg in drawn)


def test_all_are_there():
    assert [path.stem for path in NOTEBOOKS] == ["level_a_table", "what_to_load", "which_shims_under_which_leg"]
