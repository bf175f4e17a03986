"""A group's page in a browser without a script, and what its tests share."""

import uuid
from html import unescape
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from lessons.log import open_focus
from lessons.models import Fault, Focus, Lesson
from tests.conftest import Cast
from tests.make import academy_today, make_lesson, this_time

APART, SQUEEZE = "putting-grip-apart", "putting-grip-squeeze"
GATE, CLOCK = "putting-ball-gate", "putting-clock"
GIVEN = {"fault": APART, "feel": "One hand", "drill": GATE, "amount": "8", "per_week": "4", "days": "14"}


class Group:
    """A group's page in a browser without a script."""

    def __init__(self, client: Client, students: list[Student], key: uuid.UUID | None = None) -> None:
        self.client, self.students = client, students
        self.key = key or uuid.uuid4()
        self.address = reverse("group", args=[self.key])

    def begin(self, **typed: Any) -> Any:
        told = {
            "name": "Saturday juniors",
            "day": academy_today().isoformat(),
            "place": "The big green",
            "areas": ["putting"],
            "students": [str(student.key) for student in self.students],
            "begin": "1",
        }
        return self.client.post(self.address, {**told, **typed})

    def block(self) -> str:
        return f"focus-{uuid.uuid5(self.key, 'all')}"

    def send(
        self,
        absent: tuple[Student, ...] = (),
        given: dict[str, Any] | None = None,
        members: dict[Student, dict[str, str]] | None = None,
        **typed: Any,
    ) -> Any:
        block = {f"{self.block()}-{name}": value for name, value in (given or {}).items()}
        keys = [str(self.lesson(student).key) for student in absent]
        for student, chosen in (members or {}).items():
            block |= {self.field(student, name): value for name, value in chosen.items()}
        return self.client.post(self.address, {"areas": ["putting"], "absent": keys, **block, **typed})

    def field(self, student: Student, name: str) -> str:
        """The name of a field beside one student."""
        return f"{self.lesson(student).key}-{name}"

    def row(self, student: Student, page: Any = None) -> str:
        """What stands beside one student on the page."""
        words = text(page or self.client.get(self.address))
        begin = words.index(f'id="row-{self.lesson(student).key}"')
        ends = [words.find(end, begin + 1) for end in ('<div class="field member', "</section>")]
        return words[begin : min(end for end in ends if end > 0)]

    def lesson(self, student: Student) -> Lesson:
        return Lesson.objects.select_related("session").get(session__key=self.key, student=student)


def text(answer: Any) -> str:
    return unescape(answer.content.decode())


def own_focus(student: Student, cast: Cast, code: str, number: int = 1) -> Focus:
    """A focus that a student took on in an earlier lesson of their own."""
    lesson = make_lesson(student, cast.coach, status="complete", completed_at=timezone.now())
    lesson.session.starts_at = this_time(days_ago=20 + number)
    lesson.session.save()
    fault = Fault.objects.get(code=code)
    values = {"fault": fault, "area": fault.skill.area, "reason": "They asked" if number == 3 else ""}
    return open_focus(lesson=lesson, key=uuid.uuid4(), values=values)
