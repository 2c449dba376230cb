"""Every symbol that the notebooks and the equations use stands in data/symbols.csv, and back."""

import inspect
import re

import nbformat
import pytest
import sympy as sp
from notebook_files import LESSONS

from paddlebal import equations
from paddlebal.files.glossary import EQUATIONS
from paddlebal.files.glossary import glossary_symbols

FORMULA = re.compile(r"(?<!\\)\$\$?(.+?)\$\$?", flags=re.DOTALL)
GREEK = "alpha|beta|gamma|delta|theta|kappa|mu|pi|rho|sigma|tau|phi|varphi|psi|omega"
KEPT = rf"(?:{GREEK}|mathbf|boldsymbol|dot|perp)(?![A-Za-z])"
IGNORED = (
    (r"\\\\", " "),  # a new row
    (r"\\frac\{d(?:\^\{\d\})?\}\{d ", " "),  # derivative, as sympy prints it
    (r"\\mathrm ?\{?d\}?", " "),  # differential
    (r"\^\{?\\mathsf ?\{?T\}?\}?", " "),  # transposed
    (r"\\(?:begin|end)\{\w+\}", " "),
    (r"_\\text\{(\w+)\}", r"_{\1}"),
    (rf"\\(?!{KEPT})[A-Za-z]+", " "),
)
SYMBOL = re.compile(
    rf"(?P<dot>\\dot ?\{{?)?(?P<bold>\\(?:mathbf|boldsymbol) ?\{{?)?"
    rf"(?P<letter>\\(?:{GREEK})|[A-Za-z]+)\}}*"
    r"(?:_(?P<index>\{[^{}]*\}|\w|\\perp))?"
)


def symbols_in(latex):
    """The symbols of a formula, each as letter and index, counting indices written as i.

    >>> sorted(symbols_in(r"2\\,m_1\\,\\mathbf r_\\perp\\cos(\\theta_\\text{rest})"))
    ['bold r_perp', 'm_i', 'theta_rest']
    """
    for pattern, replacement in IGNORED:
        latex = re.sub(pattern, replacement, latex)
    found = set()
    for part in SYMBOL.finditer(latex):
        index = re.sub(r"[\\{} ]", "", part["index"] or "")
        index = re.sub(r"^[1-9]$", "i", index)
        name = part["letter"].lstrip("\\") + (f"_{index}" if index else "")
        found.add("dot " * bool(part["dot"]) + "bold " * bool(part["bold"]) + name)
    return found


def formulas(path):
    """Formulas of a notebook, those in its text and those that its cells put out."""
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "markdown":
            yield from FORMULA.findall(cell.source)
        for output in cell.get("outputs", ()):
            yield from FORMULA.findall(output.get("data", {}).get("text/latex", ""))


def used_in(path):
    return set().union(*map(symbols_in, formulas(path)))


def symbols_of_equations():
    """Names of the symbols that equations.py defines, takes as arguments or returns."""
    entries = list(vars(equations).values())
    for function in entries.copy():
        if inspect.isfunction(function) and not inspect.signature(function).parameters:
            result = function()
            entries += result if isinstance(result, tuple) else [result]
    names = set()
    for entry in entries:
        for part in entry if isinstance(entry, tuple | list) else [entry]:
            if isinstance(part, sp.IndexedBase):
                names.add(str(part))
            elif isinstance(part, sp.Basic | sp.MatrixBase):
                names |= {str(s) for s in part.free_symbols if isinstance(s, sp.Symbol)}
    return names


def rows_of(notebook):
    return [row for row in glossary_symbols() if notebook in row["notebooks"]]


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_notebook_uses_the_symbols_that_the_table_lists_for_it(path):
    used = used_in(path)
    listed = [symbols_in(row["latex"]) for row in rows_of(path.stem[:2])]
    meanings = {symbol: sum(symbol in row for row in listed) for symbol in used}
    assert meanings == dict.fromkeys(used, 1)
    assert all(row & used for row in listed)


def test_each_symbol_of_a_row_is_used_somewhere():
    used = {path.stem[:2]: used_in(path) for path in LESSONS}
    for row in glossary_symbols():
        if EQUATIONS not in row["notebooks"]:
            assert symbols_in(row["latex"]) <= set().union(*(used[n] for n in row["notebooks"]))


def test_the_equations_use_the_symbols_that_the_table_lists_for_them():
    listed = [name for row in rows_of(EQUATIONS) for name in row["name"].split()]
    assert set(listed) == symbols_of_equations()
    assert len(listed) == len(set(listed)), "a symbol stands for two things"


@pytest.mark.parametrize(
    "latex, expected",
    [
        (r"V = -\,\mathrm dV/\mathrm d\theta", {"V", "theta"}),
        (r"\frac{d}{d t} M_{F}{\left(t \right)}", {"t", "M_F"}),
        (r"\mathbf X^\mathsf{T}\mathbf W\,\mathbf b", {"bold X", "bold W", "bold b"}),
        (
            r"I_{xx} \dot{\omega}_x + \dot{\boldsymbol\omega}",
            {"I_xx", "dot omega_x", "dot bold omega"},
        ),
        (r"m_{1} y_{2} + \phi_{0}\,m_c", {"m_i", "y_i", "phi_0", "m_c"}),
        (r"\left[\begin{matrix}M_{f} turning\end{matrix}\right]", {"M_f", "turning"}),
        (
            r"\mathbf r_{\perp i}, \theta_\text{rest}, -90°, \sin u",
            {"bold r_perpi", "theta_rest", "u"},
        ),
    ],
)
def test_symbols_are_found_in_a_formula(latex, expected):
    assert symbols_in(latex) == expected
