"""What happened: session, lesson, look, observation, seen fault, and the focuses that follow from them.

A one-to-one hour is a session with one lesson and two looks. *Not looked at* is the absence of an observation
and is never stored as good.
"""

from typing import Any, Self

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q

from coachbook.accounts.models import (
    Area,
    AreaFlags,
    Coach,
    KeyedModel,
    PlayingSides,
    Student,
    covers_an_area,
    is_one_of,
    sides_are_valid,
)
from lessons.measures import format_decimal
from lessons.models.catalogue import Fault, Skill
from lessons.models.reasoned_history import ReasonedHistory


class Reader(models.TextChoices):
    """Who reads what a coach writes in their own words; all of it may have to be disclosed when a person asks."""

    COACH = "coach", "me and the managers"
    ACADEMY = "academy", "every coach who teaches them"
    STUDENT = "student", "the student, too"


class Session(KeyedModel):
    """A time at which a coach taught one student or several."""

    class Kind(models.TextChoices):
        LESSON = "lesson"
        GROUP = "group"
        COURSE = "course", "course walk"
        CLIP = "clip", "clip sent in"

    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, related_name="sessions")
    starts_at = models.DateTimeField()
    name = models.CharField("what a group is called", max_length=60, blank=True)
    place = models.CharField(max_length=80, blank=True)
    kind = models.CharField(max_length=6, choices=Kind, default=Kind.LESSON)
    planned_minutes = models.PositiveSmallIntegerField(default=60, validators=[MaxValueValidator(600)])
    green_speed = models.DecimalField("stimp, feet", max_digits=3, decimal_places=1, null=True, blank=True)
    surface = models.CharField(max_length=40, blank=True)
    filmed_on = models.DateField("day on which a clip was filmed", null=True, blank=True)
    history = ReasonedHistory()

    class Meta:
        ordering = ["-starts_at"]

    def __str__(self) -> str:
        return f"{self.kind} on {self.starts_at:%Y-%m-%d}"


class LessonQuerySet(models.QuerySet["Lesson"]):
    """Lessons filtered by whether they are complete."""

    def complete(self) -> Self:
        """Finished lessons: only these count, and a student reads only these."""
        return self.filter(status=Lesson.Status.COMPLETE)

    def latest_first(self) -> Self:
        """The newest first, with session and coach already joined."""
        return self.select_related("session__coach__user").order_by("-session__starts_at", "-pk")


class Lesson(KeyedModel, PlayingSides, AreaFlags):
    """One student's part of a session, with the playing sides as they were on that day."""

    class Attendance(models.TextChoices):
        KEPT = "kept"
        ABSENT = "absent", "did not come"

    class PracticeReported(models.TextChoices):
        """How much of the practice the student reports at arrival; not asked is not the same as none."""

        NOT_ASKED = "", "not asked"
        NONE = "none", "none"
        SOME = "some", "some"
        MOST = "most", "most"
        ALL = "all", "all"

    class Status(models.TextChoices):
        DRAFT = "draft"
        COMPLETE = "complete"

    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="lessons")
    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="lessons")
    attendance = models.CharField(max_length=6, choices=Attendance, default=Attendance.KEPT)
    practice_reported = models.CharField(
        max_length=4, choices=PracticeReported, blank=True, default=PracticeReported.NOT_ASKED
    )
    keep = models.TextField(blank=True)
    next_time = models.TextField("what to look at next time", blank=True)
    note = models.TextField(blank=True)
    note_reader = models.CharField("who reads the note", max_length=7, choices=Reader, default=Reader.COACH)
    status = models.CharField(max_length=8, choices=Status, default=Status.DRAFT)
    # The student's own focus that is the one for everyone in a group: their sheet begins with it.
    shared_focus = models.ForeignKey("Focus", on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    completed_at = models.DateTimeField(null=True, blank=True)
    stills_to_come = models.BooleanField("a picture is still to come", default=False, editable=False)
    # Which page saved last, and how often: that page may go on saving, an older page may not overwrite it.
    version = models.PositiveIntegerField(default=0, editable=False)
    page = models.CharField(max_length=36, blank=True, editable=False)
    page_count = models.PositiveIntegerField(default=0, editable=False)
    # What was typed of focuses and could not be saved yet, with the errors: it is shown again until it can be.
    unsaved: "models.JSONField[dict[str, Any], dict[str, Any]]" = models.JSONField(default=dict, editable=False)
    history = ReasonedHistory(excluded_fields=["version", "page", "page_count", "unsaved"])

    objects = LessonQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["session", "student"], name="one_lesson_a_student_a_session"),
            models.CheckConstraint(
                name="lesson_sides_known",
                condition=sides_are_valid(),
            ),
            models.CheckConstraint(name="lesson_covers_an_area", condition=covers_an_area()),
            models.CheckConstraint(
                name="complete_since_a_moment", condition=Q(status="draft") | Q(completed_at__isnull=False)
            ),
            models.CheckConstraint(name="note_reader_known", condition=is_one_of("note_reader", Reader)),
        ]

    def __str__(self) -> str:
        return f"{self.student}, {self.session}"

    @classmethod
    def for_student(cls, student: Student, session: Session, **values: object) -> "Lesson":
        """A lesson not yet saved, with the student's playing sides frozen on it."""
        sides = {f"{area}_side": side for area, side in student.sides.items()}
        return cls(student=student, session=session, **sides, **values)


