"""Save a log, every row that is valid; finish it, once nothing is missing."""

import uuid
import zoneinfo
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import QueryDict
from django.utils import timezone

from coachbook.accounts.models import Academy, Area
from coachbook.diary.scheduling import keep_appointment
from coachbook.loop.log.forms import BasicsForm, FocusForm
from coachbook.loop.log.lesson_form import LessonForm, show_typed
from coachbook.loop.log.rows import LookRow, clean_text, to_store
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import issue_sheet
from drills.practice.prescribe import prescribe, replace_prescriptions
from lessons.derived import recompute_for_lesson
from lessons.log import close_focus, complete, find_completion_problems, open_focus, reopen_focus, save_observation
from lessons.models import Focus, Lesson, Look, Session


class Stale(Exception):
    """Somebody saved this lesson after the page was opened."""


@transaction.atomic
def save_log(lesson_form: LessonForm, data: QueryDict) -> None:
    """Save every valid row; `lesson_form.problems` then lists which are not, and why."""
    check_version(lesson_form, data)
    day = day_of(lesson_form)
    show_typed(lesson_form, data)
    save_basics(lesson_form)
    for row in lesson_form.rows:
        save_row(lesson_form, row)
    Look.objects.filter(lesson=lesson_form.lesson, observations=None).delete()
    for form in sorted(lesson_form.focuses, key=lambda form: not form.continues):  # closing one makes room for another
        if not form.is_blank:
            save_focus(lesson_form, form)
    lesson_form.problems += typed_problems(lesson_form)
    # A changed day moves the whole session, and in a group other lessons may be complete.
    if lesson_form.lesson.status == Lesson.Status.COMPLETE or day != day_of(lesson_form):
        recompute_for_lesson(lesson_form.lesson, day)


@transaction.atomic
def finish_log(lesson_form: LessonForm, at: datetime) -> Sheet | None:
    """Complete the lesson and issue its sheet, unless something is missing."""
    for anchor, message in find_completion_problems(lesson_form.lesson):
        lesson_form.problems.append((anchor, message))
        if (name := anchor.removeprefix("id_")) in lesson_form.basics.fields:
            lesson_form.basics.add_error(name, message)
    if lesson_form.problems:
        return None
    return finish_lesson(lesson=lesson_form.lesson, academy=lesson_form.academy, at=at)


@transaction.atomic
def finish_lesson(*, lesson: Lesson, academy: Academy, at: datetime) -> Sheet:
    """Complete a lesson: its appointment was kept, its drills replace the earlier ones, and its sheet is issued."""
    complete(lesson, at)
    recompute_for_lesson(lesson)
    session = lesson.session
    if session.kind != Session.Kind.CLIP:  # a clip is no visit
        on, coach = academy.today(session.starts_at), session.coach
        keep_appointment(student=lesson.student, coach=coach, on=on, academy=academy, by=coach.user, at=at)
    replace_prescriptions(lesson=lesson, academy=academy)
    standing = lesson.sheets.valid().first()
    if standing and content_from(standing.content) == content_of(lesson, academy):
        return standing  # finished a second time, with nothing changed
    return issue_sheet(lesson=lesson, at=at)


def check_version(lesson_form: LessonForm, data: QueryDict) -> None:
    """Raise `Stale` if another page saved since this one was opened, and else record this page as the last to save."""
    page = clean_text(data.get("page", ""))[:36]
    count, base = parse_count(data.get("count")), parse_count(data.get("base"))
    lesson = lesson_form.lesson
    if lesson.pk:
        now = Lesson.objects.select_for_update().values("version", "page", "page_count").get(pk=lesson.pk)
        mine = now["page"] == page and now["page_count"] <= count
        if not (mine or now["version"] == base or "over" in data):
            raise Stale
        lesson.version = now["version"]
    else:
        lesson.session.save()
        lesson.session_id = lesson.session.pk
        lesson.save()
    Lesson.objects.filter(pk=lesson.pk).update(version=lesson.version + 1, page=page, page_count=count)
    lesson.version += 1


def parse_count(word: str | None) -> int:
    """A count from a form; 0 if it is no number."""
    return int(word) if word and word.isascii() and word.isdigit() and len(word) < 10 else 0


def save_basics(lesson_form: LessonForm) -> None:
    """Store each valid field of the lesson itself, and leave the others as they were."""
    form, lesson = lesson_form.basics, lesson_form.lesson
    stored = Lesson.objects.select_related("session").get(pk=lesson.pk)
    form.is_valid()
    good = {name: form.cleaned_data[name] for name in form.Meta.fields if name in form.cleaned_data}
    if "note_reader" in form.errors:  # the note is stored, so it needs readers: the fewest possible
        good["note_reader"] = form.reader
    if not any(good.get(area) for area in Area.values):
        good = {name: value for name, value in good.items() if name not in Area.values}
    changed = [name for name, value in good.items() if getattr(stored, name) != value]
    for name in form.Meta.fields:
        setattr(lesson, name, good.get(name, getattr(stored, name)))
    if changed:
        lesson.save(update_fields=changed)
    save_session(lesson_form, form)


