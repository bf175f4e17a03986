"""Small factories: each makes one row that is good enough, and takes what a test cares about."""

import io
import itertools
import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from allauth.mfa.totp.internal.auth import TOTP
from django.utils import timezone
from PIL import Image

from coachbook.accounts.models import Academy, Care, Coach, Consent, Guardianship, Pause, Student, User
from drills.models import Ball, Design, Drill, Prescription, ScoredTest
from lessons.measuring import Kind, estimate
from lessons.models import Checkpoint, Fault, Focus, Lesson, Look, Session, Skill, Still, StillMeasure
from lessons.models.still_measures import frame_of
from lessons.stills.picture import clean_picture
from lessons.stills.rows import keep_still

TOTP_SECRET = "JBSWY3DPEHPK3PXP"
PASSWORD = "wet grass, slow green"
count = itertools.count(10_001)  # as many digits for all, so that names and codes sort as they were made


def make_academy(**values: Any) -> Academy:
    return Academy.objects.create(pk=1, **{"name": "Sedge Hollow", "time_zone": "Europe/Dublin", **values})


def academy_today() -> date:
    """Today at the academy."""
    return Academy.current().today(timezone.now())


def this_time(*, days_ago: int) -> datetime:
    """This time of day at the academy so many days ago, whatever became of its clocks since."""
    return timezone.now().astimezone(ZoneInfo(Academy.current().time_zone)) - timedelta(days=days_ago)


def make_user(name: str = "", **values: Any) -> User:
    name = name or f"Person {next(count)}"
    username = values.pop("username", name.lower().replace(" ", "."))
    return User.objects.create_user(username=username, name=name, password=PASSWORD, **values)


def make_factor(user: User, secret: str = TOTP_SECRET) -> str:
    """An app with codes as the second factor; returns its secret."""
    TOTP.activate(user, secret)
    return secret


def make_manager(user: User) -> None:
    """Let a person be a manager, too, who has a second factor."""
    User.objects.filter(pk=user.pk).update(is_manager=True)
    make_factor(user)


def make_coach(name: str = "", **values: Any) -> Coach:
    return Coach.objects.create(user=make_user(name, **values))


def make_student(name: str = "", *, coach: Coach | None = None, account: bool = True, **values: Any) -> Student:
    name = name or f"Student {next(count)}"
    student = Student.objects.create(name=name, user=make_user(name) if account else None, **values)
    if coach:
        make_care(coach, student)
    return student


def make_care(coach: Coach, student: Student, **values: Any) -> Care:
    return Care.objects.create(**{"coach": coach, "student": student, "since": date(2020, 1, 1), **values})


def make_consent(student: Student, by: User, purpose: str = "sharing") -> Consent:
    return Consent.objects.create(student=student, purpose=purpose, given_by=by, text_shown="The words shown.")


def make_pause(student: Student, since: date, until: date | None = None, reason: str = "injury") -> Pause:
    return Pause.objects.create(student=student, since=since, until=until, reason=reason)


def make_guardian(name: str, student: Student) -> User:
    guardian = make_user(name)
    Guardianship.objects.create(guardian=guardian, student=student)
    return guardian


def make_skill(code: str = "", **values: Any) -> Skill:
    words = {
        "area": "putting",
        "phase": "setup",
        "name": "Grip",
        "look": "The hands.",
        "goal": "They touch.",
    }
    return Skill.objects.create(code=code or f"skill-{next(count)}", **{**words, **values})


def make_fault(skill: Skill, code: str = "", **values: Any) -> Fault:
    words = {
        "name": "Hands apart",
        "goal": "Hands together",
        "plain": "Let your hands touch.",
        "feel": "One hand.",
    }
    return Fault.objects.create(code=code or f"fault-{next(count)}", skill=skill, **{**words, **values})


def make_lesson(student: Student, coach: Coach, *, days_ago: int = 0, **values: Any) -> Lesson:
    at = datetime(2026, 6, 1, 10, tzinfo=UTC) - timedelta(days=days_ago)
    session = Session.objects.create(coach=coach, starts_at=at)
    lesson = Lesson.for_student(student, session, **values)
    lesson.save()
    return lesson


def make_look(lesson: Lesson, kind: str = "arrival", **values: Any) -> Look:
    return Look.objects.create(lesson=lesson, kind=kind, **values)


def make_checkpoint(name: str = "Address", area: str = "putting", **values: Any) -> Checkpoint:
    """The checkpoint of this name, which a loaded library has already."""
    return Checkpoint.objects.get_or_create(area=area, name=name, defaults=values)[0]


