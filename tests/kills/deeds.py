"""What people write, a deed at a time: the posts at an address of its own, and what must be stored after each."""

import itertools
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from coachbook.accounts.models import Student
from coachbook.family.models import Message
from drills.models import Ball, PracticeEntry, ScoredTest
from lessons.models import Lesson, Session
from tests.kills.academy import IN_A_GROUP, STUDENTS, Academy
from tests.make import academy_today

BALLS = 5
Stored = list[Any]


@dataclass(frozen=True)
class Post:
    """One post, and what is stored of its deed afterwards."""

    address: str
    typed: dict[str, Any]
    stored: Stored


@dataclass
class Deed:
    """So many posts of one person, one after the other; `said` of them were answered with yes."""

    kind: str
    posts: list[Post]
    read: Callable[[], Stored]
    said: int = 0
    is_waiting: bool = False  # whether the next one was sent and not answered

    @property
    def is_over(self) -> bool:
        """Whether every post was answered."""
        return self.said == len(self.posts)

    @property
    def next(self) -> Post:
        """The post to send now, be it for the first time or again."""
        return self.posts[self.said]

    def states(self) -> list[Stored]:
        """What may be stored now: what was answered, or that and the post that was not, whole."""
        states: list[Stored] = [[], *(post.stored for post in self.posts)]
        return states[self.said : self.said + 1 + self.is_waiting]

    def problem(self) -> str:
        """What is wrong with what is stored; empty where nothing is."""
        found, states = self.read(), self.states()
        if found in states:
            return ""
        earlier = found in [[], *(post.stored for post in self.posts[: self.said])]
        how = "lost" if earlier else "not what was sent"
        return f"{how}: {self.kind} at {self.posts[0].address} holds {found}, not {' or '.join(map(str, states))}"

    def is_stored_unsaid(self) -> bool:
        """Whether the post that nobody answered is stored."""
        return self.is_waiting and self.read() == self.next.stored


def deeds_of(academy: Academy) -> dict[str, Iterator[Deed]]:
    """For each person, by name, an endless row of deeds."""
    makers = {
        academy.log: lambda number: log(academy.students[number % len(academy.students)], number),
        academy.group: lambda number: group(academy.members, number),
        academy.scores: lambda number: scored_test(academy.player, academy.design.pk),
        academy.practice: lambda number: practice(academy.prescription, number),
        academy.message: lambda number: message(academy.player, number),
    }
    return {name: map(make, itertools.count()) for name, make in makers.items()}


def log(student: Student, number: int) -> Deed:
    """A log that saves itself as it is typed, and is finished; the first of a student opens a focus."""
    key, focus = uuid.uuid4(), uuid.uuid4()
    typed = {"putting": "on", "day": academy_today().isoformat(), "page": str(uuid.uuid4()), "keep": f"Calm {number}"}
    more = {**typed, "keep": f"Calm rhythm {number}", "a.grip.good": "on"}
    opens = int(number < STUDENTS)
    if opens:
        more |= {"focus": str(focus), f"focus-{focus}-fault": "apart", f"focus-{focus}-feel": "One hand"}
    address = reverse("lesson", args=[student.key, key])
    posts = [
        Post(address, {**typed, "count": 1}, [("draft", typed["keep"], 0, 0, 0)]),
        Post(address, {**more, "count": 2}, [("draft", more["keep"], 1, opens, 0)]),
        Post(address, {**more, "count": 3, "done": "1"}, [("complete", more["keep"], 1, opens, 1)]),
    ]
    return Deed("log", posts, lambda: [log_row(lesson) for lesson in Lesson.objects.filter(key=key)])


def log_row(lesson: Lesson) -> tuple[Any, ...]:
    seen = sum(look.observations.count() for look in lesson.looks.all())
    return lesson.status, lesson.keep, seen, lesson.focuses_opened.count(), lesson.sheets.count()


def group(members: list[Student], number: int) -> Deed:
    """A group: begun, the same for everyone, finished with a sheet each."""
    key = uuid.uuid4()
    address, keep = reverse("group", args=[key]), f"Good rhythm {number}"
    begin = {"day": academy_today().isoformat(), "areas": "putting", "students": [str(s.key) for s in members]}
    same = {"areas": "putting", "keep": keep}
    everyone = len(members)
    posts = [
        Post(address, {**begin, "name": f"Saturday {number}", "begin": "1"}, [("draft", "", 0)] * everyone),
        Post(address, same, [("draft", keep, 0)] * everyone),
        Post(address, {**same, "done": "1"}, [("complete", keep, 1)] * everyone),
    ]

    def read() -> Stored:
        lessons = Lesson.objects.filter(session__key=key).order_by("pk")
        return [(lesson.status, lesson.keep, lesson.sheets.count()) for lesson in lessons]

    return Deed("group", posts, read)


def scored_test(player: Student, design: int) -> Deed:
    """A test, ball by ball, to its end."""
    key = uuid.uuid4()
    words = [("holed", "short", "past")[number % 3] for number in range(BALLS)]
    seen = [("holed", "") if word == "holed" else ("missed", word) for word in words]
    set_up = {"design": design, "unit": "m", "width_unit": "cm", "step": "step", "moment": "home"}
    posts = [Post(reverse("scored_test", args=[player.key, key]), set_up, [(False, [])])]
    balls, done = reverse("test_ball", args=[player.key, key]), reverse("test_done", args=[player.key, key])
    for number, word in enumerate(words, start=1):
        posts.append(Post(balls, {"number": number, "what": word}, [(False, seen[:number])]))
    posts.append(Post(done, {}, [(True, seen)]))

    def read() -> Stored:
        tests = ScoredTest.objects.filter(key=key)
        return [(bool(t.done_at), list(t.balls.order_by("number").values_list("result", "length"))) for t in tests]

    return Deed("ball by ball", posts, read)


def practice(prescription: Any, number: int) -> Deed:
    """One report of practice."""
    key, amount, note = uuid.uuid4(), 1 + number % 20, f"Windy {number}"
    address = reverse("practice_report", args=[prescription.student.key, prescription.key, key])
    entries = PracticeEntry.objects.filter(key=key)
    return Deed(
        "practice",
        [Post(address, {"amount": amount, "note": note, "another": "on"}, [(amount, note)])],
        lambda: list(entries.all().values_list("amount", "note")),
    )


def message(student: Student, number: int) -> Deed:
    """One message in a student's thread."""
    key, text = uuid.uuid4(), f"See you on the green, {number}."
    messages = Message.objects.filter(key=key)
    return Deed(
        "message",
        [Post(reverse("message_write", args=[student.key, key]), {"text": text}, [text])],
        lambda: list(messages.all().values_list("text", flat=True)),
    )


def rows_of_all() -> dict[str, int]:
    """How many rows there are of all that these deeds write, wherever they lie."""
    from coachbook.loop.models import Sheet

    models: tuple[Any, ...] = (Session, Lesson, Sheet, ScoredTest, Ball, PracticeEntry, Message)
    return {model.__name__: model._default_manager.count() for model in models}


def rows_for(deeds: list[Deed]) -> dict[str, int]:
    """How many of them so many finished deeds make."""
    logs, groups, tests, reports, messages = (
        sum(deed.kind == kind for deed in deeds) for kind in ("log", "group", "ball by ball", "practice", "message")
    )
    lessons = logs + groups * IN_A_GROUP
    return {
        "Session": logs + groups,
        "Lesson": lessons,
        "Sheet": lessons,
        "ScoredTest": tests,
        "Ball": tests * BALLS,
        "PracticeEntry": reports,
        "Message": messages,
    }
