"""What somebody writes in a schedule: the forms that their phone keeps, and what must be stored of them in the end."""

import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any

from django.urls import reverse

from tests.schedules.academy import Academy, Writer

Fields = list[list[str]]
BY_HAND = "by hand"


@dataclass
class Form:
    """One form: what `outbox.put` is given, and the key of its entry once that is kept."""

    address: str
    fields: Fields
    root: str
    page: str = ""
    key: str = ""

    def as_put(self) -> dict[str, Any]:
        return {
            "address": self.address,
            "fields": self.fields,
            "root": self.root,
            "page": self.page,
            "kind": "schedule",
            "words": "Of a schedule",
        }


@dataclass
class Deed:
    """Forms that belong together, in their order, and how what is stored of them is read."""

    kind: str
    forms: list[Form]
    expected: Callable[[int], list[Any]]  # what is stored once so many forms took effect
    read: Callable[[], list[Any]]
    kept: list[Form] = field(default_factory=list)  # on the phone, or known to have been

    @property
    def next(self) -> Form | None:
        return self.forms[len(self.kept)] if len(self.kept) < len(self.forms) else None

    def sent(self) -> list[Form]:
        """The forms that nothing replaced: of those of one page only the last."""
        return [form for at, form in enumerate(self.kept) if not is_replaced(form, self.kept[at + 1 :])]

    def problem(self) -> str:
        """What is wrong with what is stored, once nothing waits any more; empty where nothing is."""
        found, expected = self.read(), self.expected(len(self.kept))
        return "" if found == expected else f"{self.kind}: {found} is stored, not {expected}"


def is_replaced(form: Form, later: list[Form]) -> bool:
    return any(form.page and (form.page, form.address) == (other.page, other.address) for other in later)


def make_deed(academy: Academy, writer: Writer, random: Random) -> Deed:
    """Something to write, of a kind that this person writes."""
    if writer.prescription:
        return random.choice([practice, practice, lambda w, r: balls(academy, w, r)])(writer, random)
    return random.choice([log, typed, two_pages, walk_in, lambda w, r: balls(academy, w, r)])(writer, random)


def practice(writer: Writer, random: Random) -> Deed:
    """One report of practice; sometimes tapped twice."""
    from drills.models import PracticeEntry

    key, amount, note = uuid.uuid4(), random.randint(1, 60), f"Windy {random.randint(1, 99)}"
    address = reverse("practice_report", args=[writer.student.key, writer.prescription.key, key])
    fields = [["amount", str(amount)], ["note", note], ["another", "on"]]
    forms = [Form(address, fields, address, page=address) for _ in range(random.choice([1, 1, 2]))]
    entries = PracticeEntry.objects.filter(key=key)
    return Deed(
        "practice",
        forms,
        lambda done: [(amount, note)] if done else [],
        lambda: list(entries.all().values_list("amount", "note")),
    )


def balls(academy: Academy, writer: Writer, random: Random) -> Deed:
    """A test with one ball undone, to its end."""
    from drills.models import ScoredTest

    key = uuid.uuid4()
    root, args = reverse("scored_test", args=[writer.student.key, key]), [writer.student.key, key]
    set_up = {"design": academy.design.pk, "unit": "m", "width_unit": "cm", "step": "step", "moment": "home"}
    forms, states, noted = [Form(root, pairs(set_up), root, page=root)], [[(False, [])]], []
    for number, what in enumerate(random.choices(["holed", "short", "past"], k=3), 1):
        forms.append(Form(reverse("test_ball", args=args), pairs({"number": number, "what": what}), root))
        noted = [*noted, ("holed", "") if what == "holed" else ("missed", what)]
        states.append([(False, noted)])
        if number == 2:
            forms.append(Form(reverse("test_undo", args=args), pairs({"number": 2}), root))
            noted = noted[:-1]
            states.append([(False, noted)])
            forms.append(Form(reverse("test_ball", args=args), pairs({"number": 2, "what": "short"}), root))
            noted = [*noted, ("missed", "short")]
            states.append([(False, noted)])
    forms.append(Form(reverse("test_done", args=args), [], root))
    states.append([(True, noted)])

    def read() -> list[Any]:
        tests = ScoredTest.objects.filter(key=key)
        return [(bool(t.done_at), list(t.balls.order_by("number").values_list("result", "length"))) for t in tests]

    return Deed("ball by ball", forms, lambda done: states[done - 1] if done else [], read)


