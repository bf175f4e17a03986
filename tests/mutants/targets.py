"""Where faults are put, which of them are drawn, and which are known to change nothing."""

import configparser
import random
import sys
import tomllib
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

from tests.mutants.faults import Mutant, mutants_of
from tests.mutants.filters import Names, filter_faults

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
Change = tuple[str, str, str]  # path, the line before, the line after


@dataclass(frozen=True)
class Group:
    """Modules of one purpose, and the share of the faults that fall on them."""

    name: str
    share: float
    files: tuple[str, ...]
    contract: str = ""
    only_functions: bool = False
    first: str = ""  # the tests of a path that starts like this come first, though others are faster

    @property
    def patterns(self) -> list[str]:
        """Patterns of files, those of an import contract among them."""
        return [*self.files, *(contract_patterns(self.contract) if self.contract else [])]

    @property
    def paths(self) -> list[Path]:
        """Its files."""
        found = {pattern: sorted(ROOT.glob(pattern)) for pattern in self.patterns}
        if missing := [pattern for pattern, paths in found.items() if not paths]:
            sys.exit(f"No file matches {', '.join(missing)}: mend tests/mutants/groups.toml.")
        return sorted(set(chain(*found.values())))

    @property
    def population(self) -> list[Mutant]:
        """Every fault that can be put into its files."""
        return [fault for path in self.paths for fault in faults_in(path, self.only_functions)]


class Filters(Group):
    """The modules in which every filter is left out."""

    @property
    def population(self) -> list[Mutant]:
        """Every filter fault that can be put into its files."""
        names = Names.of(ROOT)
        faults = [filter_faults(str(path.relative_to(ROOT)), path.read_bytes(), names) for path in self.paths]
        return list(dict.fromkeys(chain(*faults)))


def contract_patterns(name: str) -> list[str]:
    """The modules and packages of an import contract; those of the demo are no part of the site."""
    contracts = configparser.ConfigParser()
    contracts.read(ROOT / ".importlinter")
    modules = contracts[f"importlinter:contract:{name}"]["source_modules"].split()
    paths = [module.replace(".", "/") for module in modules if ".demo." not in module]
    return [f"{path}/**/*.py" if (ROOT / path).is_dir() else f"{path}.py" for path in paths]


def faults_in(path: Path, only_functions: bool) -> list[Mutant]:
    return mutants_of(str(path.relative_to(ROOT)), path.read_bytes(), only_functions=only_functions)


def settings() -> dict[str, Any]:
    """What groups.toml says."""
    return tomllib.loads((HERE / "groups.toml").read_text())


def read_groups() -> list[Group]:
    return [Group(**table | {"files": tuple(table["files"])}) for table in settings()["group"]]


def read_filters() -> Filters:
    return Filters("the filters", 1, tuple(settings()["filters"]["files"]))


def draw(groups: list[Group], count: int, seed: int, only: str = "") -> list[Mutant]:
    """So many faults, shared out among the groups; with `only`, the start of a path, all from there."""
    if only:
        there = [fault for group in groups for fault in group.population if fault.path.startswith(only)]
        return pick(there, count, f"{seed}")
    parts = [pick(group.population, round(count * group.share), f"{seed} {group.name}") for group in groups]
    return list(chain(*parts))


def pick(faults: list[Mutant], count: int, seed: str) -> list[Mutant]:
    """So many of these faults, at most one on a line."""
    shuffled = random.Random(seed).sample(faults, len(faults))
    return list({(fault.path, fault.line): fault for fault in shuffled}.values())[:count]


def equivalents(name: str = "equivalent") -> dict[Change, str]:
    """The faults that are known to change nothing, with the reason, from the list of this name."""
    tables = tomllib.loads((HERE / f"{name}.toml").read_text()).get(name, [])
    return {(table["path"], table["before"], table["after"]): table["reason"] for table in tables}


def stale(known: dict[Change, str], groups: list[Group]) -> list[Change]:
    """Those of the known ones that no fault of today's text is."""
    possible = {fault.change for group in groups for fault in group.population}
    return [change for change in known if change not in possible]
