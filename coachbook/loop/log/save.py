"""Saving a log: every row that can be, at once; finishing it, by the strict rules."""

import uuid
import zoneinfo
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import QueryDict
from django.utils import timezone

from coachbook.accounts.models import Academy, Area
from coachbook.diary.scheduling import mark_kept
from coachbook.loop.log.forms import BasicsForm, FocusForm
from coachbook.loop.log.lesson_form import Book, show_typed
from coachbook.loop.log.rows import LookRow, clean_text, to_store
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from, content_of, issue_sheet
from drills.practice.prescribe import hand_over_practice, prescribe
from lessons.derived import reckon
from lessons.log import complete, note_skill, pick_up_again, problems_at_done, put_down, take_on
from lessons.models import Focus, Lesson, Look, Session


class Stale(Exception):
    """Somebody wrote into this lesson after the page was opened."""


@transaction.atomic
def save_log(book: Book, data: QueryDict) -> None:
    """Save every row that can be saved; `book.problems` then says which could not, and why."""
    claim(book, data)
    day = day_of(book)
    show_typed(book, data)
    save_basics(book)
    for row in book.rows:
        save_row(book, row)
    Look.objects.filter(lesson=book.lesson, observations=None).delete()
    for form in sorted(book.focuses, key=lambda form: not form.continues):  # closing one makes room for another
        if not form.is_blank:
            save_focus(book, form)
    book.problems += typed_problems(book)
    if book.lesson.status == Lesson.Status.COMPLETE or day != day_of(book):  # of a group, others may be done
        reckon(book.lesson, day)


@transaction.atomic
def finish_log(book: Book, at: datetime) -> Sheet | None:
    """Call the lesson done and issue its sheet, unless something still stands against it."""
    for anchor, message in problems_at_done(book.lesson):
        book.problems.append((anchor, message))
        if (name := anchor.removeprefix("id_")) in book.basics.fields:
            book.basics.add_error(name, message)
    if book.problems:
        return None
    return finish_lesson(lesson=book.lesson, academy=book.academy, at=at)


@transaction.atomic
def finish_lesson(*, lesson: Lesson, academy: Academy, at: datetime) -> Sheet:
    """Call a lesson done: its appointment was kept, its drills replace the earlier ones, and its sheet is issued."""
    complete(lesson, at)
    reckon(lesson)
    session = lesson.session
    if session.kind != Session.Kind.CLIP:  # a clip is no visit
        on, coach = academy.today(session.starts_at), session.coach
        mark_kept(student=lesson.student, coach=coach, on=on, academy=academy, by=coach.user, at=at)
    hand_over_practice(lesson=lesson, academy=academy)
    standing = lesson.sheets.standing().first()
    if standing and content_from(standing.content) == content_of(lesson, academy):
        return standing  # Done was pressed twice: they have this very sheet
    return issue_sheet(lesson=lesson, at=at)


def claim(book: Book, data: QueryDict) -> None:
    """Take the lesson for this page: a page may go on saving, an older page may not write over a newer one."""
    page, count, base = clean_text(data.get("page", ""))[:36], number(data.get("count")), number(data.get("base"))
    lesson = book.lesson
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


def number(word: str | None) -> int:
    """A count from a form; what is none counts as nothing."""
    return int(word) if word and word.isascii() and word.isdigit() and len(word) < 10 else 0


def save_basics(book: Book) -> None:
    """Store each of the lesson's own fields that is good, and leave the others as they were stored."""
    form, lesson = book.basics, book.lesson
    stored = Lesson.objects.select_related("session").get(pk=lesson.pk)
    form.is_valid()
    good = {name: form.cleaned_data[name] for name in form.Meta.fields if name in form.cleaned_data}
    if "note_reader" in form.errors:  # the note is stored, so it needs a reader: as few as may be
        good["note_reader"] = form.reader
    if not any(good.get(area) for area in Area.values):
        good = {name: value for name, value in good.items() if name not in Area.values}
    changed = [name for name, value in good.items() if getattr(stored, name) != value]
    for name in form.Meta.fields:
        setattr(lesson, name, good.get(name, getattr(stored, name)))
    if changed:
        lesson.save(update_fields=changed)
    save_session(book, form)


def save_session(book: Book, form: BasicsForm) -> None:
    """Store when and where, and when a clip was filmed."""
    session, typed = book.lesson.session, form.cleaned_data
    day, place = typed.get("day", day_of(book)), typed.get("place", session.place)
    filmed_on = typed.get("filmed_on", session.filmed_on)
    if (day, place, filmed_on) != (day_of(book), session.place, session.filmed_on):
        if day != day_of(book):
            zone = zoneinfo.ZoneInfo(book.academy.time_zone)
            at = session.starts_at.astimezone(zone).time()  # kept, so that two lessons of one day stay in order
            session.starts_at = min(datetime.combine(day, at, zone), timezone.now())
        session.place, session.filmed_on = place, filmed_on
        session.save()


