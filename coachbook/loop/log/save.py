"""Save a log, every row that is valid; finish it, once nothing is missing."""

import uuid
import zoneinfo
from dataclasses import replace
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import QueryDict
from django.utils import timezone

from coachbook.accounts.models import Academy, Area
from coachbook.diary.scheduling import keep_appointment
from coachbook.http import parse_key
from coachbook.loop.log.decided import decided_elsewhere, decision_of, is_decided_otherwise
from coachbook.loop.log.fill import show_typed
from coachbook.loop.log.forms import BasicsForm, FocusForm
from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.rows import LookRow, clean_text, to_store
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from, without_new_drawings
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import issue_sheet
from drills.practice.prescribe import has_values, prescribe, prescription_values, replace_prescriptions
from lessons.derived import recompute_for_lesson
from lessons.edits import edit_of
from lessons.log import close_focus, complete, find_completion_problems, open_focus, reopen_focus
from lessons.models import Focus, Lesson, Look, Session
from lessons.observations import ObservationChanges


class Stale(Exception):
    """Somebody saved this lesson after the page was opened."""


class Overtaken(Exception):
    """Somebody saved this lesson after it was read here."""


def save_log(lesson_form: LessonForm, data: QueryDict) -> None:
    """Save every valid row; `lesson_form.problems` then lists which are not, and why.

    Whoever saves elsewhere waits for the transaction, so that all is read and compared before. Raises `Stale`; or
    `Overtaken` where the lesson is no longer as it was read.
    """
    check_version(lesson_form, data)
    day = day_of(lesson_form)
    show_typed(lesson_form, data)
    basics, session = set_basics(lesson_form), set_session(lesson_form)
    changes = collect_observations(lesson_form)
    focuses = [form for form in lesson_form.focuses if is_to_save(lesson_form, form)]
    with transaction.atomic(), edit_of(lesson_form.lesson, parse_key(page_and_count(data)[0])):
        save_lesson(lesson_form, data, basics, session)
        changes.write()
        drop_focus(lesson_form, data)
        for form in sorted(focuses, key=saving_order):
            save_focus(lesson_form, form)
        keep_unsaved(lesson_form, data)
        # A changed day moves the whole session, and in a group other lessons may be complete.
        counts = lesson_form.lesson.status == Lesson.Status.COMPLETE and (changes or "practice_reported" in basics)
        if counts or day != day_of(lesson_form):
            recompute_for_lesson(lesson_form.lesson, day)
    lesson_form.problems += typed_problems(lesson_form)


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
    if standing and (issued := content_from(standing.content)) == without_new_drawings(
        content_of(lesson, academy), issued
    ):
        return standing  # finished a second time, with nothing changed
    return issue_sheet(lesson=lesson, at=at)


def check_version(lesson_form: LessonForm, data: QueryDict) -> None:
    """Raise `Stale` if another page saved since this one was opened."""
    lesson, (page, count) = lesson_form.lesson, page_and_count(data)
    mine = lesson.page == page and lesson.page_count <= count
    if lesson.pk and not (mine or lesson.version == parse_count(data.get("base")) or "over" in data):
        raise Stale


def is_superseded(lesson_form: LessonForm, data: QueryDict) -> bool:
    """Whether the same page has saved since, with all that it held: its earlier form, sent late, adds nothing."""
    lesson, (page, count) = lesson_form.lesson, page_and_count(data)
    is_finished = "done" not in data or lesson.status == Lesson.Status.COMPLETE
    return bool(page) and lesson.page == page and lesson.page_count > count and is_finished


def page_and_count(data: QueryDict) -> tuple[str, int]:
    """The id of the page that was posted, and how often it was posted before."""
    return clean_text(data.get("page", ""))[:36], parse_count(data.get("count"))


def parse_count(word: str | None) -> int:
    """A count from a form; 0 if it is no number."""
    return int(word) if word and word.isascii() and word.isdigit() and len(word) < 10 else 0


