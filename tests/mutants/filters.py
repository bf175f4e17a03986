"""The faults that let too much through: a filter, a parent, a check or a permission left out, each one edit."""

import ast
import re
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from tests.mutants.faults import Edit, Mutant, Text, children, own_lines

FILTERS = ("filter", "exclude", "get_object_or_404", "Q")
REFUSALS = ("Http404", "PermissionDenied")
EVERYBODY = '__import__("coachbook.accounts.models", fromlist=["Student"]).Student.objects.present()'
WEAKER = {"require": "USE_SITE"} | dict.fromkeys(["get_student", "get_students", "is_allowed"], "READ_RECORD")
MODELS = ("coachbook/**/models.py", "coachbook/accounts/models/*.py", "lessons/models/*.py", "drills/**/models.py")


def filter_faults(path: str, data: bytes, names: "Names") -> list[Mutant]:
    """Every filter, parent, check and permission inside a function of a module, each left out in turn."""
    text, found = Text.of(data), []
    for node, reach in nodes(ast.parse(data), frozenset(), is_running=False):
        for edit in edits(node, text, names) if reach else ():
            before, after = text.told(edit)
            found.append(Mutant(path, edit, text.line(edit[0]), before, after, reach))
    return found


def nodes(node: ast.AST, reach: frozenset[int], *, is_running: bool) -> Iterator[tuple[ast.AST, frozenset[int]]]:
    """Every node below one, with the lines of which a test must run one to meet it; none outside of functions."""
    if isinstance(node, ast.stmt) and is_running:
        reach = own_lines(node)
    yield node, reach
    for child in children(node):
        yield from nodes(child, reach, is_running=is_running or isinstance(node, ast.FunctionDef))


class Names:
    """What the models call their filters and their related rows, read from their text."""

    def __init__(self, sources: list[str]) -> None:
        many = r'(?:ForeignKey|ManyToManyField)\([^()]*related_name="(\w+)"'
        self.related = set(re.findall(many, "\n".join(sources)))
        self.verbs = set(chain.from_iterable(map(verbs_of, sources)))

    @classmethod
    def of(cls, root: Path) -> "Names":
        """Those of all models of the program."""
        return cls([path.read_text() for pattern in MODELS for path in sorted(root.glob(pattern))])


def verbs_of(source: str) -> Iterator[str]:
    """The methods of a module's querysets that leave rows out."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ClassDef) and node.name.endswith(("QuerySet", "Manager")):
            for method in node.body:
                if isinstance(method, ast.FunctionDef) and any(map(is_filter, ast.walk(method))):
                    yield method.name


def is_filter(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and name_of(node.func) in ("filter", "exclude")


def name_of(node: ast.expr) -> str:
    """The last name of a call or an attribute."""
    return node.attr if isinstance(node, ast.Attribute) else node.id if isinstance(node, ast.Name) else ""


def edits(node: ast.AST, text: Text, names: Names) -> Iterator[Edit]:
    """What can be left out at one node."""
    if isinstance(node, ast.Call):
        yield from conditions_dropped(node, text)
        yield from filter_removed(node, text, names)
        yield from parent_dropped(node, text, names)
        yield from permission_weakened(node, text)
    elif isinstance(node, ast.If) and refuses(node):
        yield text.start(node.test), text.end(node.test), "False"
    elif isinstance(node, ast.Compare) and "reach" in text.at(node.comparators[0]):
        yield text.start(node), text.end(node), str(isinstance(node.ops[0], ast.In))


def conditions_dropped(node: ast.Call, text: Text) -> Iterator[Edit]:
    """One condition of a filter left out; the first word of `get_object_or_404` is the rows, not a condition."""
    if name_of(node.func) in FILTERS:
        parts = sorted([*node.args, *node.keywords], key=text.start)
        for number, part in enumerate(parts):
            if number or name_of(node.func) != "get_object_or_404":
                after = text.start(parts[number + 1]) if part is not parts[-1] else text.end(part)
                before = text.end(parts[number - 1]) if part is parts[-1] and number else text.start(part)
                yield before, after, ""


def filter_removed(node: ast.Call, text: Text, names: Names) -> Iterator[Edit]:
    """A whole filter left out: of several conditions, or of the models' own."""
    if isinstance(node.func, ast.Attribute):
        is_long = node.func.attr in ("filter", "exclude") and len(node.args) + len(node.keywords) > 1
        is_verb = node.func.attr in names.verbs and (
            node.func.attr != "named" or node.args
        )  # coaches only get an order
        if is_long or is_verb:
            yield text.end(node.func.value), text.end(node), ".all()"


def parent_dropped(node: ast.Call, text: Text, names: Names) -> Iterator[Edit]:
    """The rows of everybody in place of those of one student, lesson or coach."""
    is_shortcut = name_of(node.func) == "get_object_or_404"
    rows = node.args[0] if is_shortcut else node.func.value if isinstance(node.func, ast.Attribute) else node
    if isinstance(rows, ast.Attribute) and rows.attr in names.related:
        yield text.end(rows), text.end(rows), ".model._default_manager"


def permission_weakened(node: ast.Call, text: Text) -> Iterator[Edit]:
    """A gate that asks for less, and one that lets every student through."""
    weaker = WEAKER.get(name_of(node.func), "")
    for word in [*node.args, *(keyword.value for keyword in node.keywords)]:
        if weaker and text.at(word).startswith("Permission.") and name_of(word) != weaker:
            yield text.start(word), text.end(word), f"Permission.{weaker}"
    if text.at(node.func) == "gate.get_students":
        yield text.start(node), text.end(node), EVERYBODY


def refuses(node: ast.If) -> bool:
    """Whether a condition does nothing but refuse."""
    return len(node.body) == 1 and isinstance(node.body[0], ast.Raise) and refusal_of(node.body[0]) in REFUSALS


def refusal_of(node: ast.Raise) -> str:
    """The name of what is raised."""
    raised = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
    return name_of(raised) if raised else ""
