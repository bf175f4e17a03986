"""Stills of the invented students, drawn as their lessons showed them, and how each checkpoint should look.

They are kept by the functions that keep what a coach sends, so that files, thumbnails and consents are real ones.
"""

import re
import uuid
from collections.abc import Mapping
from datetime import date
from random import Random
from typing import NamedTuple

from django.db.models import Exists, OuterRef

from coachbook.accounts.models import Academy, Area, Consent, Student
from coachbook.accounts.pictures import Answer, picture_consent
from coachbook.demo.builder import after
from coachbook.demo.figure.body import Build, stand
from coachbook.demo.figure.drawing import SHIRTS, Camera, draw_figure
from coachbook.demo.figure.faults import change_of, posture_with
from coachbook.demo.figure.posture import STAGES, Stage
from coachbook.loop.stills.forms import asked_text
from coachbook.loop.stills.taking import note_agreement
from lessons.load import CHECKPOINTS
from lessons.models import Checkpoint, Lesson, Look, Observation, ReferenceStill, SeenFault, View
from lessons.stills.picture import CleanPicture, clean_picture, drawn
from lessons.stills.rows import keep_still, sizes_of, write_files

SEED = 7
# Adults and children, players of both sides.
PICTURED = ("Alder Quimble", "Caspian Thornlace", "Emeka Larkwren", "Flora Larkwren", "Linnet Oxpebble")
AREAS = (Area.PUTTING, Area.CHIPPING)
LESSONS = 3  # of a student and a part of the game, from the first to the latest
CLUBS = {"putting": "putter", "chipping": "wedge"}
INCH, USUAL_CLUB = 2.54, 34
SHIRT_OF_REFERENCE = SHIRTS[-1]
ADULT_AT, SMALLEST, GROWS = 16, 0.76, 0.034  # how small a child of nine is beside an adult, and what each year adds

Seen = Mapping[str, str]  # faults with their degrees


class Shot(NamedTuple):
    """What a still is to show, by whom it is played and how."""

    area: str
    stage: Stage
    view: str
    is_left: bool
    build: Build
    shirt: str


def fill(on: date, seed: int = SEED) -> None:
    """Take the stills of the invented academy; the same day and the same seed draw the same pictures."""
    checkpoints = {(row.area, row.name): row for row in Checkpoint.objects.filter(area__in=AREAS)}
    for student in Student.objects.filter(name__in=PICTURED).order_by("pk"):
        for area in AREAS:
            for lesson in some_lessons(student, area):
                take_pairs(lesson, area, checkpoints, on, Random(f"{seed} {student.name} {lesson.session.starts_at}"))
    for area in AREAS:
        add_references(area, checkpoints, Random(seed))


def some_lessons(student: Student, area: str) -> list[Lesson]:
    """The first, a middle and the latest finished lesson with an arrival and a departure in this part of the game."""
    looks = Look.objects.filter(lesson=OuterRef("pk"))
    seen = Observation.objects.filter(look__lesson=OuterRef("pk"), skill__area=area)
    rows = student.lessons.filter(status=Lesson.Status.COMPLETE, **{area: True}).select_related("session__coach__user")
    rows = rows.filter(Exists(looks.filter(kind=Look.Kind.DEPARTURE)), Exists(seen))
    lessons = list(rows.order_by("session__starts_at", "pk"))
    places = {round(number * (len(lessons) - 1) / (LESSONS - 1)) for number in range(LESSONS)} if lessons else set()
    return [lessons[place] for place in sorted(places)]


