"""The figures of this site, for the page that says when to change the database."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

from django.db import connection
from django.db.models import BigIntegerField, Count, Func
from django.db.models.functions import TruncMinute

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.operations.growth.advice import Figures
from drills.models import PracticeEntry
from lessons.models import Lesson

DAYS = 30
WRITTEN = (Lesson, PracticeEntry)


def measure(at: datetime) -> Figures:
    """Count and measure, by a few questions that each look at some days or at no row at all."""
    minutes = writers_by_minute(at - timedelta(days=DAYS))
    return Figures(
        is_postgresql=connection.vendor == "postgresql",
        size=size_of_database(),
        students=Student.objects.count(),
        coaches=Coach.objects.filter(user__is_active=True).count(),
        lessons=Lesson.objects.complete().count(),
        saves=sum(number for people in minutes for number in people.values()),
        busiest=max((len(people) for people in minutes), default=0),
    )


def writers_by_minute(since: datetime) -> Iterable[dict[int, int]]:
    """For each minute in which somebody saved: how often each person did."""
    found: dict[datetime, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for model in WRITTEN:
        history = model.history.filter(history_date__gte=since, history_user__isnull=False)
        minutes = history.order_by().annotate(minute=TruncMinute("history_date"))
        for minute, person, number in minutes.values_list("minute", "history_user").annotate(Count("pk")):
            found[minute][person] += number
    return found.values()


def size_of_database() -> int:
    """Bytes of the database on its disk."""
    if connection.vendor == "sqlite":
        return Path(connection.settings_dict["NAME"]).stat().st_size
    size = Func(Func(function="current_database"), function="pg_database_size", output_field=BigIntegerField())
    measured: int = Academy.objects.annotate(size=size).values_list("size", flat=True)[0]
    return measured
