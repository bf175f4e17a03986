"""`manage.py test --mutants`: puts small faults into the program, one at a time, and lists those that no test sees."""

import argparse
import importlib
import signal
import sys
import time
from dataclasses import dataclass
from typing import Any

import django

from tests.mutants.children import Ending, FaultyFinder, Run, in_children, module_name, preload
from tests.mutants.faults import Mutant, mutated_source
from tests.mutants.reach import Reach, file_of, find_reach, make_database, take_database
from tests.mutants.targets import ROOT, Group, draw, equivalents, read_filters, read_groups, stale

CAUGHT = 0.92  # of those that are not equivalent
EQUIVALENT = 0.05  # of all


@dataclass(frozen=True)
class Verdict:
    """What became of one fault."""

    mutant: Mutant
    is_caught: bool
    by: str  # the test that failed, or else why none did
    starts: bool = True  # whether the program starts with it; if not, it shows nothing of the tests


def main() -> int:
    """Draw, run, tell; 0 where enough are caught."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("Ended from outside."))  # its children end with it
    options = read_options()
    groups = [read_filters()] if options.filters else read_groups()
    known = equivalents("second_walls" if options.filters else "equivalent")
    drawn = chosen(groups, options)
    preload()
    make_database()
    reach = find_reach([*read_groups(), read_filters()], options.tests)  # the same for both, so measured once
    for test in reach.failed:
        print("Fails without a fault, so it catches none:", test)
    began = time.monotonic()
    first = {str(path.relative_to(ROOT)): group.first for group in groups for path in group.paths if group.first}
    verdicts = distrusted(judge(drawn, reach, first), reach)
    print(f"{len(verdicts)} faults in {time.monotonic() - began:.0f} s")
    problems = [f"No such fault, so take it off the list: {change}" for change in stale(known, groups)]
    return tell(verdicts, set(known), problems, is_whole=options.filters)


def read_options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="manage.py test --mutants", description=__doc__)
    parser.add_argument("--count", type=int, default=160, help="how many faults are drawn")
    parser.add_argument("--seed", type=int, default=1, help="which ones")
    parser.add_argument("--only", default="", metavar="PATH", help="only in files whose path starts like this")
    parser.add_argument("--filters", action="store_true", help="every filter left out in turn, in place of a draw")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="of the filters only every Nth")
    parser.add_argument("--tests", nargs="*", default=[], metavar="FILE", help="only these test files may catch")
    return parser.parse_args()


def chosen(groups: list[Group], options: argparse.Namespace) -> list[Mutant]:
    """The faults of this run: a draw, or every filter, or every nth of them."""
    if not options.filters:
        return draw(groups, options.count, options.seed, options.only)
    return [fault for group in groups for fault in group.population if fault.path.startswith(options.only)][
        :: options.every
    ]


def judge(drawn: list[Mutant], reach: Reach, first: dict[str, str]) -> list[Verdict]:
    """Run the tests of each fault, two faults at a time."""
    tasks = [(mutant, reach.tests_of(mutant, first.get(mutant.path, ""))) for mutant in drawn]
    verdicts = []
    for (mutant, _), ending in in_children(tasks, run_with_fault):
        verdicts.append(verdict(mutant, ending))
        word = "caught" if verdicts[-1].is_caught else "SURVIVED"
        print(f"{len(verdicts)} of {len(tasks)}: {mutant.path}:{mutant.line} {word}, {verdicts[-1].by}", flush=True)
    return verdicts


def run_with_fault(task: tuple[Mutant, dict[str, float]]) -> dict[str, Any]:
    mutant, limits = task
    if not limits:
        return {"code": 5, "failed": [], "seconds": {}}
    take_database()
    source = mutated_source(mutant, (ROOT / mutant.path).read_bytes())
    sys.meta_path.insert(0, FaultyFinder(mutant.path, source))
    django.setup()
    importlib.import_module(module_name(mutant.path))  # a child that fails here has shown nothing
    return Run(limits).go(sorted({file_of(test) for test in limits}), "-x")


def verdict(mutant: Mutant, ending: Ending) -> Verdict:
    """Only a test that fails catches a fault, or one that hangs; a program that cannot start does not."""
    if ending.is_too_long:
        return Verdict(mutant, True, "")
    made = ending.made or {"code": 3, "failed": [], "seconds": {}}
    if made["code"] == 1:
        return Verdict(mutant, True, made["failed"][0])
    why = {0: f"{len(made['seconds'])} tests pass", 5: "no test runs it"}
    is_known = made["code"] in why
    return Verdict(mutant, False, why.get(made["code"], f"does not start: {ending.printed[-300:]}"), starts=is_known)


def distrusted(verdicts: list[Verdict], reach: Reach) -> list[Verdict]:
    """The verdicts without those of tests that, run in the same way, fail without a fault, too."""
    limits = {verdict.by: reach.limit(verdict.by) for verdict in verdicts if verdict.is_caught and verdict.by}
    for _, ending in in_children([limits] if limits else [], run_without_fault):
        failed = ending.made["failed"] if ending.made else list(limits)
        print(*(f"Fails without a fault, too: {test}\n" for test in failed), sep="", end="")
        return [Verdict(v.mutant, False, f"{v.by} fails without it") if v.by in failed else v for v in verdicts]
    return verdicts


def run_without_fault(limits: dict[str, float]) -> dict[str, Any]:
    take_database()
    return Run(limits).go(sorted({file_of(test) for test in limits}))


def tell(
    verdicts: list[Verdict], known: set[tuple[str, str, str]], problems: list[str], *, is_whole: bool = False
) -> int:
    """Print the survivors, the figures and what is wrong; the exit code. `is_whole`: all are to be caught."""
    equivalent = [v for v in verdicts if v.mutant.change in known]
    counted = [v for v in verdicts if v.mutant.change not in known and v.starts]
    problems += [f"Caught, so not equivalent: {v.mutant} by {v.by}" for v in equivalent if v.is_caught]
    survivors = [v for v in counted if not v.is_caught]
    for survivor in sorted(survivors, key=lambda v: (v.mutant.path, v.mutant.line)):
        print(f"{survivor.mutant}\n    {survivor.by}")
    caught = len(counted) - len(survivors)
    share = caught / len(counted) if counted else 0.0
    print(f"{caught} of {len(counted)} caught ({share:.1%}), {len(survivors)} survived; {len(equivalent)} equivalent")
    print(f"{sum(not v.starts for v in verdicts)} with which the program does not start")
    if share < (1 if is_whole else CAUGHT):
        problems.append(f"At least {1 if is_whole else CAUGHT:.0%} are to be caught.")
    if not is_whole and len(equivalent) > EQUIVALENT * len(verdicts):
        problems.append(f"At most {EQUIVALENT:.0%} may be equivalent.")
    print(*problems, sep="\n")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
