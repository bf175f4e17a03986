"""The rows of a group's page: one for each student, with attendance and where that student differs."""

import uuid
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.core.exceptions import ValidationError
from django.http import QueryDict

from coachbook.accounts import gate
from coachbook.groups.forms import MemberForm, distinct_names
from coachbook.groups.models import GroupMember
from coachbook.groups.shared_focus import Choices, focus_key, own_drills
from coachbook.loop.models import Sheet
from drills.models import Prescription
from drills.practice.doses import dose_until
from lessons.models import Focus, Lesson, Session

MOST_BESIDE = 2  # focuses a student may have before one more needs a reason
OR_SKIP = "Or skip the focus for this one."


@dataclass
class Row:
    """One student of a group; of one who is not reachable nothing is shown, not even the name."""

    lesson: Lesson
    name: str
    is_reachable: bool
    is_absent: bool
    sheets: list[Sheet]
    form: MemberForm
    own: list[str]
    asks_drill: bool
    asks_reason: bool
    error: str = ""

    @property
    def anchor(self) -> str:
        """The id of its row on the page."""
        return f"row-{self.lesson.key}"

    @property
    def choices(self) -> Choices:
        """What was chosen for this student."""
        return Choices(**self.form.cleaned_data) if self.form.is_valid() else Choices()

    def refuse(self, refusal: ValidationError) -> tuple[str, str]:
        """Show why something could not be saved for this student; returns the problem as (id on the page, message)."""
        by_field, message = getattr(refusal, "error_dict", {}), " ".join(refusal.messages)
        if "reason" in by_field:
            self.asks_reason = True
            self.form.add_error("reason", message)
            return self.form["reason"].id_for_label, f"{self.name}: {message}"
        self.error = f"{message} {OR_SKIP}" if "fault" in by_field else message
        return self.anchor, f"{self.name}: {self.error}"


def load_rows(
    session: Session, lessons: list[Lesson], reachable: Collection[int], data: QueryDict | None, day: date
) -> list[Row]:
    """A row for each student, as stored or as typed; those who are not reachable come last."""
    names = distinct_names(lesson.student for lesson in lessons if lesson.student_id in reachable)
    typed = None if data is None else set(data.getlist("absent"))
    focuses, own = open_focuses(names), own_drills(session, day)
    rows = []
    for lesson in sorted(lessons, key=lambda lesson: lesson.student_id not in names):
        is_reachable = lesson.student_id in names
        initial = stored_choices(lesson, getattr(lesson, "group_member", None), focuses[lesson.student_id])
        theirs = own.get(lesson.student_id, []) if is_reachable else []
        row = Row(
            lesson=lesson,
            name=names.get(lesson.student_id, gate.UNNAMED),
            is_reachable=is_reachable,
            is_absent=lesson.attendance == Lesson.Attendance.ABSENT if typed is None else str(lesson.key) in typed,
            sheets=list(lesson.sheets.all()) if is_reachable else [],
            form=MemberForm(data, lesson=lesson, initial=initial),
            own=[drill_in_words(drill) for drill in theirs],
            asks_drill=bool(theirs) or bool(initial["adds_drill"]),
            asks_reason=is_third(lesson, focuses[lesson.student_id]),
        )
        rows.append(row)
    return rows


def open_focuses(students: Iterable[int]) -> dict[int, list[Focus]]:
    """The open focuses of each student."""
    found: dict[int, list[Focus]] = defaultdict(list)
    for focus in Focus.objects.filter(student__in=students, closed_in=None):
        found[focus.student_id].append(focus)
    return found


def group_focus(lesson: Lesson, focuses: Iterable[Focus]) -> Focus | None:
    """The focus of the group's own among the open focuses of a student."""
    key: uuid.UUID = focus_key(lesson)
    return next((focus for focus in focuses if focus.key == key), None)


def is_third(lesson: Lesson, focuses: list[Focus]) -> bool:
    """Whether the focus for everyone is, or would be, the third of a student."""
    mine = group_focus(lesson, focuses)
    return mine.slot > MOST_BESIDE if mine else len(focuses) == MOST_BESIDE


def stored_choices(lesson: Lesson, member: GroupMember | None, focuses: list[Focus]) -> dict[str, bool | str]:
    """What was chosen for one student as it is stored."""
    mine = group_focus(lesson, focuses)
    return {
        "skips_focus": member is not None and member.skips_focus,
        "adds_drill": member is not None and member.adds_drill,
        "reason": mine.reason if mine else "",
    }


def drill_in_words(row: Prescription) -> str:
    """A drill that a student has, with its dose."""
    return f"{row.drill}, {dose_until(row.amount, row.unit, row.per_week, row.last_day)}"