def day_of(book: Book) -> date:
    """The lesson's day in the academy's zone."""
    return book.academy.today(book.lesson.session.starts_at)


def save_row(book: Book, row: LookRow) -> None:
    """Store what one look showed of one skill."""
    before = book.observation(book.lesson, row)
    if row.kept and row.seen.words:
        row.error = book.eyes.kept
    if before is None and row.seen.is_blank:
        return
    means = Look.Means.FILM if row.moment == Look.Kind.CLIP else Look.Means.EYE
    look = before.look if before else look_of(book.lesson, row.moment, means)
    try:
        note_skill(look=look, skill=row.skill, seen=to_store(row, before), before=before)
    except ValidationError as refusal:
        row.error = refusal.messages[0]


def look_of(lesson: Lesson, kind: str, means: str) -> Look:
    """The lesson's look of this kind, made where there is none."""
    return lesson.looks.filter(kind=kind).first() or Look.objects.create(lesson=lesson, kind=kind, means=means)


def save_focus(book: Book, form: FocusForm) -> None:
    """Store a focus with its drill and dose."""
    if not form.is_valid():
        return
    try:
        with transaction.atomic():
            focus = carry_on(book, form) if form.continues else take_on_new(book, form)
            if focus.closed_in_id in (None, book.lesson.pk):  # one closed in a later lesson keeps what it was given
                drill, dose = form.drill_and_dose() if focus.closed_in_id is None else (None, None)
                prescribe(lesson=book.lesson, focus=focus, drill=drill, dose=dose, begins=day_of(book))
    except ValidationError as refusal:
        told = refusal.error_dict if hasattr(refusal, "error_dict") else {"": refusal.error_list}
        for name, messages in told.items():
            form.add_error(name if name in form.fields else None, messages)


def take_on_new(book: Book, form: FocusForm) -> Focus:
    """A focus that begins with this lesson."""
    return take_on(lesson=book.lesson, key=form.key, values=form.focus_values())


def carry_on(book: Book, form: FocusForm) -> Focus:
    """A focus of an earlier lesson: it goes on, or it is closed here."""
    focus = form.focus
    assert focus is not None
    still = form.cleaned_data["still"] or "on"
    if still == "on" and focus.closed_in_id is not None:
        pick_up_again(focus=focus)
    elif still != "on" and focus.closed_in_id is None:
        put_down(focus=focus, lesson=book.lesson, decision=still)
    changed = {name: value for name, value in form.focus_values().items() if getattr(focus, name) != value}
    for name, value in changed.items():
        setattr(focus, name, value)
    if changed:
        focus.save(update_fields=list(changed))
    return focus


def typed_problems(book: Book) -> list[tuple[str, str]]:
    """Every message of every row, with the field beside which it stands."""
    found = [(f"id_{name}", f"{book.basics[name].label}: {error}") for name, error in errors(book.basics)]
    found += [(row.slot, f"{row.skill}, {row.moment}: {row.error}") for row in book.rows if row.error]
    for number, form in enumerate(book.focuses, 1):
        if not form.is_blank:
            found += [
                (f"id_{form.add_prefix(name)}", f"Focus {number}{labelled(form, name)}: {error}")
                for name, error in errors(form)
            ]
    return found + unticked_areas(book)


def labelled(form: FocusForm, name: str) -> str:
    """The name of a field behind the number of its block."""
    return f", {form[name].label.lower()}" if name in form.fields else ""


def errors(form: BasicsForm | FocusForm) -> list[tuple[str, str]]:
    """The messages of a form, each with the name of its field."""
    return [(name, str(error)) for name, messages in form.errors.items() for error in messages]


def unticked_areas(book: Book) -> list[tuple[str, str]]:
    """Areas that were looked at but are not ticked."""
    looked = {row.skill.area for row in book.rows if not row.seen.is_blank}
    named = [area for area in Area if area in looked and not book.basics.cleaned_data.get(area)]
    for area in named:
        book.basics.add_error(area, f"{area.label} was looked at: keep it ticked, or take those looks away.")
    return [(f"id_{area}", f"{area.label} was looked at: keep it ticked, or take those looks away.") for area in named]


def fresh_page() -> str:
    """The name of a page that is drawn now."""
    return str(uuid.uuid4())
