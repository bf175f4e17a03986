"""Which tests handle dates: those that make a day from the clock, themselves or in what they use of the tests' code.

To make a day from the clock is to call `now` and, in the same function, what gives a day or counts days.
"""

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

OF_A_DAY = {"today", "localdate", "localtime", "date", "combine", "timedelta"}
Definition = ast.FunctionDef | ast.ClassDef | ast.Assign
Place = tuple[str, str]  # a module and a name in it


@dataclass
class Module:
    """What a test module defines and what it imports from others."""

    source: str
    definitions: dict[str, Definition] = field(default_factory=dict)
    imported: dict[str, Place] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for node in ast.parse(self.source).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                self.definitions[node.name] = node
            elif isinstance(node, ast.Assign):
                self.definitions |= {name.id: node for name in node.targets if isinstance(name, ast.Name)}
            elif isinstance(node, ast.ImportFrom):
                self.imported |= {name.asname or name.name: (node.module or "", name.name) for name in node.names}

    @cached_property
    def for_all(self) -> set[str]:
        """The fixtures that every test of the module uses."""
        return {name for name, node in self.definitions.items() if "autouse=True" in decorators(node)}


def decorators(node: ast.AST) -> str:
    """The decorators of a definition as they are written."""
    return " ".join(ast.unparse(each) for each in getattr(node, "decorator_list", ()))


class TestCode:
    """The code of all tests: `{"tests.test_log": source}`."""

    __test__ = False

    def __init__(self, sources: Mapping[str, str]) -> None:
        self.modules = {name: Module(source) for name, source in sources.items()}
        self.used: dict[Place, set[Place]] = {}
        self.known: dict[Place, bool] = {}

    @classmethod
    def of(cls, folder: Path) -> "TestCode":
        """What lies in a folder and those below it."""
        paths = {path: path.relative_to(folder.parent).with_suffix("") for path in folder.rglob("*.py")}
        return cls({".".join(short.parts): path.read_text(encoding="utf-8") for path, short in paths.items()})

    def makes_days(self, module: str, test: str) -> bool:
        """Whether a test makes a day from the clock, itself or in a fixture, function or class that it uses."""
        own = [(module, name) for name in (test, *self.modules[module].for_all)]
        return any(map(self.makes_day, self.reached(own)))

    def makes_day(self, place: Place) -> bool:
        """Whether a definition itself does."""
        if place not in self.known:
            called = calls_in(self.definition(place))
            self.known[place] = "now" in called and bool(called & OF_A_DAY)
        return self.known[place]

    def reached(self, ahead: list[Place]) -> set[Place]:
        """What these definitions use, and what those use in turn."""
        reached = set[Place]()
        while ahead:
            place = ahead.pop()
            if place not in reached:
                reached.add(place)
                ahead += self.uses(place)
        return reached

    def uses(self, place: Place) -> set[Place]:
        """What a definition names of the tests' own definitions."""
        if place not in self.used:
            words = set(names_in(self.definition(place)))
            self.used[place] = {found for word in words if (found := self.find(place[0], word))}
        return self.used[place]

    def definition(self, place: Place) -> Definition:
        return self.modules[place[0]].definitions[place[1]]

    def find(self, module: str, word: str) -> Place | None:
        """Where a name that a module uses is defined: there, where it is imported from, or in a conftest above it."""
        here = self.modules.get(module)
        if here is None:
            return None
        if word in here.definitions:
            return module, word
        if word in here.imported:
            return self.find(*here.imported[word])
        above = [f"{module[:end]}.conftest" for end in range(len(module)) if module[end] == "."]
        return next(((name, word) for name in reversed(above) if word in self.defined(name)), None)

    def defined(self, module: str) -> dict[str, Definition]:
        return self.modules[module].definitions if module in self.modules else {}


def names_in(node: ast.AST) -> Iterator[str]:
    """Every name in a piece of code, those of its arguments and of attributes included."""
    for part in ast.walk(node):
        match part:
            case ast.Name(id=name) | ast.Attribute(attr=name) | ast.arg(arg=name):
                yield name


def calls_in(node: ast.AST) -> set[str]:
    """The last name of everything that a piece of code calls."""
    calls = (part.func for part in ast.walk(node) if isinstance(part, ast.Call))
    return {getattr(call, "attr", getattr(call, "id", "")) for call in calls}