def take_pairs(
    lesson: Lesson, area: str, checkpoints: Mapping[tuple[str, str], Checkpoint], on: date, rng: Random
) -> None:
    """Stills of one lesson on arrival and on departure: address down the line, and where its fault shows face-on."""
    student, coach, at = lesson.student, lesson.session.coach.user, after(lesson.session)
    if picture_consent(student, Academy.current(), on) == Answer.TO_ASK:
        note_agreement(student, asked_text(student.name), coach, at)
        Consent.history.filter(student=student).update(history_user=coach, history_date=at)
    shown = seen_in(lesson)
    pairs: list[tuple[Stage, str]] = [("address", View.DOWN_THE_LINE)]
    pairs.append((telling_stage(shown["arrival"], area), View.FACE_ON))
    for stage, view in pairs:
        shot = Shot(area, stage, view, is_left(student, area), build_of(student, area, on), shirt_of(student))
        for moment, faults in shown.items():
            values = {"checkpoint": checkpoints[area, name_of(stage)], "moment": moment, "view": view}
            picture = shoot(shot, faults, rng)
            still = keep_still(
                lesson=lesson, key=uuid.uuid4(), picture=picture, by=coach, at=at, club=CLUBS[area], **values
            )
            still.history.update(history_user=coach, history_date=at)


def seen_in(lesson: Lesson) -> dict[str, dict[str, str]]:
    """The faults of each moment; on departure also those of skills that nobody looked at again."""
    rows = SeenFault.objects.filter(observation__look__lesson=lesson).select_related("fault", "observation__look")
    seen: dict[str, dict[str, str]] = {"arrival": {}, "departure": {}}
    for row in rows.order_by("pk"):
        seen[row.observation.look.kind][row.fault.code] = row.degree
    again = lesson.looks.filter(kind=Look.Kind.DEPARTURE).values("observations__skill")
    left = rows.filter(observation__look__kind=Look.Kind.ARRIVAL).exclude(observation__skill__in=again).order_by("pk")
    return seen | {"departure": {row.fault.code: row.degree for row in left} | seen["departure"]}


def telling_stage(faults: Seen, area: str) -> Stage:
    """The first stage after address at which one of the faults is drawn; address where they are there already."""
    own = [fault for fault in faults if fault.startswith(f"{area}-")]
    found = (stage for stage in STAGES for fault in own if change_of(fault, stage))
    return next(found, "finish")


def shoot(shot: Shot, faults: Seen, rng: Random | None = None) -> CleanPicture:
    """The picture as a phone takes it, which nobody holds twice in the same way; without `rng`, on a stand."""
    camera = Camera(shot.view)
    if rng:
        camera = Camera(shot.view, zoom=rng.uniform(0.97, 1.03), aside=rng.uniform(-4, 4), up=rng.uniform(-2, 2))
    body = stand(posture_with(shot.area, shot.stage, faults), shot.build, finished=shot.stage == "finish")
    shapes = draw_figure(body, camera, is_left=shot.is_left, shirt=shot.shirt)
    return clean_picture(drawn(camera.size, shapes))


def add_references(area: str, checkpoints: Mapping[tuple[str, str], Checkpoint], rng: Random) -> None:
    """How each checkpoint should look, from both views, by a player of the right side."""
    for stage in STAGES:
        for view in View:
            picture = shoot(Shot(area, stage, view, False, Build(), SHIRT_OF_REFERENCE), {}, rng)
            row = ReferenceStill(checkpoint=checkpoints[area, name_of(stage)], view=view, side="right")
            vars(row).update(sizes_of(picture), club=CLUBS[area])
            write_files(row, picture)
            row.save()


def name_of(stage: Stage) -> str:
    """The checkpoint of a stage, as the catalogue names it."""
    return CHECKPOINTS[STAGES.index(stage)]


def is_left(student: Student, area: str) -> bool:
    """Whether the student plays this part of the game from the left side."""
    return bool(getattr(student, f"{area}_side") == "left")


def build_of(student: Student, area: str, on: date) -> Build:
    """How large the student is, by age, and how long their club; for a putter as it is written down, if it is."""
    age = on.year - student.birth_year if student.birth_year else ADULT_AT
    size = min(1.0, SMALLEST + GROWS * (age - 9))
    inches = re.match(r"(\d+) in\b", student.equipment) if area == Area.PUTTING else None
    return Build(size, (int(inches[1]) if inches else USUAL_CLUB * size) * INCH)


def shirt_of(student: Student) -> str:
    """The colour that a student always wears; that of the reference is nobody's."""
    return SHIRTS[PICTURED.index(student.name) % (len(SHIRTS) - 1)]
