"""The tool that puts faults into the program: on small modules and on a small project of its own."""

import shutil
import subprocess
import sys
from pathlib import Path
from textwrap import dedent

import pytest

from coachbook.management.commands import test as suite
from tests.mutants import __main__ as command
from tests.mutants.children import Ending, FaultyFinder, in_children
from tests.mutants.faults import Mutant, mutants_of, mutated_source
from tests.mutants.reach import merged
from tests.mutants.targets import HERE, draw, pick, read_groups


def changes(source: str, **options: bool) -> set[str]:
    """What each fault makes of its line, without what was there."""
    return {mutant.after for mutant in mutants_of("m.py", dedent(source).encode(), **options)}


@pytest.mark.parametrize(
    "line, after",
    [
        ("a < b", {"a <= b", "a >= b"}),
        ("a <= b < c", {"a < b < c", "a > b < c", "a <= b <= c", "a <= b >= c"}),
        ("a is not None", {"a is None"}),
        ("a not in b", {"a in b"}),
        ("a and b or c", {"a or b or c", "a and b and c"}),
        ("not a", {"a"}),
        ("~a & b", {"a & b", "~a | b"}),
        ("(a + b) * -c", {"(a - b) * -c", "(a + b) / -c", "(a + b) * c"}),
        ("a // b % c", {"a * b % c", "a // b // c"}),
        ("[1, True, 0.25]", {"[2, True, 0.25]", "[0, True, 0.25]", "[1, False, 0.25]", "[1, True, 0.5]"}),
        ("a if b else c", {"a if (not (b)) else c"}),
        ("[a for a in b if c]", {"[a for a in b if True]"}),
        ("{A, B}", {"{B}", "{A}"}),
        ("min(a)", {"max(a)"}),
        ("rows.filter(a=b, c=d)", {"rows.exclude(a=b, c=d)", "rows.filter(c=d)", "rows.filter(a=b)"}),
        ("Q(a=b)", {"Q()"}),
        ("'words' + a", set()),
        ("f'{a + 1}'", set()),
        ("zip(a, b, strict=True)", set()),
        ("sort(a, reverse=True)", {"sort(a, reverse=False)"}),
    ],
)
def test_the_faults_of_an_expression(line: str, after: set[str]) -> None:
    assert changes(f"x = {line}") == {f"x = {changed}" for changed in after}


@pytest.mark.parametrize(
    "body, after",
    [
        ("return a", {"return None"}),
        ("return None", set()),
        ("raise Stale", {"pass"}),
        ("save(a)", {"pass"}),
        ("a += b", {"a -= b", "pass"}),
        ('"""What it does, in words."""', set()),
    ],
)
def test_the_faults_of_a_statement(body: str, after: set[str]) -> None:
    assert changes(f"def work():\n    {body}") == after


def test_a_claim_is_turned_round_and_a_decorator_dropped() -> None:
    source = """
    @property
    def is_late(self) -> bool:
        return self.days

    @atomic
    def save(): ...
    """
    assert changes(source) == {"return None", "return (not (self.days))", ""}


def test_what_is_decided_at_import_can_be_left_out() -> None:
    source = "MOST = 3\ndef f(n: int = 2) -> int:\n    return n + MOST\n"
    inside = {"return n - MOST", "return None", "def f(n: int = 3) -> int:", "def f(n: int = 1) -> int:"}
    assert changes(source, only_functions=True) == inside
    assert changes(source) == inside | {"MOST = 4", "MOST = 2"}


def test_a_fault_is_one_edit_also_behind_wide_letters_and_over_several_lines() -> None:
    source = 'def f():\n    a = "–×–", 7\n    return (\n        a\n        + 8\n    )\n'.encode()
    (plus,) = [mutant for mutant in mutants_of("m.py", source) if "- 8" in mutant.after]
    assert (plus.line, plus.reach) == (5, frozenset({3, 4, 5, 6}))
    assert mutated_source(plus, source) == source.replace(b"+ 8", b"- 8")
    (seven,) = [mutant for mutant in mutants_of("m.py", source) if mutant.after.endswith(", 6")]
    assert seven.after == 'a = "–×–", 6'


