"""Run notebooks anew and store them executed, in the form that the repository keeps.

A live widget cannot be stored, so what is kept of a panel is its picture: a reader who opens
the notebook sees it at once, and running the cells brings the sliders to life.
"""

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

ROOT = Path(__file__).resolve().parents[1]
NOTEBOOKS = ROOT / "notebooks"
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


def tidy(notebook):
    """Drop what differs from run to run and tells the reader nothing."""
    notebook.metadata = {
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
    }
    for cell in notebook.cells:
        if "outputs" in cell:
            cell.outputs = [output for output in cell.outputs if not is_bar(output)]
        kept = {key: cell.metadata[key] for key in ("tags", "jupyter") if key in cell.metadata}
        cell.metadata = kept
        for output in cell.get("outputs", ()):
            output.get("data", {}).pop(WIDGET_VIEW, None)


def is_bar(output):
    """Whether an output is a bar that showed progress while the cell ran."""
    data = output.get("data", {})
    return output.output_type == "display_data" and set(data) == {WIDGET_VIEW, "text/plain"}


def run(path):
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=300,
        kernel_name="python3",
        store_widget_state=False,
        record_timing=False,
        coalesce_streams=True,
        resources={"metadata": {"path": str(path.parent)}},
    )
    client.execute()
    tidy(notebook)
    nbformat.write(notebook, path)


def main(names):
    for path in map(Path, names) if names else sorted(NOTEBOOKS.glob("*.ipynb")):
        print(path.name, flush=True)
        run(path)


if __name__ == "__main__":
    main(sys.argv[1:])