class Look(models.Model):
    """One moment at which a coach looked at a student: on arrival, on departure, or in between."""

    class Kind(models.TextChoices):
        ARRIVAL = "arrival"
        DURING = "during"
        DEPARTURE = "departure"
        CLIP = "clip"
        COURSE = "course"
        TEST = "test"

    class Means(models.TextChoices):
        EYE = "eye", "by eye"
        FILM = "film"

    lesson = models.ForeignKey(Lesson, on_delete=models.CASCADE, related_name="looks")
    kind = models.CharField(max_length=9, choices=Kind)
    prompted = models.BooleanField("after advice", default=False)
    means = models.CharField(max_length=4, choices=Means, default=Means.EYE)
    history = ReasonedHistory()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["lesson", "kind"],
                name="one_arrival_one_departure",
                condition=Q(kind__in=("arrival", "departure")),
            ),
            models.CheckConstraint(name="arrival_is_unprompted", condition=~Q(kind="arrival", prompted=True)),
        ]

    def __str__(self) -> str:
        return f"{self.kind} look"


class Observation(models.Model):
    """What one look showed of one skill."""

    class Verdict(models.TextChoices):
        """A skill with only a measurement or a comment is not graded."""

        GOOD = "good"
        NOT_GOOD = "not_good", "not good"
        NOT_GRADED = "not_graded", "not graded"

    look = models.ForeignKey(Look, on_delete=models.CASCADE, related_name="observations")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="observations")
    verdict = models.CharField(max_length=10, choices=Verdict)
    measure = models.DecimalField(
        "what was measured, in the unit of the skill", max_digits=6, decimal_places=2, null=True, blank=True
    )
    # What was typed where no number can be read. Every reader of the log reads it, as they read a number: so it is
    # not among the words, which have a reader of their own.
    measure_words = models.CharField("what was measured, in words", max_length=40, blank=True)
    # What was measured in a still; a number that is typed over it was not.
    read_from = models.ForeignKey(
        "StillMeasure", on_delete=models.SET_NULL, null=True, blank=True, related_name="observations", editable=False
    )
    words = models.TextField(blank=True)
    reader = models.CharField(max_length=7, choices=Reader, default=Reader.COACH)
    history = ReasonedHistory()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["look", "skill"], name="a_skill_once_a_look"),
            models.CheckConstraint(name="measure_in_number_or_words", condition=Q(measure=None) | Q(measure_words="")),
            models.CheckConstraint(
                name="only_a_number_is_read_from_a_still", condition=Q(read_from=None) | Q(measure__isnull=False)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.skill}: {self.get_verdict_display()}"

    @property
    def measured(self) -> str:
        """What was measured, with its unit, or in words; empty where nothing was."""
        if self.measure is None:
            return self.measure_words
        measure = self.skill.measured
        return measure.value(self.measure) if measure else format_decimal(self.measure)

    @property
    def measured_and_how(self) -> str:
        """What was measured, and where that is so, that it was read from a still."""
        return f"{self.measured}, read from the picture" if self.read_from_id else self.measured


