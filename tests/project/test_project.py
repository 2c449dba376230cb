"""The project's own files agree with each other."""

import ast
import re
import subprocess
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import yaml

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


def layers():
    """Sets of modules, from the rows of the contributor guide's table."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    modules = {path.stem for path in (ROOT / "paddlebal").glob("*.py")} - {"__init__", "__main__"}
    rows = re.findall(r"^\| (`.*?) \|", guide, flags=re.MULTILINE)
    named = [re.findall(r"`([a-z_*]+)`", row) for row in rows]
    return modules, [{m for n in row for m in modules if fnmatch(m, n)} for row in named]


def test_the_guide_lists_every_module_once():
    modules, listed = layers()
    assert sorted(modules) == sorted(module for layer in listed for module in layer)


def test_imports_go_up_the_guides_list_only():
    _, listed = layers()
    place = {module: i for i, layer in enumerate(listed) for module in layer}
    for module in place:
        tree = ast.parse((ROOT / "paddlebal" / f"{module}.py").read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if not isinstance(node, ast.ImportFrom) or not node.module.startswith("paddlebal"):
                continue
            inner = node.module.partition(".")[2]
            for known in [inner] if inner else [alias.name for alias in node.names]:
                assert place[known] <= place[module], f"{module} imports {known}"


def test_links_in_the_guides_lead_somewhere():
    for guide in ("README.md", "DEVELOPERS.md", "data/README.md"):
        path = ROOT / guide
        for target in re.findall(r"\]\(([^)#]+)", path.read_text(encoding="utf-8")):
            assert "://" in target or (path.parent / target).exists(), f"{guide}: {target}"


def test_the_readme_lists_every_notebook():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for path in (ROOT / "notebooks").glob("*.ipynb"):
        assert f"(notebooks/{path.name})" in readme
