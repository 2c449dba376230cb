"""The project's own files agree with each other."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import yaml
from draw_rooms import drawn
from importlinter.cli import lint_imports

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def package(requirement):
    """Name of a requirement, as package indexes compare names."""
    return re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", requirement)[0]).lower()


def declared():
    extras = PROJECT["optional-dependencies"].values()
    return {package(r) for group in (PROJECT["dependencies"], *extras) for r in group}


def test_environment_and_project_name_the_same_packages():
    listed = yaml.safe_load((ROOT / "environment.yml").read_text())["dependencies"]
    conda = [entry for entry in listed if isinstance(entry, str)]
    (through_pip,) = [entry["pip"] for entry in listed if isinstance(entry, dict)]
    names = [package(entry) for entry in conda + through_pip if entry != "-e ."]
    assert len(names) == len(set(names))
    assert set(names) - {"python", "pip"} == declared()


def test_environment_and_project_ask_for_the_same_python():
    listed = yaml.safe_load((ROOT / "environment.yml").read_text())["dependencies"]
    assert "python" + PROJECT["requires-python"] in listed


def test_constraints_pin_every_package_with_hashes_and_no_address():
    text = (ROOT / "constraints.txt").read_text()
    entries = re.split(r"\n(?=\S)", text.strip())
    assert all("==" in entry and "--hash=sha256:" in entry for entry in entries)
    assert "://" not in text
    assert declared() <= {package(entry) for entry in entries}


def test_nothing_tracked_names_a_machine_path_or_an_index():
    tracked = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    assert tracked.returncode == 0, tracked.stderr
    unwanted = re.compile(r"/hom[e]/\w|/roo[t]/|/tm[p]/|/User[s]/\w|pyp[i]\.org|pythonhoste[d]")
    for name in filter(None, tracked.stdout.split("\0")):
        path = ROOT / name
        if path.suffix in {".png", ".pdf", ".stl"} or not path.exists():
            continue
        found = unwanted.search(path.read_text(encoding="utf-8"))
        assert not found, f"{name} contains {found[0]}"


def test_the_script_in_the_readme_runs(capsys, monkeypatch):
    monkeypatch.chdir(ROOT)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (script,) = re.findall(r"```python\n(.*?)```", readme, flags=re.DOTALL)
    exec(compile(script, "README.md", "exec"), {})
    assert "g·mm" in capsys.readouterr().out


def test_the_guide_tells_of_every_module():
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_]+)`", guide))
    for path in (ROOT / "paddlebal").iterdir():
        if (
            path.suffix == ".py"
            and not path.stem.startswith("__")
            or (path / "__init__.py").exists()
        ):
            assert path.stem in named, path.name


def test_imports_keep_to_the_contracts():
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == 0


def test_no_module_imports_the_packages_own_root(tmp_path):
    for line in ("import paddlebal", "from paddlebal import Blade", "import paddlebal as root"):
        run = subprocess.run(
            [sys.executable, "-m", "ruff", "check", "--stdin-filename=paddlebal/new.py", "-"],
            cwd=ROOT, input=f"{line}\n", capture_output=True, text=True,
        )  # fmt: skip
        assert "ICN" in run.stdout, line


def test_the_guide_holds_the_present_drawing():
    assert drawn((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")) == (
        ROOT / "DEVELOPERS.md"
    ).read_text(encoding="utf-8")


def test_links_in_the_guides_lead_somewhere():
    for guide in ("README.md", "DEVELOPERS.md", "data/README.md"):
        path = ROOT / guide
        for target in re.findall(r"\]\(([^)#]+)", path.read_text(encoding="utf-8")):
            assert "://" in target or (path.parent / target).exists(), f"{guide}: {target}"


def test_the_readme_lists_every_notebook():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for path in (ROOT / "notebooks").glob("*.ipynb"):
        assert f"(notebooks/{path.name})" in readme


def test_the_notebooks_folder_holds_notebooks_only():
    listed = subprocess.run(
        ["git", "ls-files", "notebooks"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert {Path(name).suffix for name in listed.stdout.split()} == {".ipynb"}
