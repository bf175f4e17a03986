"""Which rows are erased with a student: every table that is about one, and the columns that say so."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db.models import Model

from coachbook.accounts.models import Student, User

# In an order in which each table comes behind those that its columns point to.
OWNED: dict[str, tuple[str, ...]] = {
    "accounts.Student": ("merged_into",),
    "accounts.Guardianship": ("student",),
    "accounts.Consent": ("student",),
    "accounts.Care": ("student",),
    "accounts.Pause": ("student",),
    "accounts.RecordView": ("student",),
    "accounts.Invitation": ("user",),
    "accounts.SignInChange": ("user",),
    "accounts.NewAddress": ("user",),
    "accounts.User_groups": ("user",),
    "accounts.User_user_permissions": ("user",),
    "account.EmailAddress": ("user",),
    "account.EmailConfirmation": ("email_address",),
    "mfa.Authenticator": ("user",),
    "usersessions.UserSession": ("user",),
    "outbox.Receipt": ("person",),
    "digests.DigestConsent": ("person",),
    "digests.Digest": ("person",),
    "lessons.Lesson": ("student",),
    "lessons.Look": ("lesson",),
    "lessons.Still": ("lesson",),
    "lessons.StillMeasure": ("still",),
    "lessons.Alignment": ("arrival", "departure"),
    "lessons.Observation": ("look",),
    "lessons.SeenFault": ("observation",),
    "lessons.Focus": ("student",),
    "lessons.FocusView": ("focus",),
    "lessons.SeenFocus": ("look", "focus"),
    "lessons.Outcome": ("student",),
    "drills.Prescription": ("student",),
    "drills.PracticeEntry": ("prescription",),
    "drills.PracticeDays": ("student",),
    "drills.ScoredTest": ("student",),
    "drills.Ball": ("test",),
    "drills.Round": ("student",),
    "diary.Appointment": (),  # those of this student alone: see collect.py
    "diary.Appointment_students": ("student", "appointment"),
    "diary.Absence": ("student",),
    "diary.FamilyFeed": ("person",),
    "diary.Rearrangement": ("student", "person", "pause"),
    "family.Message": ("student",),
    "family.ThreadReading": ("student", "reader"),
    "loop.Sheet": ("lesson",),
    "groups.GroupMember": ("lesson",),
    "groups.GroupDefaults": (),  # those of a session without another student: see collect.py
    "amends.Correction": ("student", "other_student", "person", "lesson"),
    "amends.ApprovalRequest": ("student", "other_student", "person", "correction", "result"),
    "amends.ApprovalNotice": ("request", "person"),
    "caseload.Snooze": ("student",),
    "rights.ErasureRequest": ("student",),
}


def owned_models() -> Iterator[tuple[type[Model], tuple[str, ...]]]:
    """Each table with its columns."""
    for label, columns in OWNED.items():
        yield model_of(label), columns


def model_of(label: str) -> type[Model]:
    """The table of this name; those between two others have no class of their own in a module."""
    if label == "diary.Appointment_students":
        return through(apps.get_model("diary.Appointment"), "students")
    if label.startswith("accounts.User_"):
        return through(User, label.removeprefix("accounts.User_"))
    return apps.get_model(label)


def through(model: Any, name: str) -> type[Model]:
    """The table between two others."""
    between: type[Model] = model._meta.get_field(name).remote_field.through
    return between


def history_of(model: type[Model]) -> Any:
    """The table with the history of another, or None."""
    manager = getattr(model, getattr(model._meta, "simple_history_manager_attribute", ""), None)
    return manager.model if manager else None


def students_merged_into(student: Student) -> list[Student]:
    """The student with every duplicate of theirs."""
    return [student, *Student.objects.filter(merged_into=student)]
