"""Every address of the site with the keys of rows that are there, and what its forms would send."""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from random import Random
from typing import Any
from urllib.parse import quote, urlsplit

from django.test import Client
from django.urls import Resolver404, get_resolver, resolve, reverse

from coachbook.accounts.models import Care, Coach, Consent, Guardianship, Pause, Student, User
from coachbook.corrections.models import Correction
from coachbook.diary.models import Absence, Appointment
from coachbook.digests.unsubscribe import off_token
from coachbook.family.models import Message
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import share_token
from drills.models import Design, Drill, PracticeEntry, Prescription, Round, ScoredTest
from lessons.models import Checkpoint, Fault, Focus, Lesson, Session, Skill, Still, StillMeasure, View
from tests.fuzz.junk import Pairs, word
from tests.make import academy_today

# The keys that stand in an address behind a student's: the model, and the way from it to the student.
OF_A_STUDENT: dict[str, tuple[Any, str, str]] = {
    "lesson_key": (Lesson, "student", "key"),
    "edit_key": (Lesson, "student", "key"),  # of the page that edited it: any key is one
    "still_key": (Still, "lesson__student", "key"),
    "measure_key": (StillMeasure, "still__lesson__student", "key"),
    "sheet_key": (Sheet, "lesson__student", "key"),
    "focus_key": (Focus, "student", "key"),
    "pause_key": (Pause, "student", "key"),
    "appointment_key": (Appointment, "students", "key"),
    "absence_key": (Absence, "student", "key"),
    "prescription_key": (Prescription, "student", "key"),
    "entry_key": (PracticeEntry, "prescription__student", "key"),
    "test_key": (ScoredTest, "student", "key"),
    "round_key": (Round, "student", "key"),
    "message_key": (Message, "student", "key"),
    "correction_key": (Correction, "student", "key"),
    "guardian_key": (Guardianship, "student", "guardian__key"),
    "number": (Care, "student", "pk"),
}
WITHOUT_FORMS = (
    "sheet_pdf",
    "still_picture",
    "still_thumbnail",
    "group_pdf",
    "month",
    "month_pdf",
    "paper_log_pdf",
    "paper_log_blank_pdf",
    "test_results",
    "test_result",
    "progress_explore",
    "academy_progress",
)
QUERY = [
    "q",
    "day",
    "days",
    "coach",
    "page",
    "from",
    "answers",
    "kind",
    "months",
    "plan",
    "show",
    "sort",
    "side",
    "child",
    "next",
    "share",
]


class FormReader(HTMLParser):
    """The forms of a page: for each address the names of its fields with a value."""

    def __init__(self, page: str, at: str) -> None:
        super().__init__()
        self.forms: dict[str, Pairs] = defaultdict(list)
        self.at = self.action = at
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.action = found.get("action") or self.at
        elif tag in ("input", "select", "textarea", "button") and found.get("name"):
            self.forms[self.action].append((found["name"], found.get("value", "").encode()))


def names() -> dict[str, list[str]]:
    """Every address by its name, with the names of what stands in it."""
    by_name = get_resolver().reverse_dict
    return {name: list(by_name.getlist(name)[0][0][0][1]) for name in by_name if isinstance(name, str)}


