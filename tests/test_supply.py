"""What the program is made of: each package at one version, with the hashes of its files."""

import json
import re
import subprocess
import sys

from tests.supply.__main__ import ROOT, locked, read_audit

PINS = {
    "demo": ["requirements.txt"],
    "start": ["requirements.txt", "coachbook/operations/requirements.txt"],
    "test": ["requirements.txt", "tests/requirements.txt"],
}


def test_each_lock_holds_the_pins_of_its_command_and_a_hash_of_every_package() -> None:
    for name, files in PINS.items():
        packages = locked(name)
        text = "".join((ROOT / file).read_text() for file in files)
        for package, version in re.findall(r"^([\w.-]+)(?:\[[\w,]+\])?==(\S+)", text, re.M):
            assert packages[re.sub(r"[-_.]+", "-", package).lower()][0] == version, f"{package}: run .ci/lock"
        assert all(hashes for _, hashes in packages.values())


def test_the_locks_agree() -> None:
    demo, start, test = (locked(name) for name in PINS)
    assert demo.items() <= start.items() and demo.items() <= test.items()
    assert set(start) - set(demo) == {"gunicorn"}


def test_the_bill_of_materials_names_every_package_of_an_academy_with_its_hashes(tmp_path) -> None:
    """CycloneDX 1.6; the command refuses to write what does not meet the published schema."""
    file = tmp_path / "sbom.json"
    words = [sys.executable, "-m", "tests.supply", "--sbom", str(file)]
    assert subprocess.run(words, cwd=ROOT, capture_output=True).returncode == 0
    made = json.loads(file.read_text())
    assert (made["bomFormat"], made["specVersion"]) == ("CycloneDX", "1.6")
    found = {row["name"]: row for row in made["components"]}
    assert {name: row["version"] for name, row in found.items()} == {
        name: version for name, (version, _) in locked("start").items()
    }
    for name, (_, hashes) in locked("start").items():
        assert len(found[name]["externalReferences"][0]["hashes"]) == hashes


def test_a_known_weakness_is_told_with_the_version_that_mends_it() -> None:
    """In the form in which pip-audit 2.10 prints its list."""
    found = read_audit(
        {
            "dependencies": [
                {"name": "good", "version": "1", "vulns": []},
                {"name": "bad", "version": "1", "vulns": [{"id": "CVE-2000-1", "fix_versions": ["1.1"]}]},
                {"name": "worse", "version": "2", "vulns": [{"id": "CVE-2000-2", "fix_versions": []}]},
                {"name": "silent", "skip_reason": "Dependency not found"},
            ]
        }
    )
    assert (found.asked, found.unasked) == (3, 1)
    assert found.weaknesses == [
        "bad 1: CVE-2000-1, mended in 1.1",
        "worse 2: CVE-2000-2, mended in no version yet",
    ]


def test_a_habit_that_lets_somebody_in_is_found(tmp_path) -> None:
    """The checks that are left out leave enough."""
    file = tmp_path / "open.py"
    file.write_text(
        "import hashlib, pickle\n\ndef read(word):\n    pickle.loads(word)\n    return eval(word), hashlib.md5(word)\n"
    )
    words = [sys.executable, "-m", "bandit", "-q", "-c", ".bandit.yaml", "-f", "json", str(file)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 1
    assert {"B301", "B307", "B324"} <= {row["test_id"] for row in json.loads(done.stdout)["results"]}
