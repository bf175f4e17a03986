"""Whether a test of a given name exists and asserts something, by reading the tests as syntax trees."""

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
Function = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def tree_of(path: str) -> ast.Module:
    """The syntax tree of a file of the project."""
    return ast.parse((ROOT / path).read_text())


def find_function(path: str, names: list[str]) -> Function | None:
    """The function of this name at the top of a file, or in the class that is named before it."""
    body: list[ast.stmt] = tree_of(path).body
    for name in names[:-1]:
        body = next((node.body for node in body if isinstance(node, ast.ClassDef) and node.name == name), [])
    return next((node for node in body if isinstance(node, Function) and node.name == names[-1]), None)


@cache
def imports_of(path: str) -> dict[str, tuple[str, str]]:
    """Each name that a file takes from the tests, with the file and the name it has there; "" for a whole module."""
    found = {}
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "tests":
            for alias in node.names:
                module, submodule = f"{node.module}".replace(".", "/"), f"{node.module}.{alias.name}".replace(".", "/")
                is_module = (ROOT / f"{submodule}.py").exists()
                file = f"{submodule if is_module else module}.py"
                found[alias.asname or alias.name] = (file, "" if is_module else alias.name)
    return found


def is_assertion(node: ast.AST) -> bool:
    """An `assert` of something that could be false, `pytest.raises` or `.fail`, or an `expect` of the browser."""
    if isinstance(node, ast.Assert):
        return not isinstance(node.test, ast.Constant)
    if not isinstance(node, ast.Call):
        return False
    called = ast.unparse(node.func)
    return called in ("pytest.raises", "pytest.warns", "pytest.fail") or called.split("(")[0] == "expect"


def helper_called(path: str, node: ast.AST) -> tuple[str, str] | None:
    """The file and name of the function that a call calls, if it is one of the tests'."""
    if not isinstance(node, ast.Call):
        return None
    if isinstance(node.func, ast.Name):
        return imports_of(path).get(node.func.id, (path, node.func.id))
    if isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
        file, name = imports_of(path).get(node.func.value.id, ("", "?"))
        return (file, node.func.attr) if name == "" else None
    return None


def asserts(path: str, names: list[str], met: frozenset[tuple[str, str]] = frozenset()) -> bool:
    """Whether a function asserts something, itself or in a helper of the tests that it calls."""
    function = find_function(path, names) if (ROOT / path).is_file() else None
    if function is None or (path, names[-1]) in met:
        return False
    nodes = [node for statement in function.body for node in ast.walk(statement)]
    if any(map(is_assertion, nodes)):
        return True
    helpers = [helper for node in nodes if (helper := helper_called(path, node))]
    return any(asserts(file, [name], met | {(path, names[-1])}) for file, name in helpers)


def problem_of(node_id: str) -> str:
    """What is wrong with the id of a test, or nothing."""
    path, *names = node_id.split("::")
    if not (names and names[-1].startswith("test_") and (ROOT / path).is_file() and find_function(path, names)):
        return f"{node_id}: there is no such test"
    return "" if asserts(path, names) else f"{node_id}: asserts nothing"