def set_basics(lesson_form: LessonForm) -> list[str]:
    """Set each valid field of the lesson itself, and leave the others as they were; the names of those that changed."""
    form, lesson = lesson_form.basics, lesson_form.lesson
    stored = {name: getattr(lesson, name) for name in form.Meta.fields}
    form.is_valid()
    good = {name: form.cleaned_data[name] for name in form.Meta.fields if name in form.cleaned_data}
    if "note_reader" in form.errors:  # the note is stored, so it needs readers: the fewest possible
        good["note_reader"] = form.reader
    if not any(good.get(area) for area in Area.values):
        good = {name: value for name, value in good.items() if name not in Area.values}
    for name, value in (stored | good).items():
        setattr(lesson, name, value)
    return [name for name, value in good.items() if stored[name] != value]


def set_session(lesson_form: LessonForm) -> bool:
    """Set when and where, and when a clip was filmed; whether any of it changed."""
    session, typed = lesson_form.lesson.session, lesson_form.basics.cleaned_data
    day, place = typed.get("day", day_of(lesson_form)), typed.get("place", session.place)
    filmed_on = typed.get("filmed_on", session.filmed_on)
    if (day, place, filmed_on) == (day_of(lesson_form), session.place, session.filmed_on):
        return False
    if day != day_of(lesson_form):
        zone = zoneinfo.ZoneInfo(lesson_form.academy.time_zone)
        at = session.starts_at.astimezone(zone).time()  # kept, so that two lessons of one day stay in order
        session.starts_at = min(datetime.combine(day, at, zone), timezone.now())
    session.place, session.filmed_on = place, filmed_on
    return True


def save_lesson(lesson_form: LessonForm, data: QueryDict, basics: list[str], session: bool) -> None:
    """Store the lesson as the next version, by this page. Raises `Overtaken` if it is no longer the version read."""
    lesson, read = lesson_form.lesson, lesson_form.lesson.version
    lesson.page, lesson.page_count = page_and_count(data)
    lesson.version = read + 1
    by_page = {"version": lesson.version, "page": lesson.page, "page_count": lesson.page_count}
    if lesson.pk and not Lesson.objects.filter(pk=lesson.pk, version=read).update(**by_page):
        raise Overtaken
    if session or not lesson.pk:
        lesson.session.save()
    if not lesson.pk:
        lesson.save()
    elif basics:
        lesson.save(update_fields=basics)


def day_of(lesson_form: LessonForm) -> date:
    """The lesson's day in the academy's zone."""
    return lesson_form.academy.today(lesson_form.lesson.session.starts_at)


def collect_observations(lesson_form: LessonForm) -> ObservationChanges:
    """What changes in the looks; a row that cannot be stored gets an error instead."""
    lesson = lesson_form.lesson
    changes = ObservationChanges(lesson, {look.kind: look for look in lesson.looks.all()} if lesson.pk else {})
    for row in lesson_form.rows:
        if row.is_withheld and row.seen.words:
            row.error = lesson_form.visibility.refusal
        try:
            collect_row(lesson_form, row, changes)
        except ValidationError as refusal:
            row.error = f"{refusal.messages[0]} {row.error}".strip()
    return changes


def collect_row(lesson_form: LessonForm, row: LookRow, changes: ObservationChanges) -> None:
    """Collect what changes in one row. Raises ValidationError where it cannot be stored."""
    lesson = lesson_form.lesson
    means = Look.Means.FILM if row.moment == Look.Kind.CLIP else Look.Means.EYE
    if isinstance(row.skill, Focus):
        changes.add_focus(row.moment, means, row.skill, seen=row.seen, before=lesson_form.own_words.stored(row, lesson))
    else:
        before = lesson_form.observation(lesson, row)
        measure, measure_words = row.measure.read(row.skill, before)
        row.seen = replace(row.seen, measure=measure, measure_words=measure_words)
        row.error = f"{row.error} {row.measure.error}".strip()
        changes.add(row.moment, means, row.skill, seen=to_store(row, before), before=before)


