"""The addresses of corrections."""

from django.utils import timezone

from coachbook.corrections.edits import edits_of
from coachbook.corrections.models import ApprovalNotice, ApprovalRequest, Correction
from lessons.edits import edit_of
from tests.conftest import Cast
from tests.security.row import Row, own_lesson, own_student, some_user


def some_correction(cast: Cast) -> Correction:
    """A correction of the student that is not undone yet and changes nothing; a new one after each undoing."""
    values = {"kind": "opened", "student": cast.student, "by": cast.coach.user, "summary": "A focus was opened again"}
    return Correction.objects.filter(undone_at=None).first() or Correction.objects.create(at=timezone.now(), **values)


def own_correction(cast: Cast) -> list[object]:
    return [cast.student.key, some_correction(cast).key]


def closed_focus(cast: Cast) -> list[object]:
    """A focus that the student's lesson opened and closed again."""
    _, lesson_key = own_lesson(cast)
    lesson = cast.student.lessons.get(key=lesson_key)
    focus = cast.student.focuses.exclude(fault=None).get()
    if focus.closed_in is None:
        focus.closed_in = lesson
        focus.save()
    return [cast.student.key, focus.key]


def own_words(cast: Cast) -> list[object]:
    """A change of the words of the student's lesson, made once."""
    lesson = cast.student.lessons.get(key=own_lesson(cast)[1])
    if not (found := lesson.history.filter(keep="after").first()):
        for words in ("before", "after"):
            lesson.keep = words
            lesson.save()
        found = lesson.history.first()
    return [cast.student.key, "lesson", found.history_id]


def own_edit(cast: Cast) -> list[object]:
    """An edit of the student's finished lesson; a new one once it was undone."""
    lesson = cast.student.lessons.get(key=own_lesson(cast)[1])
    if all(edit.is_undone or edit.undoes for edit in edits_of(lesson)):
        with edit_of(lesson, None):
            lesson.keep = f"{lesson.keep}, edited"
            lesson.save()
    edit = next(edit for edit in edits_of(lesson) if not (edit.is_undone or edit.undoes))
    return [cast.student.key, lesson.key, edit.key]


def some_approval(cast: Cast) -> list[object]:
    """A link that the covering coach asked for; the main coach and the owner are notified; a new one once decided."""
    waiting = ApprovalRequest.objects.filter(outcome="").first()
    if waiting is None:
        about = {"kind": "access", "person": cast.other_coach.user, "asked_by": cast.cover.user}
        waiting = ApprovalRequest.objects.create(asked_at=timezone.now(), **about)
        for person in (cast.coach.user, cast.other_coach.user):
            ApprovalNotice.objects.create(request=waiting, person=person)
    return [waiting.key]


def link_to_make(cast: Cast) -> list[object]:
    """A link that nobody refused, and that the main coach asked for."""
    about = {"kind": "access", "person": cast.other_coach.user, "asked_by": cast.coach.user, "outcome": "elapsed"}
    now = timezone.now()
    return [ApprovalRequest.objects.create(asked_at=now, decided_at=now, **about).key]


def access_correction(cast: Cast) -> list[object]:
    """A changed name of a person who is not taught."""
    about = {"kind": "access", "person": cast.guardian, "by": cast.coach.user, "at": timezone.now()}
    changes = [{"model": "accounts.User", "pk": cast.guardian.pk, "field": "email", "before": "", "after": ""}]
    return [Correction.objects.create(summary="The name to sign in was changed", changes=changes, **about).key]


ROWS: list[Row] = [
    Row("earlier_words", "READ_NOTES", args=own_words, about="student"),
    Row("words_restore", "CORRECT", "POST", args=own_words),
    Row("lesson_edit_undo", "CORRECT", "POST", args=own_edit),
    Row("age_ask", "EDIT_STUDENT", "POST", args=own_student),
    Row("student_access_ask", "EDIT_STUDENT", "POST", args=own_student),
    Row("person_access_ask", "MANAGE_ACADEMY", "POST", args=some_user),
    Row("approvals", "MANAGE_ACADEMY"),
    Row("approval", "SEE_APPROVAL", args=some_approval),
    Row("approval_decide", "SEE_APPROVAL", "POST", args=some_approval),
    Row("approval_seen", "SEE_APPROVAL", "POST", args=some_approval),
    Row("approval_link", "MAKE_LINK", "POST", args=link_to_make),
    Row("access_undo", "MANAGE_ACADEMY", "POST", args=access_correction),
    Row("lesson_move", "CORRECT", "GET POST", args=own_lesson),
    Row("student_merge", "EDIT_STUDENT", "GET POST", args=own_student),
    Row("focus_reopen", "LOG_LESSONS", "POST", args=closed_focus),
    Row("changes", "READ_NOTES", args=own_student, about="student"),
    Row("correction_undo", "CORRECT", "POST", args=own_correction),
    Row("corrections", "MANAGE_ACADEMY"),
    Row("correction_seen", "MANAGE_ACADEMY", "POST", args=lambda cast: [some_correction(cast).key]),
]
