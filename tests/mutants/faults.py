"""The small faults that can be put into a module, each as one edit of its text."""

import ast
import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

Edit = tuple[int, int, str]  # from this byte to that one, and what stands there instead
Operators = dict[type[ast.AST], tuple[str, tuple[str, ...]]]  # how one is written, and what takes its place

OPERATORS: Operators = {
    ast.Lt: ("<", ("<=", ">=")),
    ast.LtE: ("<=", ("<", ">")),
    ast.Gt: (">", (">=", "<=")),
    ast.GtE: (">=", (">", "<")),
    ast.Eq: ("==", ("!=",)),
    ast.NotEq: ("!=", ("==",)),
    ast.Is: (r"\bis\b", ("is not",)),
    ast.IsNot: (r"\bis\s+not\b", ("is",)),
    ast.In: (r"\bin\b", ("not in",)),
    ast.NotIn: (r"\bnot\s+in\b", ("in",)),
    ast.And: (r"\band\b", ("or",)),
    ast.Or: (r"\bor\b", ("and",)),
    ast.Add: (r"\+", ("-",)),
    ast.Sub: ("-", ("+",)),
    ast.Mult: (r"\*", ("/",)),
    ast.Div: ("/", ("*",)),
    ast.FloorDiv: ("//", ("*",)),
    ast.Mod: ("%", ("//",)),
    ast.Pow: (r"\*\*", ("*",)),
    ast.BitAnd: ("&", ("|",)),
    ast.BitOr: (r"\|", ("&",)),
}
FUNCTIONS = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}
METHODS = {"filter": "exclude", "exclude": "filter", "first": "last", "last": "first"}
CONDITIONED = ("filter", "exclude", "get", "Q")
# Without these a module means the same (a cache, a type) or cannot be imported.
KEPT_DECORATORS = re.compile(
    r"\b(cache|lru_cache|cached_property|dataclass|property|classmethod|staticmethod|setter)\b"
)


@dataclass(frozen=True)
class Mutant:
    """One small fault: where it is, what the text says before and after, and which lines a test must run to meet it."""

    path: str
    edit: Edit
    line: int
    before: str
    after: str
    reach: frozenset[int]  # empty: it is met when the module is imported

    @property
    def change(self) -> tuple[str, str, str]:
        """What stays the same when the lines above it move."""
        return self.path, self.before, self.after

    def __str__(self) -> str:
        return f"{self.path}:{self.line}\n    - {self.before}\n    + {self.after}"


@dataclass(frozen=True)
class Text:
    """A module's text, in bytes as the syntax tree counts them."""

    data: bytes
    starts: tuple[int, ...]  # the first byte of each line

    @classmethod
    def of(cls, data: bytes) -> "Text":
        starts = [0]
        for line in data.splitlines(keepends=True):
            starts.append(starts[-1] + len(line))
        return cls(data, tuple(starts))

    def start(self, node: ast.expr | ast.stmt | ast.keyword) -> int:
        return self.starts[node.lineno - 1] + node.col_offset

    def end(self, node: ast.expr | ast.stmt | ast.keyword) -> int:
        return self.starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)

    def at(self, node: ast.expr | ast.stmt | ast.keyword) -> str:
        return self.data[self.start(node) : self.end(node)].decode()

    def line(self, byte: int) -> int:
        """The number of the line on which a byte stands."""
        return bisect_right(self.starts, byte)

    def mutated(self, edit: Edit) -> bytes:
        start, end, new = edit
        return self.data[:start] + new.encode() + self.data[end:]

    def told(self, edit: Edit) -> tuple[str, str]:
        """The lines that an edit changes, before and after, each in one line."""
        start, end, new = edit
        first = self.starts[self.line(start) - 1]
        last = self.starts[self.line(max(start, end - 1))]
        before = self.data[first:last].decode()
        after = self.data[first:start].decode() + new + self.data[end:last].decode()
        return " ".join(before.split()), " ".join(after.split())


def mutants_of(path: str, data: bytes, *, only_functions: bool = False) -> list[Mutant]:
    """Every small fault of a module; `only_functions` leaves out what is decided when it is imported."""
    text, found = Text.of(data), []
    for edit, reach in Walk(text).faults(ast.parse(data), frozenset()):
        before, after = text.told(edit)
        if before != after and (reach or not only_functions):
            found.append(Mutant(path, edit, text.line(edit[0]), before, after, reach))
    return found


