"""The buttons of a log that fill in fields: the form is then saved as if somebody had typed it."""

import uuid

from django.http import QueryDict

from coachbook.accounts.models import User
from coachbook.http import parse_key
from coachbook.loop.log.forms import FocusForm
from coachbook.loop.log.lesson_form import LessonForm
from drills.practice.prescribe import given_last, usual_prescription
from lessons.models import Fault, Lesson, SeenFault

READING = ("propose", "enter", "enter_all")


def asks_for_reading(data: QueryDict) -> bool:
    """Whether the answer shows what the note may say."""
    return any(name in data for name in READING)


def after_button(lesson_form: LessonForm, posted: QueryDict, user: User) -> QueryDict:
    """What was posted, with what follows from the button that was pressed."""
    data = posted.copy()
    for value in data.getlist("proposed") if "enter_all" in data else data.getlist("enter"):
        enter(lesson_form, data, value, user)
    if "work" in data:
        begin_focus(lesson_form, data, data.get("work", ""), user)
    if "drop" in data:
        clear_focus(lesson_form, data)
    if key := parse_key(data.get("usual", "")):
        fill_in_usual(lesson_form, data, key, user)
    return data


# --- A focus ------------------------------------------------------------------------------------


def begin_focus(lesson_form: LessonForm, data: QueryDict, code: str, user: User) -> None:
    """*Work on this*: a new block for this fault, with the usual drill, unless a focus is about it."""
    fault = lesson_form.catalogue.faults.get(code)
    if fault and fault not in lesson_form.worked_on and fault not in faults_of(lesson_form, data).values():
        begun = uuid.uuid4()
        data.appendlist("focus", str(begun))
        data[f"focus-{begun}-fault"] = fault.code
        lesson_form.begun.append(str(begun))
        fill_in_usual(lesson_form, data, begun, user)


def faults_of(lesson_form: LessonForm, data: QueryDict) -> dict[uuid.UUID, Fault | None]:
    """The fault of each focus on the page, by its key."""
    stored = {focus.key: focus for focus in lesson_form.stored_focuses}
    keys = [key for word in data.getlist("focus") if (key := parse_key(word))]
    faults = {key: stored[key].fault for key in keys if key in stored}
    found = {key: fault and fault.counted for key, fault in faults.items()}
    typed = [key for key in keys if not found.get(key)]
    return found | {key: FocusForm(data, key=key, catalogue=lesson_form.catalogue).about for key in typed}


def clear_focus(lesson_form: LessonForm, data: QueryDict) -> None:
    """*Do not work on this*: the block goes, and what it held with it."""
    key, lesson = data.get("drop", ""), lesson_form.lesson
    if lesson.status == Lesson.Status.COMPLETE and key in {str(focus.key) for focus in lesson_form.stored_focuses}:
        lesson_form.problems.append(("work", "The student has read of it. Close it in the next lesson."))
        return
    data.setlist("focus", [word for word in data.getlist("focus") if word != key])
    lesson_form.dropped = key


def fill_in_usual(lesson_form: LessonForm, data: QueryDict, key: uuid.UUID, user: User) -> None:
    """*My usual drill and dose*: what this coach chose or last gave for the fault, or what the library suggests."""
    lesson_form.filled.append(str(key))
    fault = faults_of(lesson_form, data).get(key)
    offered = lesson_form.catalogue.offered
    taken = {data.get(f"focus-{other}-drill", "") for other in data.getlist("focus") if other != str(key)}
    if fault and (found := usual_prescription(fault, offered, given_last(user.coach, fault), taken)):
        drill, dose, _ = found
        filled = {"drill": drill.code, "other_drill": "", "amount": dose.amount, "unit": dose.unit}
        for name, value in {**filled, "per_week": dose.per_week, "days": dose.days}.items():
            data[f"focus-{key}-{name}"] = str(value)


# --- What a sentence says -----------------------------------------------------------------------


def enter(lesson_form: LessonForm, data: QueryDict, value: str, user: User) -> None:
    """Enter one proposal; a value that no proposal has enters nothing."""
    name, _, word = value.partition("=")
    if name == "work":
        begin_focus(lesson_form, data, word, user)
    elif name == "drill":
        enter_drill(lesson_form, data, word, user)
    elif name == "keep":
        kept = data.get("keep", "").strip()
        data["keep"] = f"{kept}\n{word}" if kept else word
        lesson_form.kept = True
    else:
        enter_look(lesson_form, data, name, word)


def enter_look(lesson_form: LessonForm, data: QueryDict, name: str, word: str) -> None:
    """Enter what was seen of a skill at one look, in place of what contradicts it."""
    for row in lesson_form.catalogue.skills:
        faults = [fault.code for fault in row.faults.all()]
        for letter in lesson_form.looks:
            good, seen = f"{letter}.{row.code}.good", [f"{letter}.{code}" for code in faults]
            if name == good:
                for other in seen:
                    data[other] = ""
                data[good] = "on"
            elif name in seen and word in SeenFault.Degree.values:
                data.pop(good, None)
                data[name] = word
            else:
                continue
            lesson_form.entered.append(row.code)


def enter_drill(lesson_form: LessonForm, data: QueryDict, word: str, user: User) -> None:
    """Enter a drill and its dose at the focus that it fits, or else at the one that was opened last."""
    code, *dose = word.split(";")
    drill = lesson_form.catalogue.drills.get(code)
    focuses = faults_of(lesson_form, data)
    fitting = [key for key, fault in focuses.items() if drill and drill in lesson_form.catalogue.drills_for(fault)]
    named = [key for key, fault in focuses.items() if fault]
    if drill is None or len(dose) != 4:
        return
    if not (fitting or named):
        lesson_form.problems.append(("work", f"{drill}: choose what to work on first."))
        return
    key = (fitting or named)[-1]
    usual = (drill.dose_amount, drill.dose_unit, drill.dose_per_week, drill.dose_days)
    amounts = [said or str(known) for said, known in zip(dose, usual, strict=True)]
    if dose[0] and not dose[1]:
        amounts[1] = drill.dose_unit
    filled = dict(zip(("amount", "unit", "per_week", "days"), amounts, strict=True))
    for field, value in {"drill": code, "other_drill": "", **filled}.items():
        data[f"focus-{key}-{field}"] = value
    lesson_form.filled.append(str(key))