def test_a_condition_is_met_without_the_lines_that_depend_on_it() -> None:
    source = b"def f(a):\n    if a:\n        return 5\n    return 6\n"
    reach = {mutant.after: mutant.reach for mutant in mutants_of("m.py", source)}
    assert reach["if (not (a)):"] == {2}
    assert reach["return 7"] == {4}


def test_a_seed_draws_the_same_faults_again_and_one_a_line() -> None:
    faults = mutants_of("m.py", b"\n".join(b"a%d = b < 3" % number for number in range(30)))
    drawn = pick(faults, 20, "1")
    assert pick(faults, 20, "1") == drawn != pick(faults, 20, "2")
    assert len({mutant.line for mutant in drawn}) == 20


def test_every_group_has_its_share_and_at_least_150_are_drawn() -> None:
    groups = read_groups()
    drawn = draw(groups, 160, 1)
    assert len(drawn) >= 150
    assert sum(group.share for group in groups) == pytest.approx(1)
    for group in groups:
        names = {str(path.relative_to(HERE.parent.parent)) for path in group.paths}
        assert sum(mutant.path in names for mutant in drawn) >= 0.9 * 160 * group.share


def test_a_pattern_without_a_file_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    (first, *_) = read_groups()
    monkeypatch.setattr(type(first), "patterns", ["lessons/moved_away.py"])
    with pytest.raises(SystemExit, match=r"lessons/moved_away\.py"):
        _ = first.paths


