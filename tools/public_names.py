"""The public names of the package, each with its module, as its stub lists them."""

import ast
from pathlib import Path

STUB = Path(__file__).resolve().parents[1] / "paddlebal" / "__init__.pyi"


def public_names():
    """Module below `paddlebal` of each public name; '' for a module that is public itself."""
    tree = ast.parse(STUB.read_text(encoding="utf-8"))
    return {
        alias.name: node.module or ""
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