def log(writer: Writer, random: Random) -> Deed:
    """A log that is kept again and again while it is typed, and perhaps finished."""
    return typed_log("log", str(writer.student.key), [], random)


def typed(writer: Writer, random: Random) -> Deed:
    """A log that is typed on its own page, which keeps it and saves itself; then the page is left."""
    from lessons.models import Lesson

    key, words = uuid.uuid4(), f"Soft {random.randint(1, 10**9)}"
    address = reverse("lesson", args=[writer.student.key, key])
    lessons = Lesson.objects.filter(key=key).values_list("status", "keep")
    forms = [Form(address, pairs({"keep": words}), address)]
    return Deed(BY_HAND, forms, lambda done: [("draft", words)] if done else [], lambda: list(lessons.all()))


def two_pages(writer: Writer, random: Random) -> Deed:
    """A log from two pages of one lesson, of which the later one is saved knowingly in place of the earlier one."""
    deed = typed_log("two pages", str(writer.student.key), [], random)
    last, expected, page = deed.forms[-1], deed.expected, str(uuid.uuid4())
    [(status, _, looks)] = expected(len(deed.forms))
    typed = {name: value for name, value in last.fields if name != "done"}
    typed |= {"page": page, "count": "2", "keep": f"Quiet {random.randint(1, 10**9)}", "over": "1"}
    deed.forms.append(Form(last.address, pairs(typed), last.root, page))
    whole = [(status, typed["keep"], looks)]
    deed.expected = lambda done: whole if done == len(deed.forms) else expected(done)
    return deed


def walk_in(writer: Writer, random: Random) -> Deed:
    """A new student, and their log."""
    from coachbook.accounts.models import Student

    key, name = uuid.uuid4(), f"Walk In {random.randint(1, 10**9)}"
    root = reverse("student", args=[key])
    first = Form(reverse("walk_in", args=[key]), pairs({"name": name, "age_group": "adult", "plays": "right"}), root)
    deed = typed_log("walk-in", str(key), [first], random)
    lessons, states = deed.read, deed.expected
    deed.read = lambda: [Student.objects.filter(key=key, name=name).count(), *lessons()]
    deed.expected = lambda done: [min(done, 1), *states(done)]
    return deed


def typed_log(kind: str, student: str, first: list[Form], random: Random) -> Deed:
    from lessons.models import Lesson
    from tests.make import academy_today

    key, page = uuid.uuid4(), str(uuid.uuid4())
    address = reverse("lesson", args=[student, key])
    words = [f"Calm {random.randint(1, 10**9)}" for _ in range(random.randint(1, 3))]
    common = {"putting": "on", "day": academy_today().isoformat(), "page": page, "base": 0, "a.grip.good": "on"}
    forms = [
        Form(address, pairs({**common, "keep": keep, "count": at}), address, page) for at, keep in enumerate(words, 2)
    ]
    if random.random() < 0.5:
        done = {**common, "keep": words[-1], "count": len(words) + 2, "done": 1}
        forms.append(Form(address, pairs(done), address, page))
    states: list[list[Any]] = [[] for _ in first]
    states += [[("complete" if ["done", "1"] in form.fields else "draft", value(form, "keep"), 1)] for form in forms]

    def read() -> list[Any]:
        lessons = Lesson.objects.filter(key=key)
        return [(row.status, row.keep, sum(look.observations.count() for look in row.looks.all())) for row in lessons]

    return Deed(kind, [*first, *forms], lambda done: states[done - 1] if done else [], read)


def pairs(typed: dict[str, Any]) -> Fields:
    return [[name, str(value)] for name, value in typed.items()]


def value(form: Form, name: str) -> str:
    return next(value for key, value in form.fields if key == name)
