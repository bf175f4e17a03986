"""What the commands need of the machine besides Python, and the Debian package that holds it.

Standard library only, and it must parse as Python 3.6: coachbook/bootstrap.py asks it before anything is installed.
"""

import ctypes
import importlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from importlib import util
from pathlib import Path
from typing import NamedTuple

VENV, PDFS, BROWSER = ".venv", "PDFs", "the browser tests"
PURPOSES = {"demo": (PDFS,), "start": (PDFS,), "test": (PDFS, BROWSER)}
BROWSERS = (
    "chromium-headless-shell",  # Chromium without the windows that nobody looks at: a third less work
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)
FONTS = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.local/share/fonts", "~/.fonts", "/System/Library/Fonts")
OS_RELEASE = Path("/etc/os-release")
UBUNTU_NAMES = {"chromium-headless-shell": "chromium-browser"}


def has_venv() -> bool:
    return bool(util.find_spec("venv") and util.find_spec("ensurepip"))


def has_library(*names: str) -> bool:
    """Whether one of these files is a library that can be loaded: systems name the same library differently."""
    for name in names:
        try:
            ctypes.CDLL(name)
        except OSError:
            continue
        return True
    return False


def library(*names: str) -> "Callable[[], bool]":
    return lambda: has_library(*names)


def has_font() -> bool:
    folders = [Path(name).expanduser() for name in FONTS]
    return any(any(folder.glob("**/*.[ot]t[fc]")) for folder in folders)


def find_browser() -> "str | None":
    """The Chromium that the CHROMIUM of the environment names, or the first that this machine has."""
    found = (shutil.which(name) for name in (os.environ.get("CHROMIUM", ""), *BROWSERS) if name)
    return next(filter(None, found), None)


class Need(NamedTuple):
    purpose: str
    name: str
    package: str
    is_met: "Callable[[], object]"


NEEDS = (
    Need(VENV, "Python's venv module", "python3-venv", has_venv),
    Need(PDFS, "Pango", "libpango-1.0-0", library("libpango-1.0.so.0", "libpango-1.0.dylib")),
    Need(PDFS, "PangoFT2", "libpangoft2-1.0-0", library("libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib")),
    Need(
        PDFS, "HarfBuzz-Subset", "libharfbuzz-subset0", library("libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib")
    ),
    Need(PDFS, "a font", "fonts-dejavu-core", has_font),
    Need(BROWSER, "Chromium", "chromium-headless-shell", find_browser),
    # Playwright's driver is linked against it on Linux.
    Need(BROWSER, "libatomic", "libatomic1", lambda: sys.platform != "linux" or has_library("libatomic.so.1")),
)


def provide(command: str, makes_venv: bool) -> None:
    """Installs what the machine lacks where root may, else names it in one line; without venv nothing goes on."""
    purposes = ((VENV,) if makes_venv else ()) + PURPOSES[command]
    missing = find_missing(*purposes)
    failure = ""
    if missing and os.geteuid() == 0 and shutil.which("apt-get"):
        failure = install(package_names(missing))
        missing = find_missing(*purposes)
    if missing:
        said = failure + describe(missing, command)
        if missing[0].purpose == VENV:
            sys.exit(said)
        print(said, flush=True)


def find_missing(*purposes: str) -> "list[Need]":
    return [need for need in NEEDS if need.purpose in purposes and not need.is_met()]


def install(packages: "list[str]") -> str:
    """Installs Debian packages; where that fails, a sentence that says why."""
    print(f"Installing Debian packages: {' '.join(packages)} ...", flush=True)
    run_apt("update")  # a source that does not answer need not be the one that holds them
    failure = run_apt("install", "-y", "--no-install-recommends", *packages)
    importlib.invalidate_caches()
    return f"apt-get could not install everything ({failure}). " if failure else ""


def run_apt(*words: str) -> str:
    """Runs apt-get; where it fails, its last line."""
    environment = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    done = subprocess.run(
        ("apt-get", "-qq", *words),
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    lines = done.stdout.decode("utf-8", "replace").split("\n")
    return ([line.strip() for line in lines if line.strip()] or ["it says nothing"])[-1] if done.returncode else ""


def describe(missing: "list[Need]", command: str) -> str:
    """One line: what is missing and what for, then what to type."""
    purposes = dict.fromkeys(need.purpose for need in missing)
    names = [f"for {purpose}: {list_names(missing, purpose)}" for purpose in purposes]
    again = f"python3 manage.py {command}"
    if shutil.which("apt-get"):
        sudo = "" if os.geteuid() == 0 else "sudo "
        packages = " ".join(package_names(missing))
        typed = f"type: {sudo}apt-get update && {sudo}apt-get install -y {packages} && {again}"
    else:
        typed = f"install that and type: {again}"
    return f"Missing {'; '.join(names)}; {typed}"


def list_names(missing: "list[Need]", purpose: str) -> str:
    return ", ".join(need.name for need in missing if need.purpose == purpose)


def package_names(needs: "list[Need]") -> "list[str]":
    """The packages as Debian, or Ubuntu where this is one, names them."""
    names = UBUNTU_NAMES if is_ubuntu() else {}
    return [names.get(need.package, need.package) for need in needs]


def is_ubuntu() -> bool:
    return OS_RELEASE.exists() and "ID=ubuntu" in OS_RELEASE.read_text(encoding="utf-8").split("\n")