def mutated_source(mutant: Mutant, data: bytes) -> bytes:
    """The module's text with the fault in it."""
    return Text.of(data).mutated(mutant.edit)


@dataclass(frozen=True)
class Walk:
    """A walk through a syntax tree; it knows which lines a test runs when it runs a statement."""

    text: Text

    def faults(
        self, node: ast.AST, reach: frozenset[int], is_running: bool = False
    ) -> Iterator[tuple[Edit, frozenset[int]]]:
        """Each edit below a node, with the lines of which a test must run one; `is_running`: inside a function."""
        if isinstance(node, ast.stmt) and is_running:
            reach = own_lines(node)
        for edit in edits(node, self.text):
            yield edit, reach
        if isinstance(node, ast.FunctionDef):
            yield from self.function(node, reach)
            return
        for child in children(node):
            yield from self.faults(child, reach, is_running)

    def function(self, node: ast.FunctionDef, reach: frozenset[int]) -> Iterator[tuple[Edit, frozenset[int]]]:
        """The signature and the decorators are met by whoever runs a line of the body."""
        body = frozenset(range(node.body[0].lineno, (node.end_lineno or node.lineno) + 1))
        for decorator in node.decorator_list:
            if not KEPT_DECORATORS.search(self.text.at(decorator)):
                at_sign = self.text.data.rindex(b"@", 0, self.text.start(decorator))
                yield (at_sign, self.text.end(decorator), ""), body
        for default in (*node.args.defaults, *filter(None, node.args.kw_defaults)):
            yield from self.faults(default, body, is_running=False)
        if returns_bool(node):
            for edit in negated_returns(node, self.text):
                yield edit, frozenset({self.text.line(edit[0])})
        for statement in node.body:
            yield from self.faults(statement, reach, is_running=True)


def own_lines(node: ast.stmt) -> frozenset[int]:
    """The lines of a statement without those of its body."""
    body = getattr(node, "body", None)
    last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
    return frozenset(range(node.lineno, max(last, node.lineno) + 1))


def children(node: ast.AST) -> Iterator[ast.AST]:
    """What stands below a node and means something when it runs.

    The places in a formatted string are not reliable. `strict=True` is a check of our own: without it a sound program
    does the same.
    """
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.keyword) and node.arg == "strict"):
        return
    for name, value in ast.iter_fields(node):
        if name not in ("annotation", "returns", "decorator_list", "type_params"):
            yield from (part for part in (value if isinstance(value, list) else [value]) if isinstance(part, ast.AST))


def edits(node: ast.AST, text: Text) -> Iterator[Edit]:
    """The edits of one node."""
    for kind, of_kind in EDITS.items():
        if isinstance(node, kind):
            yield from of_kind(node, text)


def swapped(operator: ast.AST, start: int, end: int, text: Text) -> Iterator[Edit]:
    """Another operator in place of the one that stands between two bytes."""
    written, others = OPERATORS.get(type(operator), ("", ()))
    if others and (found := re.search(written.encode(), text.data[start:end])):
        for other in others:
            yield start + found.start(), start + found.end(), other


def comparison(node: ast.Compare, text: Text) -> Iterator[Edit]:
    sides = [node.left, *node.comparators]
    for operator, (left, right) in zip(node.ops, pairwise(sides), strict=True):
        yield from swapped(operator, text.end(left), text.start(right), text)


def and_or(node: ast.BoolOp, text: Text) -> Iterator[Edit]:
    for left, right in pairwise(node.values):
        yield from swapped(node.op, text.end(left), text.start(right), text)


def arithmetic(node: ast.BinOp, text: Text) -> Iterator[Edit]:
    if not any(is_words(side) for side in (node.left, node.right)):
        yield from swapped(node.op, text.end(node.left), text.start(node.right), text)


def is_words(node: ast.expr) -> bool:
    """Whether a side of `+` or `%` is text or a list, so that another operator could only be a TypeError."""
    is_text = isinstance(node, ast.Constant) and isinstance(node.value, str)
    return is_text or isinstance(node, ast.JoinedStr | ast.List | ast.ListComp | ast.Tuple)


