"""The guide says what OWASP ASVS 5.0.0 asks to be written down, and the code does as it says."""

import re
from functools import cache
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.auth.hashers import PBKDF2PasswordHasher

from coachbook.accounts.limits import ADDRESS, KNOWN_DEVICE, NAME, NAME_AND_ADDRESS, Limit
from coachbook.corrections.models import UNDO_PERIOD
from coachbook.diary.models import MAX_MINUTES
from coachbook.diary.scheduling import MAX_APPOINTMENTS, MAX_STUDENTS
from coachbook.family.models import MAX_LENGTH
from coachbook.forms import LONGEST_TEXT
from coachbook.groups.session import MOST
from coachbook.loop.students_file.columns import LARGEST as LARGEST_FILE
from coachbook.loop.students_file.columns import MOST_ROWS as MOST_STUDENTS
from drills.library.carry.reading import LARGEST, MOST_ROWS
from lessons.stills.picture import LONG_EDGE, MOST_BYTES, MOST_PIXELS
from tests.security.test_source import calls

ROOT = Path(settings.BASE_DIR)


@cache
def section() -> str:
    guide = (ROOT / "DEVELOPERS.md").read_text()
    return guide.split("## How the records are guarded\n", 1)[1].split("\n## ", 1)[0]


def part(title: str) -> str:
    """What stands under one bold title."""
    return section().split(f"**{title}.**", 1)[1].split("\n**", 1)[0]


def row(title: str, first: str) -> str:
    [found] = [line for line in part(title).splitlines() if line.startswith(f"| {first} |")]
    return found


@pytest.mark.parametrize(
    ("first", "limits"),
    [
        ("message", [f"{MAX_LENGTH:,} letters"]),
        ("text of a lesson", [f"{LONGEST_TEXT:,} letters"]),
        ("password", ["12 letters"]),
        ("group, appointment", [f"{MAX_STUDENTS} students", f"to {MAX_MINUTES} minutes"]),
        ("group, appointment", [f"{MAX_APPOINTMENTS} appointments within a year"]),
        ("correction", [f"{UNDO_PERIOD.days} days"]),
        ("name of a person", ["120 letters"]),
        ("file with students", [f"{LARGEST_FILE:,} bytes", f"{MOST_STUDENTS:,} rows", "CSV", "kept nowhere"]),
        ("picture", [f"{MOST_BYTES // 10**6} MB", f"{MOST_PIXELS['JPEG'] // 10**6} million", f"{LONG_EDGE} pixels"]),
        ("file of a library", [f"{LARGEST:,} bytes", f"{MOST_ROWS:,} rows", "JSON", "kept nowhere"]),
    ],
)  # fmt: skip
def test_the_guide_names_the_limits_that_hold(first: str, limits: list[str]) -> None:
    """2.1.1, 2.1.2, 2.1.3."""
    assert [limit for limit in limits if limit not in row("What is accepted", first)] == []
    assert MOST == MAX_STUDENTS
    [validator] = [each for each in settings.AUTH_PASSWORD_VALIDATORS if "MinimumLength" in each["NAME"]]
    assert validator["OPTIONS"] == {"min_length": 12}


def test_every_table_has_its_kind() -> None:
    """14.1.1 and 14.1.2: a new table is named there, with what guards it."""
    ours = [
        model for model in apps.get_models() if model.__module__.split(".")[0] in ("coachbook", "lessons", "drills")
    ]
    names = {model.__name__ for model in ours if not model.__name__.startswith("Historical")}
    rows = [
        line.split("|") for line in part("What is stored, and how it is guarded").splitlines() if line.startswith("| ")
    ]
    listed = {name for cells in rows for name in re.findall(r"`([A-Z]\w+)[.`]", cells[2])}
    assert len(names) > 30 and names == listed
    assert all(cells[3].strip() for cells in rows)


def test_every_use_of_a_hash_a_key_or_a_random_number_is_listed() -> None:
    """11.1.1 and 11.1.2."""
    used = r"(hashlib|secrets|signing|hmac)\.\w+|make_password|check_password|salted_hmac|get_random_string"
    files = {file for file, called, _ in calls() if re.fullmatch(used, called)}
    listed = set(re.findall(r"`((?:coachbook|drills|lessons)/[\w/]+\.py)`", part("Keys, hashes, signatures")))
    beside = {
        "coachbook/settings.py": "`SECRET_KEY`",
        "coachbook/accounts/one_time_codes.py": "`Invitation.code_hash`",
    }
    assert all(words in part("Keys, hashes, signatures") for words in beside.values())
    assert files - set(beside) == listed
    assert PBKDF2PasswordHasher.algorithm == "pbkdf2_sha256"


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("What goes out", ["database", "mail server", "no other machine"]),  # 13.1.1
        ("What takes long", ["PDF", "model of a putter", "Progress of the academy"]),  # 15.1.3
        ("Logs", ["UTC", "coachbook.security", "django.request", "django.security", "90 days"]),  # 16.1.1
        ("Packages", ["7 days", "30", "three months"]),  # 15.1.1
        ("In front of it", ["TLS 1.2 and 1.3", "host name", "PROXY_COUNT"]),
    ],
)
def test_the_guide_says_it(title: str, words: list[str]) -> None:
    assert [word for word in words if word not in part(title)] == []


def test_the_guide_says_who_reads_what() -> None:
    """8.1.1 and 8.1.2: the policy stands in one module, notes in one class; the guide names both."""
    guide = (ROOT / "DEVELOPERS.md").read_text()
    assert "coachbook/accounts/gate.py" in guide and "NoteVisibility" in guide and "404" in guide and "403" in guide
    assert (ROOT / "coachbook/accounts/gate.py").read_text().count("    Permission.") >= 16


def signing_in() -> str:
    """What the guide says of signing in, in one line."""
    guide = (ROOT / "DEVELOPERS.md").read_text()
    return " ".join(guide.split("## Signing in\n", 1)[1].split("\n## ", 1)[0].split())


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (NAME_AND_ADDRESS, "by name and address ({number} in 5 minutes)"),
        (NAME, "by name alone ({number} an hour)"),
        (ADDRESS, "by address ({number} a minute)"),
        (KNOWN_DEVICE, "for that device alone ({number} in 5 minutes)"),
    ],
)
def test_the_guide_says_how_guessing_is_slowed_down(limit: Limit, words: str) -> None:
    """6.1.1."""
    number, time, _ = limit.rate.split("/")
    assert time == {"minutes)": "5m", "hour)": "h", "minute)": "m"}[words.split()[-1]]
    assert words.replace("{number}", number) in signing_in()


def test_the_guide_lists_every_way_in() -> None:
    """6.1.3."""
    ways = signing_in().split("**Ways in**", 1)[1].split(" - **", 1)[0]
    assert [
        way
        for way in ("password", "link", "code on paper", "second factor", "shared sheet", "calendar")
        if way not in ways
    ] == []


def test_the_guide_says_how_long_a_session_lasts() -> None:
    """7.1.1."""
    (idle, longest), coach, others = (settings.SESSION_LIMITS[role] for role in ("manager", "coach", "others"))
    assert idle == longest and f"manager {idle.total_seconds() / 3600:.0f} hours" in signing_in()
    assert f"coach {coach[0].days} and {coach[1].days} days" in signing_in()
    assert f"everybody else {others[0].days} and {others[1].days} days" in signing_in()


def test_the_guide_says_how_many_sessions_there_may_be() -> None:
    """7.1.2."""
    assert "signed in on as many devices as they like" in signing_in()