class SeenFault(models.Model):
    """A fault that was seen at one look, and its degree."""

    class Degree(models.TextChoices):
        SLIGHT = "slight"
        CLEAR = "clear"
        NOT_GRADED = "not_graded", "seen, not graded"

    observation = models.ForeignKey(Observation, on_delete=models.CASCADE, related_name="seen_faults")
    fault = models.ForeignKey(Fault, on_delete=models.PROTECT, related_name="seen")
    degree = models.CharField(max_length=10, choices=Degree, default=Degree.NOT_GRADED)
    history = ReasonedHistory()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["observation", "fault"], name="a_fault_once_an_observation")]

    def __str__(self) -> str:
        return f"{self.fault}, {self.get_degree_display()}"


class FocusQuerySet(models.QuerySet["Focus"]):
    """Focuses filtered by whether they are open."""

    def open(self) -> Self:
        """Focuses that are not closed, with fault, skill and session already joined."""
        return self.filter(closed_in=None).select_related("fault__skill", "opened_in__session")

    def agreed(self) -> Self:
        """Focuses that a student works on: what a draft opens or closes does not count yet."""
        drafts = Lesson.objects.filter(status=Lesson.Status.DRAFT)  # few: quicker than a join for each focus
        closed = Q(closed_in=None) | Q(closed_in__in=drafts)
        return self.filter(closed, opened_in__status="complete").select_related("fault__skill", "opened_in__session")


class Focus(KeyedModel):
    """One of the one or two things a student works on; a third needs a reason and there is no fourth."""

    class Kind(models.TextChoices):
        FIX = "fix", "work on it"
        TRIAL = "trial"

    class Decision(models.TextChoices):
        OPEN = "", "not decided"
        KEPT = "kept"
        DROPPED = "dropped"

    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="focuses")
    slot = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=5, choices=Kind, default=Kind.FIX)
    area = models.CharField(max_length=8, choices=Area)
    fault = models.ForeignKey(Fault, on_delete=models.PROTECT, null=True, blank=True, related_name="focuses")
    what = models.CharField("in your own words", max_length=200, blank=True)
    feel = models.CharField(max_length=300, blank=True)
    reason = models.CharField("reason for a third", max_length=200, blank=True)
    opened_in = models.ForeignKey(Lesson, on_delete=models.PROTECT, related_name="focuses_opened")
    closed_in = models.ForeignKey(
        Lesson, on_delete=models.PROTECT, null=True, blank=True, related_name="focuses_closed"
    )
    decide_on = models.DateField("decision day of a trial", null=True, blank=True)
    decision = models.CharField(max_length=7, choices=Decision, blank=True, default=Decision.OPEN)
    history = ReasonedHistory()

    objects = FocusQuerySet.as_manager()

    class Meta:
        ordering = ["slot"]
        constraints = [
            models.CheckConstraint(
                name="two_focuses_or_a_reason", condition=Q(slot__in=(1, 2)) | (Q(slot=3) & ~Q(reason=""))
            ),
            models.UniqueConstraint(
                fields=["student", "slot"], name="one_open_focus_a_slot", condition=Q(closed_in=None)
            ),
            models.CheckConstraint(name="focus_says_what", condition=~Q(fault=None) | ~Q(what="")),
            models.CheckConstraint(name="trial_has_a_day", condition=~Q(kind="trial") | ~Q(decide_on=None)),
            models.CheckConstraint(name="only_a_trial_is_decided", condition=Q(kind="trial") | Q(decision="")),
        ]

    def __str__(self) -> str:
        return self.what or str(self.fault)

    @property
    def code(self) -> str:
        """What names it in a log, where it is looked at as a skill of its own."""
        return f"focus-{self.key}"

    @property
    def is_own_words(self) -> bool:
        """Whether no fault of the catalogue says what it is."""
        return self.fault_id is None