def augmented(node: ast.AugAssign, text: Text) -> Iterator[Edit]:
    if not is_words(node.value):
        yield from swapped(node.op, text.end(node.target), text.start(node.value), text)
    yield text.start(node), text.end(node), "pass"


def unary(node: ast.UnaryOp, text: Text) -> Iterator[Edit]:
    """`not`, `~` and the sign of what is no plain number are dropped."""
    width = {ast.Not: 4, ast.Invert: 1, ast.USub: 1}.get(type(node.op), 0)
    if width and not (isinstance(node.op, ast.USub) and isinstance(node.operand, ast.Constant)):
        yield text.start(node), text.start(node) + width, ""


def constant(node: ast.Constant, text: Text) -> Iterator[Edit]:
    """The other truth value, the neighbours of a whole number, twice another number."""
    if isinstance(node.value, bool):
        others = [str(not node.value)]
    elif isinstance(node.value, int):
        others = [str(node.value + 1), str(node.value - 1)]
    elif isinstance(node.value, float):
        others = [repr(node.value * 2 or 1.0)]
    else:
        others = []
    for other in others:
        yield text.start(node), text.end(node), f"({other})" if other.startswith("-") else other


def returned(node: ast.Return, text: Text) -> Iterator[Edit]:
    if node.value and not (isinstance(node.value, ast.Constant) and node.value.value is None):
        yield text.start(node.value), text.end(node.value), "None"


def returns_bool(node: ast.FunctionDef) -> bool:
    return isinstance(node.returns, ast.Name) and node.returns.id == "bool"


def negated_returns(node: ast.FunctionDef, text: Text) -> Iterator[Edit]:
    for part in ast.walk(node):
        if isinstance(part, ast.Return) and part.value:
            yield text.start(part.value), text.end(part.value), f"(not ({text.at(part.value)}))"


def condition(node: ast.If | ast.IfExp, text: Text) -> Iterator[Edit]:
    yield text.start(node.test), text.end(node.test), f"(not ({text.at(node.test)}))"


def chosen(node: ast.comprehension, text: Text) -> Iterator[Edit]:
    """A condition of a comprehension that is always met."""
    for test in node.ifs:
        yield text.start(test), text.end(test), "True"


def called(node: ast.Call, text: Text) -> Iterator[Edit]:
    """Another function or method, and a condition of a query dropped."""
    is_method = isinstance(node.func, ast.Attribute)
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if other := (METHODS if is_method else FUNCTIONS).get(name):
        yield text.end(node.func) - len(name), text.end(node.func), other
    # The first word of `get` may be the key of a dictionary.
    if name in CONDITIONED and (node.keywords or name != "get"):
        parts = sorted([*node.args, *node.keywords], key=text.start)
        for number, part in enumerate(parts):
            # Up to the next one, or else from the end of the one before.
            after = text.start(parts[number + 1]) if part is not parts[-1] else text.end(part)
            before = text.end(parts[number - 1]) if part is parts[-1] and number else text.start(part)
            yield before, after, ""


def statement(node: ast.Expr | ast.Raise | ast.Continue | ast.Break, text: Text) -> Iterator[Edit]:
    """A statement dropped, unless it is a docstring."""
    if not (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
        yield text.start(node), text.end(node), "pass"


def member(node: ast.Set, text: Text) -> Iterator[Edit]:
    """A member of a written set dropped, as long as one is left."""
    if len(node.elts) > 1:
        for part, following in pairwise(node.elts):
            yield text.start(part), text.start(following), ""
        yield text.end(node.elts[-2]), text.end(node.elts[-1]), ""


EDITS: dict[type[ast.AST], Callable[..., Iterator[Edit]]] = {
    ast.Compare: comparison,
    ast.BoolOp: and_or,
    ast.BinOp: arithmetic,
    ast.AugAssign: augmented,
    ast.UnaryOp: unary,
    ast.Constant: constant,
    ast.Return: returned,
    ast.If: condition,
    ast.IfExp: condition,
    ast.comprehension: chosen,
    ast.Call: called,
    ast.Expr: statement,
    ast.Raise: statement,
    ast.Continue: statement,
    ast.Break: statement,
    ast.Set: member,
}