def save_session(lesson_form: LessonForm, form: BasicsForm) -> None:
    """Store when and where, and when a clip was filmed."""
    session, typed = lesson_form.lesson.session, form.cleaned_data
    day, place = typed.get("day", day_of(lesson_form)), typed.get("place", session.place)
    filmed_on = typed.get("filmed_on", session.filmed_on)
    if (day, place, filmed_on) != (day_of(lesson_form), session.place, session.filmed_on):
        if day != day_of(lesson_form):
            zone = zoneinfo.ZoneInfo(lesson_form.academy.time_zone)
            at = session.starts_at.astimezone(zone).time()  # kept, so that two lessons of one day stay in order
            session.starts_at = min(datetime.combine(day, at, zone), timezone.now())
        session.place, session.filmed_on = place, filmed_on
        session.save()


def day_of(lesson_form: LessonForm) -> date:
    """The lesson's day in the academy's zone."""
    return lesson_form.academy.today(lesson_form.lesson.session.starts_at)


def save_row(lesson_form: LessonForm, row: LookRow) -> None:
    """Store the observation of one skill at one look."""
    before = lesson_form.observation(lesson_form.lesson, row)
    if row.is_withheld and row.seen.words:
        row.error = lesson_form.visibility.refusal
    if before is None and row.seen.is_blank:
        return
    means = Look.Means.FILM if row.moment == Look.Kind.CLIP else Look.Means.EYE
    look = before.look if before else look_of(lesson_form.lesson, row.moment, means)
    try:
        save_observation(look=look, skill=row.skill, seen=to_store(row, before), before=before)
    except ValidationError as refusal:
        row.error = refusal.messages[0]


def look_of(lesson: Lesson, kind: str, means: str) -> Look:
    """The lesson's look of this kind, created if there is none."""
    return lesson.looks.filter(kind=kind).first() or Look.objects.create(lesson=lesson, kind=kind, means=means)


def save_focus(lesson_form: LessonForm, form: FocusForm) -> None:
    """Store a focus with its drill and dose."""
    if not form.is_valid():
        return
    try:
        with transaction.atomic():
            focus = continue_focus(lesson_form, form) if form.continues else open_new_focus(lesson_form, form)
            # A focus that a later lesson closed keeps the drill it was given.
            if focus.closed_in_id in (None, lesson_form.lesson.pk):
                drill, dose = form.drill_and_dose() if focus.closed_in_id is None else (None, None)
                prescribe(lesson=lesson_form.lesson, focus=focus, drill=drill, dose=dose, begins=day_of(lesson_form))
    except ValidationError as refusal:
        by_field = refusal.error_dict if hasattr(refusal, "error_dict") else {"": refusal.error_list}
        for name, messages in by_field.items():
            form.add_error(name if name in form.fields else None, messages)


def open_new_focus(lesson_form: LessonForm, form: FocusForm) -> Focus:
    """A focus that begins with this lesson."""
    return open_focus(lesson=lesson_form.lesson, key=form.key, values=form.focus_values())


def continue_focus(lesson_form: LessonForm, form: FocusForm) -> Focus:
    """A focus of an earlier lesson: it stays open, is closed, or is opened again."""
    focus = form.focus
    assert focus is not None
    decision = form.cleaned_data["decision"] or "open"
    if decision == "open" and focus.closed_in_id is not None:
        reopen_focus(focus=focus)
    elif decision != "open" and focus.closed_in_id is None:
        close_focus(focus=focus, lesson=lesson_form.lesson, decision=decision)
    changed = {name: value for name, value in form.focus_values().items() if getattr(focus, name) != value}
    for name, value in changed.items():
        setattr(focus, name, value)
    if changed:
        focus.save(update_fields=list(changed))
    return focus


def typed_problems(lesson_form: LessonForm) -> list[tuple[str, str]]:
    """Every error of every row, as (id of the field on the page, message)."""
    found = [(f"id_{name}", f"{lesson_form.basics[name].label}: {error}") for name, error in errors(lesson_form.basics)]
    found += [(row.anchor, f"{row.skill}, {row.moment}: {row.error}") for row in lesson_form.rows if row.error]
    for number, form in enumerate(lesson_form.focuses, 1):
        if not form.is_blank:
            found += [
                (f"id_{form.add_prefix(name)}", f"Focus {number}{labelled(form, name)}: {error}")
                for name, error in errors(form)
            ]
    return found + unticked_areas(lesson_form)


def labelled(form: FocusForm, name: str) -> str:
    """The label of a field, to stand after the number of its focus."""
    return f", {form[name].label.lower()}" if name in form.fields else ""


def errors(form: BasicsForm | FocusForm) -> list[tuple[str, str]]:
    """The errors of a form, as (name of the field, message)."""
    return [(name, str(error)) for name, messages in form.errors.items() for error in messages]


def unticked_areas(lesson_form: LessonForm) -> list[tuple[str, str]]:
    """An error for each area in which something was looked at and which is not ticked."""
    looked = {row.skill.area for row in lesson_form.rows if not row.seen.is_blank}
    named = [area for area in Area if area in looked and not lesson_form.basics.cleaned_data.get(area)]
    found = []
    for area in named:
        message = f"{area.label} was looked at: keep it ticked, or clear what is recorded there."
        lesson_form.basics.add_error(area, message)
        found.append((f"id_{area}", message))
    return found


def new_page_id() -> str:
    """A random id for a page that is rendered now, by which its posts are told from those of other pages."""
    return str(uuid.uuid4())