def test_a_child_that_hangs_is_told_from_one_that_dies(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.mutants.children.WALL", 1)
    endings = dict(in_children(["hang", "die", "made"], behave))
    assert endings["hang"].is_too_long
    assert (endings["die"].made, endings["die"].is_too_long) == (None, False)
    assert "ZeroDivisionError" in endings["die"].printed
    assert endings["made"].made == {"task": "made"}


def behave(task: str) -> dict[str, object]:
    while task == "hang":
        pass
    if task == "die":
        raise ZeroDivisionError
    return {"task": task}


def test_only_a_test_that_fails_or_hangs_catches() -> None:
    mutant = Mutant("m.py", (0, 1, "x"), 1, "a", "x", frozenset({1}))
    ran = {"seconds": {"t": 0.1}, "failed": ["t"]}
    verdicts = [command.verdict(mutant, Ending({"code": code, **ran}, 0, "")) for code in (1, 0, 2, 3, 4, 5)]
    assert [verdict.is_caught for verdict in verdicts] == [True, *[False] * 5]
    assert command.verdict(mutant, Ending(None, 14, "")).is_caught
    assert not command.verdict(mutant, Ending(None, 9, "")).is_caught


def test_a_fault_with_which_the_program_does_not_start_counts_for_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    fault = Mutant("m.py", (0, 1, "x"), 1, "a", "x", frozenset({1}))
    caught = command.Verdict(fault, True, "tests/test_a.py::test_it")
    dead = command.verdict(fault, Ending(None, 0, "SyntaxError"))
    assert command.tell([caught, dead], set(), []) == 0
    printed = capsys.readouterr().out
    assert "1 of 1 caught (100.0%), 0 survived" in printed and "1 with which the program does not start" in printed


def test_a_test_that_fails_without_a_fault_catches_none() -> None:
    part = {"failed": ["t::b"], "seconds": {"t::a": 1.0, "t::b": 0.1}, "lines": {"m.py": {"3": ["t::a", "t::b", ""]}}}
    mutant = Mutant("m.py", (0, 1, "x"), 3, "a", "x", frozenset({3}))
    assert merged([part]).tests_of(mutant) == {"t::a": 23.0}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project of two pure functions, of which one is tested well."""
    root = tmp_path_factory.mktemp("small")
    shutil.copytree(HERE, root / "tests" / "mutants", ignore=shutil.ignore_patterns("__pycache__", "*.toml"))
    files = {
        "coachbook/settings.py": """
            import os
            NAME = os.environ.get("DATABASE_URL", "").removeprefix("sqlite:///")
            DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": NAME}}
            """,
        "lessons/doses.py": """
            def is_done(day, days):
                return day > days

            def left(day, days):
                return days - day
            """,
        "tests/test_doses.py": """
            from lessons.doses import is_done, left

            def test_a_dose_is_done_after_its_last_day():
                assert [is_done(day, 7) for day in (6, 7, 8)] == [False, False, True]

            def test_what_is_left():
                assert left(7, 7) == 0 or left(0, 0) == 0
            """,
        "tests/mutants/groups.toml": """
            preloaded = ["pytest_django.plugin"]
            marks = "not slow"
            names = "test_"
            [[group]]
            name = "doses"
            share = 1.0
            files = ["lessons/*.py"]
            [filters]
            files = ["lessons/*.py"]
            """,
        "tests/mutants/equivalent.toml": "",
        "tests/__init__.py": "",
        ".pytest.ini": "[pytest]\nmarkers = slow: none\n",
    }
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(dedent(text))
    return root


def run_small(root: Path, equivalent: str = "") -> tuple[int, str]:
    (root / "tests/mutants/equivalent.toml").write_text(dedent(equivalent))
    words = [sys.executable, "-m", "tests.mutants", "--count", "10"]
    before = (root / "lessons/doses.py").read_bytes()
    done = subprocess.run(words, cwd=root, capture_output=True, text=True)
    assert (root / "lessons/doses.py").read_bytes() == before
    return done.returncode, done.stdout + done.stderr


def test_a_fault_is_caught_and_a_survivor_listed(small: Path) -> None:
    code, printed = run_small(small)
    assert "lessons/doses.py:3 caught, tests/test_doses.py::test_a_dose_is_done_after_its_last_day" in printed
    assert "lessons/doses.py:6\n    - return days - day\n    + return" in printed
    assert "1 of 2 caught (50.0%), 1 survived; 0 equivalent" in printed
    assert "At least 92% are to be caught." in printed
    assert code == 1


def test_an_equivalent_is_counted_apart_and_a_stale_one_complained_about(small: Path) -> None:
    (survivor,) = [line for line in run_small(small)[1].splitlines() if line.startswith("    + ")]
    named = f"""
        [[equivalent]]
        path = "lessons/doses.py"
        before = "return days - day"
        after = "{survivor.removeprefix("    + ")}"
        reason = "for the sake of this test"

        [[equivalent]]
        path = "lessons/doses.py"
        before = "return days - 1"
        after = "return days + 1"
        reason = "such a line was here once"
        """
    code, printed = run_small(small, named)
    assert "1 of 1 caught (100.0%), 0 survived; 1 equivalent" in printed
    assert (
        "No such fault, so take it off the list: ('lessons/doses.py', 'return days - 1', 'return days + 1')" in printed
    )
    assert "At most 5% may be equivalent." in printed
    assert code == 1


def test_the_command_hands_its_options_on(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[tuple[str, list[str], dict[str, str]]] = []
    monkeypatch.setattr("os.chdir", lambda folder: None)
    monkeypatch.setattr("os.execve", lambda *call: calls.append(call))
    monkeypatch.setattr(suite, "run_environment", lambda on_postgres: {})
    suite.Command().run_from_argv(["manage.py", "test", "--mutants", "--seed", "2"])
    assert calls[0][1][1:] == ["-m", "tests.mutants", "--seed", "2"]


def test_a_module_with_a_fault_is_served_from_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    path = "lessons/wording.py"
    monkeypatch.delitem(sys.modules, "lessons.wording")
    monkeypatch.setattr(sys, "meta_path", [FaultyFinder(path, b"IS_FAULTY = True\n"), *sys.meta_path])
    import lessons.wording

    assert lessons.wording.IS_FAULTY