def make_picture(width: int = 480, height: int = 640, colour: str = "seagreen", format: str = "JPEG") -> bytes:
    """A file as a phone may send it: one colour with a lighter square in the upper left."""
    image = Image.new("RGB", (width, height), colour)
    image.paste((240, 230, 140), (0, 0, width // 3, height // 3))
    file = io.BytesIO()
    image.save(file, format)
    return file.getvalue()


def make_still(lesson: Lesson, **values: Any) -> Still:
    """A still with both its files; whether it may be shown is for a consent to say (`make_picture_consent`)."""
    picture = clean_picture(values.pop("data", None) or make_picture())
    checkpoint = values.pop("checkpoint", None) or make_checkpoint()
    defaults = {"key": uuid.uuid4(), "by": lesson.session.coach.user, "at": timezone.now()}
    shows = {"checkpoint": checkpoint, "moment": "arrival", "view": "face_on"}
    return keep_still(lesson=lesson, picture=picture, **{**defaults, **shows, **values})


def make_still_measure(still: Still, **values: Any) -> StillMeasure:
    """A distance of 45 cm, by a putter of 87 cm; the points lie in a picture of `make_picture`."""
    points = [[100, 520], [250, 520], [330, 240], [330, 530]]
    row = StillMeasure(still=still, kind="length", points=points, known_cm=87, measured_by=still.taken_by, **values)
    row.estimate = estimate(Kind.LENGTH, row.places, frame_of(still), 87)
    row.save()
    return row


def make_picture_consent(student: Student) -> Consent:
    """What lets pictures of a student be kept: a guardian's consent, who is made where there is none, or an adult's."""
    guardianship = student.guardianships.first()
    if student.is_junior(academy_today(), Academy.current().adult_at):
        by = guardianship.guardian if guardianship else make_guardian("", student)
    else:
        by = student.user or make_user()
    return make_consent(student, by, "photos")


def make_drill(code: str = "", **values: Any) -> Drill:
    words = dict.fromkeys(["name", "purpose", "equipment", "setup", "feel", "mark", "tip", "caution"], "Some words.")
    dose = {"area": "putting", "steps": ["One.", "Two.", "Three.", "Four."], "dose_amount": 10}
    return Drill.objects.create(code=code or f"drill-{next(count)}", **{**words, **dose, **values})


def make_prescription(lesson: Lesson, focus: Focus, **values: Any) -> Prescription:
    begins = values.pop("begins", Academy.current().today(lesson.session.starts_at))
    days = values.get("days", 30)
    given = {"feel": focus.feel, "drill": values.pop("drill", None) or make_drill(), "amount": 10, "begins": begins}
    review_on = values.pop("review_on", begins + timedelta(days=days))
    return Prescription.objects.create(
        student=lesson.student, lesson=lesson, focus=focus, review_on=review_on, **{**given, **values}
    )


DRAWING: dict[str, Any] = {
    "view": "top",
    "frame": [-60, -70, 260, 60],
    "words": "A tee stands in front of the ball, off the big toe of the {lead} foot.",
    "pieces": [
        {"piece": "ball", "x": 0, "y": 0},
        {"piece": "tee", "x": 50, "y": 5},
        {"piece": "feet", "x": 0, "y": -45, "size": 35},
        {"piece": "length", "x": 0, "y": 30, "to_x": 200, "to_y": 30},
        {"piece": "text", "x": 50, "y": -40, "words": "{lead} foot"},
    ],
}


def make_design(code: str = "", **values: Any) -> Design:
    words = dict.fromkeys(["name", "purpose", "setup", "note", "caution"], "Some words.")
    set_up = {"area": "putting", "kind": "leaves", "distances_m": [6.0], "balls": 20}
    return Design.objects.create(code=code or f"design-{next(count)}", **{**words, **set_up, **values})


def make_test(student: Student, design: Design | None = None, **values: Any) -> ScoredTest:
    """A finished test of the first of June 2026, recorded by the student, unless values say otherwise."""
    design = design or make_design()
    defaults = {"day": date(2026, 6, 1), "done_at": datetime(2026, 6, 1, 11, tzinfo=UTC), "by": student.user}
    defaults |= {"side": student.side(design.area), "width_m": design.width_m}
    return ScoredTest.objects.create(student=student, design=design, **{**defaults, **values})


def make_ball(test: ScoredTest, result: str = "missed", **values: Any) -> Ball:
    defaults = {"number": test.balls.count() + 1, "distance_m": test.design.distances_m[0]}
    return Ball.objects.create(test=test, result=result, **{**defaults, **values})


def fresh_key() -> uuid.UUID:
    return uuid.uuid4()