@dataclass
class Places:
    """What is in the database, to make addresses of."""

    students: list[uuid.UUID]
    of_student: dict[str, dict[uuid.UUID, list[Any]]]
    alone: dict[str, list[Any]]
    forms: dict[str, Pairs] = field(default_factory=dict)

    @classmethod
    def read(cls) -> "Places":
        """Everything that has a key."""
        of_student: dict[str, dict[uuid.UUID, list[Any]]] = {}
        for name, (model, path, key) in OF_A_STUDENT.items():
            by_student = of_student[name] = defaultdict(list)
            for student, value in model._default_manager.values_list(f"{path}__key", key)[:2000]:
                by_student[student].append(value)
        sheets = Sheet.objects.valid().select_related("lesson__session")[:5]
        alone = {
            "session_key": list(Session.objects.values_list("key", flat=True)[:50]),
            "coach": list(Coach.objects.values_list("user__key", flat=True)),
            "person": list(User.objects.values_list("key", flat=True)[:50]),
            "purpose": [*Consent.Purpose.values, "no"],
            "code": [*Drill.objects.values_list("code", flat=True)[:9], *Design.objects.values_list("code", flat=True)],
            "token": [*map(share_token, sheets), *map(off_token, User.objects.order_by("pk")[:3]), "x"],
            "correction_key": list(Correction.objects.values_list("key", flat=True)),
            "number": list(Fault.objects.values_list("pk", flat=True)[:50]),
            "checkpoint_key": list(Checkpoint.objects.values_list("key", flat=True)),
            "view": [*View.values, "no"],
            "month": ["2026-06", "2026-13", "0001-01"],
            "year": [academy_today().year, 0, 10_000],
            "month_of_year": [academy_today().month, 0, 13],
            "kind": ["lesson", "focus", "observation", "no"],
            "catalogue_kind": ["skill", "fault"],
            "catalogue_code": [
                *Skill.objects.values_list("code", flat=True)[:5],
                *Fault.objects.values_list("code", flat=True)[:5],
            ],
            "pk": [1, 2**40],
            "looks": ["ad", "a", "no"],
            "digest": ["0", "x"],
            "uidb36": ["1", "zz"],
            "key": ["1-abc", "x"],
        }
        return cls(list(Student.objects.values_list("key", flat=True)), of_student, alone)

    def args(self, name: str, parts: Iterable[str], random: Random) -> list[Any]:
        """The keys for an address, most of them of rows that belong together."""
        student = random.choice(self.students)
        return [self.arg(name, part, student, random) for part in parts]

    def arg(self, name: str, part: str, student: uuid.UUID, random: Random) -> Any:
        if part == "key" and not name.startswith(("person_", "account_")):
            return uuid.uuid4() if random.random() < 0.05 else student
        theirs = self.of_student.get(part, {}).get(student, [])
        place = "person" if part == "key" and name.startswith("person_") else part
        if name.startswith(("skill", "fault", "row_")) and part in ("kind", "code"):
            place = f"catalogue_{part}"
        found = theirs if theirs and random.random() < 0.8 else self.alone.get(place, [])
        if found and (random.random() < 0.9 or place == "catalogue_kind"):
            return random.choice(found)
        return (
            random.choice((0, 1, 2**40))
            if part in ("number", "pk", "year", "month_of_year")
            else uuid.UUID(int=random.getrandbits(128))
        )

    def address(self, name: str, parts: Iterable[str], random: Random) -> str:
        """An address of this name, and sometimes a query with junk in it."""
        path = reverse(name, args=self.args(name, parts, random))
        if random.random() < 0.6:
            return path
        query = [(random.choice(QUERY), word(random)[:9000]) for _ in range(random.choice((1, 1, 2)))]
        return f"{path}?" + "&".join(f"{quote(key)}={quote(value)}" for key, value in query)

    def read_forms(self, clients: Iterable[Client], random: Random) -> None:
        """Read the forms of every page, as the first of these people meets it, by the name of where they are sent."""
        for name, parts in names().items():
            for client in clients if name not in WITHOUT_FORMS else ():
                path = reverse(name, args=self.args(name, parts, random))
                answer = client.get(path)
                if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
                    for action, pairs in FormReader(answer.content.decode(), path).forms.items():
                        self.forms.setdefault(name_at(action), pairs[:400])
                    break


def name_at(address: str) -> str:
    """The name of an address, or an empty text."""
    try:
        return resolve(urlsplit(address).path).url_name or ""
    except Resolver404:
        return ""


def unknown_parts() -> Iterator[str]:
    """The parts of addresses for which there are no keys here."""
    known = {
        *OF_A_STUDENT,
        "session_key",
        "coach",
        "purpose",
        "code",
        "token",
        "key",
        "uidb36",
        "kind",
        "checkpoint_key",
        "view",
        "month",
        "year",
        "pk",
        "looks",
        "digest",
        "month_of_year",
    }
    for name, parts in names().items():
        yield from (f"{name}: {part}" for part in parts if part not in known)
