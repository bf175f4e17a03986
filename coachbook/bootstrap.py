"""Puts the pinned packages into .venv and this command with them.

Standard library only, and it must parse as Python 3.6, so that an old interpreter can say that it is too old.
"""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

from coachbook import system_packages

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
VENV_PYTHON = VENV / "bin" / "python"
STAMP = VENV / "installed-pins"
RUNTIME = "requirements.txt"
INSTALLING = {
    "demo": RUNTIME,
    "start": "coachbook/operations/requirements.txt",
    "test": "tests/requirements.txt",
}
LOCKS = ROOT / ".locks"  # a file for each of these commands: every package that pip brings, with its hashes
PIN = re.compile(r"([\w.-]+)(?:\[([\w., -]+)\])?\s*==\s*([^\s;]+)")
EXTRA = re.compile(r"([\w.-]+)[^;]*;\s*extra == ['\"]([\w.-]+)['\"]")
# Tells the run inside .venv that pip has just been there, so that it never installs in a circle.
MARK = "COACHBOOK_INSTALLED"
# Each of these would bring in other packages than those of .venv, or make pip install elsewhere.
STRAY = ("PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT")


def start(argv: "list[str]") -> None:
    """Returns where every pin is met; else goes on in .venv, which only `demo`, `start` and `test` make or change.

    What these need of the machine is asked for once: by install(), or here where nothing was to be installed.
    """
    refuse_old_python()
    command = argv[1] if len(argv) > 1 else ""
    requirements = ROOT / INSTALLING.get(command, RUNTIME)
    just_installed = bool(os.environ.pop(MARK, ""))
    pins = read_pins(requirements)
    missing = [pin for pin in pins if not is_met(pin)]
    if not missing:
        if command in INSTALLING and not just_installed:
            provide(command, makes_venv=False)
        return
    inside = Path(sys.prefix).resolve() == VENV.resolve()
    if inside and just_installed:
        fail(missing[0] + " was installed, yet .venv does not hold it: remove .venv and", command)
    if inside or not is_whole(pins):
        if command not in INSTALLING:
            more = " and %d more" % (len(missing) - 1) if missing[1:] else ""
            sys.exit(
                "Not installed here: %s%s; type: python3 manage.py demo, or start for an academy of your own"
                % (missing[0], more)
            )
        install(pins, command)
    run_again(argv)


def refuse_old_python() -> None:
    if sys.version_info >= (3, 11):
        return
    newer = ["python3.%d" % minor for minor in range(20, 10, -1)]
    newer = [name for name in newer if shutil.which(name) and not run_quietly([name, "-c", ""])]
    advice = "type:" if newer else "install a newer one and type:"
    found = "This needs Python 3.11 or newer, and this is %d.%d;" % sys.version_info[:2]
    sys.exit("%s %s %s manage.py demo" % (found, advice, (newer + ["python3"])[0]))


def read_pins(path: Path) -> "list[str]":
    """The lines `name==version` or `name[extra]==version` of a file and of those that it names with -r."""
    pins = []
    for line in path.read_text(encoding="utf-8").splitlines():
        line = line.split("#")[0].strip()
        if line.startswith("-r"):
            pins += read_pins(path.parent / line[2:].strip())
        elif PIN.fullmatch(line):
            pins.append(line)
        elif line:
            sys.exit("%s: write name==version instead of: %s" % (path, line))
    return pins


def is_met(pin: str) -> bool:
    """Whether this interpreter has exactly this version, and what its extras ask for in any version."""
    from importlib.metadata import PackageNotFoundError, requires, version

    name, extras, wanted = PIN.findall(pin)[0]
    chosen = re.split(r"[\s,]+", extras)
    try:
        asked = [EXTRA.fullmatch(line) for line in requires(name) or []]
        needs = [found[1] for found in asked if found and found[2] in chosen]
        return version(name) == wanted and all(version(need) for need in needs)
    except PackageNotFoundError:
        return False


def is_whole(pins: "list[str]") -> bool:
    """Whether pip has finished with all these pins in .venv: the stamp lists those of the last install."""
    runs = os.access(str(VENV_PYTHON), os.X_OK) and STAMP.exists()
    return runs and set(pins) <= set(STAMP.read_text(encoding="utf-8").splitlines())


def install(pins: "list[str]", command: str) -> None:
    """Brings .venv up to the pins; the stamp goes first and comes back last, so that a half never counts."""
    if not os.access(str(VENV if VENV.exists() else ROOT), os.W_OK):
        fail("No permission to write in %s: copy the project into a folder of yours and" % ROOT, command)
    makes_venv = not has_usable_venv()
    provide(command, makes_venv)
    print("Installing into .venv (about half a minute the first time) ...", flush=True)
    try:
        if STAMP.exists():
            STAMP.unlink()
        if makes_venv:
            make_venv(command)
        failure = run_quietly(pip_install(command))
    except KeyboardInterrupt:
        fail("Interrupted while installing;", command)
    if failure:
        fail("pip could not install the packages (is there a network?): %s;" % failure, command)
    STAMP.write_text("\n".join(pins) + "\n", encoding="utf-8")
    os.environ[MARK] = "1"


def pip_install(command: str) -> "list[str]":
    """Installs what the lock names and nothing else; a file of another hash is refused."""
    lock = str(LOCKS / (command + ".txt"))
    return [str(VENV_PYTHON), "-m", "pip", "install", "-q", "--require-hashes", "-r", lock]


def provide(command: str, makes_venv: bool) -> None:
    try:
        system_packages.provide(command, makes_venv)
    except KeyboardInterrupt:
        fail("Interrupted while installing;", command)


def has_usable_venv() -> bool:
    """Whether the .venv there was finished once and still has pip and a new Python.

    What an interrupted pip leaves is begun anew: a package may have its metadata but not all its files, and
    pip then takes it for installed.
    """
    question = "import pip, sys; sys.exit(sys.version_info < (3, 11))"
    return VENV_PYTHON.exists() and STAMP.exists() and not run_quietly([str(VENV_PYTHON), "-c", question])


def make_venv(command: str) -> None:
    failure = run_quietly([sys.executable, "-m", "venv", "--clear", str(VENV)])
    if failure:
        shutil.rmtree(str(VENV), ignore_errors=True)
        fail(".venv could not be made: %s;" % failure, command)


def run_quietly(words: "list[str]") -> str:
    """Runs a program; where it fails, its last line that says why."""
    done = subprocess.run(words, env=clean_environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    lines = [line.strip() for line in done.stdout.decode("utf-8", "replace").splitlines() if line.strip()]
    errors = [line for line in lines if line.startswith("ERROR")]
    return (errors or lines or ["it says nothing"])[-1] if done.returncode else ""


def run_again(argv: "list[str]") -> None:
    words = [str(VENV_PYTHON), str(ROOT / "manage.py")] + argv[1:]
    os.execve(words[0], words, clean_environment())


def clean_environment() -> "dict[str, str]":
    kept = {name: value for name, value in os.environ.items() if name not in STRAY}
    return dict(kept, PIP_DISABLE_PIP_VERSION_CHECK="1", PIP_NO_INPUT="1", PIP_USER="0")


def fail(what: str, command: str) -> NoReturn:
    sys.exit("%s type the same command again: python3 manage.py %s" % (what, command))
