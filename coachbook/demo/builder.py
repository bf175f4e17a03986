"""The rows of the demo's year, collected first and then written at once, each with its history."""

import zoneinfo
from copy import copy
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, TypeVar

from django.db.models import Model
from simple_history.utils import bulk_create_with_history

from coachbook.accounts.models import User
from drills.models import Drill, PracticeEntry, Prescription
from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, SeenFocus, Session, Skill

Row = TypeVar("Row", bound=Model)


@dataclass
class YearBuilder:
    """The catalogue, and all rows of the year that are not written yet."""

    zone: zoneinfo.ZoneInfo
    skills: dict[str, Skill]
    faults: dict[str, Fault]
    drills: dict[str, list[Drill]]
    sessions: dict[tuple[int, datetime], Session] = field(default_factory=dict)
    lessons: list[Lesson] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)
    seen: list[SeenFault] = field(default_factory=list)
    seen_focuses: list[SeenFocus] = field(default_factory=list)
    focuses: list[Focus] = field(default_factory=list)
    prescriptions: list[Prescription] = field(default_factory=list)
    entries: list[PracticeEntry] = field(default_factory=list)
    closed: list[tuple[Focus, Lesson]] = field(default_factory=list)
    replaced: list[tuple[Prescription, Lesson]] = field(default_factory=list)


def by(row: Row, user: User | None, at: datetime) -> Row:
    """The row, with whose hand its history names and when that wrote."""
    vars(row).update(_history_user=user, _history_date=at)
    return row


def by_coach(row: Row, lesson: Lesson) -> Row:
    """The row, written by the lesson's coach right after the lesson."""
    return by(row, lesson.session.coach.user, after(lesson.session))


def after(session: Session) -> datetime:
    """When a session is written up."""
    return session.starts_at + timedelta(minutes=session.planned_minutes + 5)


def write(builder: YearBuilder) -> None:
    """Write all rows, each with its history."""
    bulk_create_with_history(list(builder.sessions.values()), Session)
    bulk_create_with_history(builder.lessons, Lesson)
    bulk_create_with_history(builder.looks, Look)
    bulk_create_with_history(builder.observations, Observation)
    bulk_create_with_history(builder.seen, SeenFault)
    write_ended(Focus, builder.focuses, "closed_in", builder.closed)
    bulk_create_with_history(builder.seen_focuses, SeenFocus)
    write_ended(Prescription, builder.prescriptions, "ended_on", builder.replaced)
    bulk_create_with_history(builder.entries, PracticeEntry)


def write_ended(model: Any, rows: list[Row], ending: str, ended: list[tuple[Row, Lesson]]) -> None:
    """Write rows that began in a lesson and, some of them, ended in a later one: their history tells both."""
    model.objects.bulk_create(rows)
    begun = [copy(row) for row in rows]
    for row in begun:
        setattr(row, ending, None)
    model.history.bulk_history_create(begun)
    model.history.bulk_history_create([by_coach(row, lesson) for row, lesson in ended], update=True)