def is_to_save(lesson_form: LessonForm, form: FocusForm) -> bool:
    """Whether a block is valid and says anything that is not stored as it is."""
    return not form.is_blank and form.is_valid() and not is_stored(lesson_form, form)


def is_stored(lesson_form: LessonForm, form: FocusForm) -> bool:
    """Whether focus, decision, drill and dose of a valid block are stored as they are."""
    lesson, focus = lesson_form.lesson, form.focus
    if focus is None or not has_values(focus, form.focus_values()) or is_decided_otherwise(form, lesson):
        return False
    if form.continues and (decision_of(form) == "open") != (focus.closed_in_id is None):
        return False
    if focus.closed_in_id is not None:
        return focus.closed_in_id != lesson.pk or focus.pk not in lesson_form.given
    given = lesson_form.given.get(focus.pk) if lesson.pk else None
    drill, dose = form.drill_and_dose()
    if drill is None or dose is None:
        return given is None
    return given is not None and has_values(given, prescription_values(focus, drill, dose, day_of(lesson_form)))


def saving_order(form: FocusForm) -> tuple[bool, bool]:
    """Closing one focus makes room for another, and one with a reason is the third, whichever was begun last."""
    return not form.continues, not form.data.get(form.add_prefix("reason"))


def save_focus(lesson_form: LessonForm, form: FocusForm) -> None:
    """Store a focus with its drill and dose."""
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


def drop_focus(lesson_form: LessonForm, data: QueryDict) -> None:
    """Delete a focus that this draft opened by mistake, with its drill; the history of both stays."""
    key, lesson = parse_key(data.get("drop", "")), lesson_form.lesson
    for focus in lesson_form.stored_focuses:
        if focus.key == key and focus.opened_in_id == lesson.pk and lesson.status == Lesson.Status.DRAFT:
            prescribe(lesson=lesson, focus=focus, drill=None, dose=None, begins=day_of(lesson_form))
            focus.delete()


def keep_unsaved(lesson_form: LessonForm, data: QueryDict) -> None:
    """Keep what was typed of focuses that cannot be saved, for whoever opens the log again."""
    wrong = [form for form in lesson_form.focuses if not form.is_blank and form.errors]
    unsaved = {
        str(form.key): {
            "typed": {name: value for name, value in data.items() if name.startswith(f"{form.prefix}-")},
            "errors": {name: [str(error) for error in errors] for name, errors in form.errors.items()},
        }
        for form in wrong
    }
    if lesson_form.lesson.unsaved != unsaved:
        lesson_form.lesson.unsaved = unsaved
        Lesson.objects.filter(pk=lesson_form.lesson.pk).update(unsaved=unsaved)


def open_new_focus(lesson_form: LessonForm, form: FocusForm) -> Focus:
    """A focus that begins with this lesson."""
    return open_focus(lesson=lesson_form.lesson, key=form.key, values=form.focus_values())


def continue_focus(lesson_form: LessonForm, form: FocusForm) -> Focus:
    """A focus of an earlier lesson: it stays open, is closed, or is opened again."""
    focus = form.focus
    assert focus is not None
    decision = decision_of(form)
    if is_decided_otherwise(form, lesson_form.lesson):
        raise ValidationError({"decision": decided_elsewhere(focus, lesson_form.academy)})
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
    return found + focus_problems(lesson_form) + unticked_areas(lesson_form)


def focus_problems(lesson_form: LessonForm) -> list[tuple[str, str]]:
    """Every error of every focus, with its name as the page has it."""
    return [
        (f"id_{form.add_prefix(name)}", f"{form.title}{labelled(form, name)}: {error}")
        for form in lesson_form.focuses
        if not form.is_blank
        for name, error in errors(form)
    ]


def labelled(form: FocusForm, name: str) -> str:
    """The label of a field, to stand after the name of its focus."""
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
