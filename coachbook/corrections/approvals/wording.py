"""What waits, in words: what is asked, what it comes to, and what became of it."""

from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format

from coachbook.accounts.models import Academy, Student
from coachbook.corrections.approvals.asking import Kind
from coachbook.corrections.approvals.needs import age_after_merge, merge_reasons, with_age
from coachbook.corrections.models import ApprovalRequest

CONSENTS_STAY = "No consent moves to {name}: each must be given anew."


@dataclass(frozen=True)
class Wording:
    """One request: of what kind and about whom, what is asked, and what follows from it."""

    title: str
    asked: str
    effects: list[str]


def title_of(request: ApprovalRequest) -> str:
    """The kind of change, and about whom."""
    about = request.student or request.person
    label = f"{request.get_kind_display()}".capitalize()
    return f"{label}: {about}"


def describe(request: ApprovalRequest, academy: Academy, on: date) -> Wording:
    """A request in words, saved or not."""
    writers = {Kind.AGE: age_words, Kind.MERGE: merge_words, Kind.ACCESS: access_words, Kind.UNDO: undo_words}
    asked, effects = writers[Kind(request.kind)](request, academy, on)
    return Wording(title_of(request), asked, effects)


def age_of(student: Student) -> str:
    """What is known of a student's age."""
    if student.birth_year:
        return f"born in {student.birth_year}"
    return f"{student.age_group} (no year of birth)" if student.age_group else "age not known"


def who_decides(student: Student, academy: Academy, on: date) -> str:
    """Who decides for a student of this age."""
    if student.is_junior(on, academy.adult_at):
        return (
            f"Guardians then decide for {student}. While there is none, nobody can give consent and no message "
            "can be sent."
        )
    return f"{student} then decides alone, and guardians no longer see the record."


def age_words(request: ApprovalRequest, academy: Academy, on: date) -> tuple[str, list[str]]:
    """The age before and after, and who then decides, and until when."""
    assert request.student
    before = with_age(request.student, request.facts.get(str(request.student.pk), {}))
    after = with_age(request.student, request.values)
    effect = who_decides(after, academy, on)
    if before.is_junior(on, academy.adult_at) and after.is_junior(on, academy.adult_at):
        effect = f"Guardians then decide for {after} only until {after.last_year_as_junior(academy.adult_at)} is over."
    return f"Recorded now: {age_of(before)}. Asked: {age_of(after)}.", [effect]


def merge_words(request: ApprovalRequest, academy: Academy, on: date) -> tuple[str, list[str]]:
    """Which two, in what they differ, and that consents stay."""
    duplicate, into = request.other_student, request.student
    assert duplicate and into
    effects = [CONSENTS_STAY.format(name=into)]
    if request.is_waiting:
        differences = ", ".join(merge_reasons(duplicate, into, academy, on))
        effects = [
            *([f"The two differ in: {differences}."] if differences else []),
            who_decides(age_after_merge(duplicate, into), academy, on),
            *effects,
        ]
    return f"Merge the duplicate {duplicate} into {into}: both records become one.", effects


def access_words(request: ApprovalRequest, academy: Academy, on: date) -> tuple[str, list[str]]:
    """Whose account, and under which name it is used then."""
    person = request.person
    assert person
    before = request.facts or {"email": person.email, "username": person.username}
    name = request.values.get("email") or request.values.get("username")
    effects = [f"Whoever has the link can sign in as {person}, and chooses a new password."]
    if name and name != (before["email"] or before["username"]):
        effects.insert(0, f"{person} then signs in as {name}, no longer as {before['email'] or before['username']}.")
    return f"A new link to sign in, for {person}.", effects


def undo_words(request: ApprovalRequest, academy: Academy, on: date) -> tuple[str, list[str]]:
    """What is undone, and when it was made."""
    correction = request.correction
    assert correction
    day = date_format(academy.today(correction.at), "j F Y")
    return f"Undo this correction of {day}: {correction.summary}.", ["Everything it changed is then as it was before."]


def outcome_words(request: ApprovalRequest) -> str:
    """What became of a request, or an empty text while it waits."""
    if request.is_waiting:
        return ""
    by = f" by {request.decided_by}" if request.decided_by else ""
    return {
        "approved": f"Approved{by}. The change is made.",
        "refused": f"Refused{by}. Nothing was changed.",
        "withdrawn": f"Withdrawn{by}. Nothing was changed.",
        "elapsed": "Nobody refused, so the change took effect by itself.",
        "stale": "Not made: what is stored was changed since it was asked. Ask again if it is still right.",
    }[request.outcome]
