"""The pages of a student's progress: all histories, and one as a chart to zoom into."""

import uuid

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.progress.entries import is_shown, make_entry, summary_words
from coachbook.loop.progress.explore import figures
from coachbook.loop.progress.measures import MeasureEntry, measure_entries
from drills.putting.lengths import unit_of
from drills.scored_tests.observations import latest_tests
from drills.scored_tests.rounds.summary import change_words, compared_words, four_numbers, rounds_of
from drills.scored_tests.wording import summarise_test
from lessons.arrivals import arrivals_of
from lessons.history import FaultHistory, JudgedHistory, judged_histories, rules_of
from lessons.progress import sentences
from lessons.progress.focus_states import Rules
from lessons.progress.picture import lines, rows
from lessons.progress.words import COACH, STUDENT, HistoryLabels

TESTS = 6  # so many of the latest are shown


@require_GET
def progress(request: Request, key: uuid.UUID) -> HttpResponse:
    """All histories of a student: open focuses in full, then closed ones, then what else was seen."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    labels, rules = labels_for(student), rules_of(request.academy)
    judged, measures = judged_and_measured(student, rules, labels)
    # A skill may show several faults: what was measured of it stands beside the first of them.
    entries = [
        make_entry(each, labels, measure=measures.pop(skill_number(each.history), None))
        for each in judged
        if is_shown(each.history, labels)
    ]
    rounds = [] if labels is COACH else rounds_of(student, request.academy.today(timezone.now()))
    context = base_context(student, labels) | {
        "entries": entries,
        "better": [found for found in entries if found.better],
        "course": four_numbers(rounds),
        "course_change": change_words(rounds),
        "compared": compared_words(rounds),
        "summary": summary_words(entries, labels),
        "now": [found for found in entries if found.history.is_open],
        "earlier": [found for found in entries if found.history.spans and not found.history.is_open],
        "others": [found for found in entries if not found.history.spans],
        "measures": list(measures.values()),
        "rules": sentences.rules_words(rules),
        "tests": [
            (test, summarise_test(test, unit_of(request.academy.units))) for test in latest_tests(student, TESTS)
        ],
    }
    return render(request, "loop/progress/progress.html", context)


@require_GET
def progress_explore(
    request: Request, key: uuid.UUID, number: int = 0, focus_key: uuid.UUID | None = None
) -> HttpResponse:
    """One history with all its lessons; for a coach a chart to zoom into, with picture and table without a script, too.

    It is named by the number of its fault, or by the key of the latest focus in its own words.
    """
    student = gate.get_student(request, Permission.READ_RECORD, key)
    labels, rules = labels_for(student), rules_of(request.academy)
    every_judged, measures = judged_and_measured(student, rules, labels)
    pk = focus_key or number
    judged = next((found for found in every_judged if found.history.fault.pk == pk), None)
    if judged is None or not is_shown(judged.history, labels):
        raise Http404
    history = judged.history
    every = rows(history.points, labels)
    context = base_context(student, labels) | {
        "entry": make_entry(judged, labels, whole=True, measure=measures.get(skill_number(history))),
        "figures": figures(every, lines(every, history.spans, labels), labels) if labels is COACH else None,
    }
    return render(request, "loop/progress/explore.html", context)


def judged_and_measured(
    student: Student, rules: Rules, labels: HistoryLabels
) -> tuple[list[JudgedHistory], dict[int, MeasureEntry]]:
    """Every history with its judgement, and what was measured of each skill."""
    arrivals = arrivals_of(student)
    judged = judged_histories(student, rules, arrivals)
    skills = [each.history.fault.counted_skill for each in judged]
    return judged, measure_entries(arrivals, {skill.pk: skill for skill in skills if skill}, labels)


def skill_number(history: FaultHistory) -> int:
    """The number of the skill of which the measure stands beside a history; 0 for own words."""
    skill = history.fault.counted_skill
    return skill.pk if skill else 0


def base_context(student: Student, labels: HistoryLabels) -> dict[str, object]:
    """What both pages need."""
    return {"student": student, "labels": labels, "teaches": labels is COACH}


def labels_for(student: Student) -> HistoryLabels:
    """The trade's words for those who may read what coaches write; plain ones for the student and guardians."""
    return COACH if gate.is_allowed(student, Permission.READ_NOTES) else STUDENT
