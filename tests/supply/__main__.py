"""`manage.py test --supply`: whether a weakness of the packages or of the code is known."""

import argparse
import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent.parent
SCRIPTS = Path(sys.executable).parent
LOCKS = ("start", "test")  # what a real academy runs on, and what the tests add to it


@dataclass(frozen=True)
class Audit:
    """What the list of known weaknesses says of one lock; `unasked` counts the packages of which it says nothing."""

    asked: int
    unasked: int
    weaknesses: list[str]

    def __str__(self) -> str:
        unasked = f"{self.unasked} packages NOT CHECKED: the list of known weaknesses could not be had" * bool(
            self.unasked
        )
        checked = f"{self.asked} packages checked, {len(self.weaknesses)} weaknesses known" * bool(self.asked)
        return "; ".join(filter(None, [checked, unasked]))


def main() -> int:
    """0 where nothing is known against them; what could not be asked is said, and is no weakness."""
    options = read_options()
    if options.sbom:
        return write_sbom(options.sbom)
    habits = subprocess.run(
        [SCRIPTS / "bandit", "-q", "-c", ".bandit.yaml", "-r", "coachbook", "lessons", "drills"],
        cwd=ROOT,
        stderr=subprocess.DEVNULL,
    )
    audits = {name: audit(name) for name in LOCKS}
    for name, found in audits.items():
        print(*found.weaknesses, sep="\n", end="\n" if found.weaknesses else "")
        print(f".locks/{name}.txt: {found}")
    print("The code: nothing found" if habits.returncode == 0 else "The code: see above")
    return int(habits.returncode != 0 or any(found.weaknesses for found in audits.values()))


def read_options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="manage.py test --supply", description=__doc__)
    parser.add_argument(
        "--sbom", default="", metavar="FILE", help="only write the packages as a bill of materials, CycloneDX 1.6"
    )
    return parser.parse_args()


def write_sbom(path: str) -> int:
    """The packages of a real academy with their hashes, checked against the published schema before it is written."""
    lock, form = ROOT / ".locks/start.txt", ["--spec-version", "1.6", "--output-reproducible", "--validate"]
    return subprocess.run([SCRIPTS / "cyclonedx-py", "requirements", lock, *form, "-o", path]).returncode


def audit(name: str) -> Audit:
    options = ["--disable-pip", "--require-hashes", "--progress-spinner", "off", "-f", "json"]
    words = [SCRIPTS / "pip-audit", "-r", ROOT / f".locks/{name}.txt", *options]
    done = subprocess.run(words, capture_output=True, text=True)
    try:
        return read_audit(json.loads(done.stdout))
    except ValueError:  # no network at all: it prints no list
        return Audit(0, len(locked(name)), [])


def read_audit(made: dict[str, Any]) -> Audit:
    """The printed JSON of pip-audit, counted."""
    asked = [row for row in made["dependencies"] if "skip_reason" not in row]
    weaknesses = [
        f"{row['name']} {row['version']}: {known['id']}, mended in {mended(known)}"
        for row in asked
        for known in row["vulns"]
    ]
    return Audit(len(asked), len(made["dependencies"]) - len(asked), weaknesses)


def mended(known: dict[str, Any]) -> str:
    return ", ".join(known["fix_versions"]) or "no version yet"


def locked(name: str) -> dict[str, tuple[str, int]]:
    """The packages of a lock: by name the version and the number of its hashes."""
    packages: dict[str, tuple[str, int]] = {}
    last = ""
    for line in (ROOT / f".locks/{name}.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith(" "):
            version, hashes = packages[last]
            packages[last] = version, hashes + line.count("--hash=sha256:")
        else:
            last, version = line.split()[0].split("==")
            packages[last] = version, 0
    return packages


if __name__ == "__main__":
    sys.exit(main())
