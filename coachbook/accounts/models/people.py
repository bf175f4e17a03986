"""People, and how they belong together."""

from datetime import date
from functools import reduce
from operator import or_
from typing import Any, ClassVar, Self

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.db.models import Exists, F, OuterRef, Prefetch, Q, Value
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.shapes import Area, Areas, Keyed, PlayingSides, sides_known, some_area


class Tie(models.TextChoices):
    """How a signed-in person belongs to a student, or to the academy."""

    ANYONE = "anyone signed in"
    STAFF = "any coach"
    MANAGER = "manager"
    SELF = "the student"
    GUARDIAN = "guardian"
    MAIN = "main coach"
    COVER = "cover coach"
    ASSISTANT = "assistant coach"


class People(UserManager["User"]):
    """Those who sign in."""

    def for_list(self) -> models.QuerySet["User"]:
        """Everybody by name, with what each is here."""
        return self.select_related("coach", "student").prefetch_related("guardianships__student").order_by("name")


class User(Keyed, AbstractUser):
    """Someone who signs in, by e-mail or user name; what they are follows from the rows tied to them."""

    first_name = None  # type: ignore[assignment]  # people have one name, in the order they say it
    last_name = None  # type: ignore[assignment]  # the same
    name = models.CharField(max_length=120)
    is_manager = models.BooleanField(default=False)
    history = HistoricalRecords(excluded_fields=["password", "last_login"])

    objects: ClassVar[People] = People()

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("username"), name="one_user_a_username"),
            models.UniqueConstraint(Lower("email"), name="one_user_an_email", condition=~Q(email="")),
        ]

    def __str__(self) -> str:
        return self.name or self.username

    @property
    def is_coach(self) -> bool:
        """Whether this person teaches here."""
        return hasattr(self, "coach")

    @property
    def role(self) -> str:
        """What this person is here, in one or two words."""
        roles = [
            ("manager", self.is_manager),
            ("coach", self.is_coach),
            ("student", hasattr(self, "student")),
        ]
        return ", ".join(word for word, holds in roles if holds) or "guardian"


class Coach(models.Model):
    """Someone who teaches at the academy."""

    user = models.OneToOneField(User, on_delete=models.PROTECT, related_name="coach")

    def __str__(self) -> str:
        return self.user.name


class StudentQuerySet(models.QuerySet["Student"]):
    """Students by how they belong to a person."""

    def with_ties(self, user: User, on: date) -> Self:
        """Mark each student with `tie_…`, one for each way the person may belong to them on that day."""
        return self.annotate(**{f"tie_{tie.name}": test for tie, test in tie_tests(user, on).items()})

    def tied(self, user: User, ties: frozenset[Tie], on: date) -> Self:
        """The students to whom the person belongs in one of these ways."""
        tests = [Q(test) for tie, test in tie_tests(user, on).items() if tie in ties]
        return self.filter(reduce(or_, tests, Q(pk__in=[])))

    def named(self, words: str) -> Self:
        """The students whose name holds every one of the words."""
        return self.filter(*(Q(name__icontains=word) for word in words.replace("\0", " ").split()))

    def for_list(self, on: date) -> Self:
        """With their accounts and the coaches who care for them on a day."""
        cares = Care.objects.in_force(on).select_related("coach__user")
        return self.select_related("user").prefetch_related(Prefetch("cares", cares))


def tie_tests(user: User, on: date) -> dict[Tie, Any]:
    """For each tie the condition, on a student's row, that it holds on a day."""
    cares = Care.objects.filter(student=OuterRef("pk"), coach__user=user).in_force(on)
    guards = Guardianship.objects.filter(student=OuterRef("pk"), guardian=user)
    return {
        Tie.SELF: Exists(Student.objects.filter(pk=OuterRef("pk"), user=user)),
        Tie.GUARDIAN: Exists(guards),
        Tie.MAIN: Exists(cares.filter(role=Care.Role.MAIN)),
        Tie.COVER: Exists(cares.filter(role=Care.Role.COVER)),
        Tie.ASSISTANT: Exists(cares.filter(role=Care.Role.ASSISTANT)),
        Tie.MANAGER: Value(user.is_manager, output_field=models.BooleanField()),
    }


class Student(Keyed, PlayingSides):
    """Someone who is taught, with or without an account."""

    class Status(models.TextChoices):
        ACTIVE = "active"
        PAUSED = "paused"
        LEFT = "left", "has left"

    user = models.OneToOneField(User, on_delete=models.PROTECT, null=True, blank=True, related_name="student")
    name = models.CharField(max_length=120)
    birth_year = models.PositiveSmallIntegerField("year of birth", null=True, blank=True)
    status = models.CharField(max_length=6, choices=Status, default=Status.ACTIVE)
    grip = models.CharField("usual grip", max_length=120, blank=True)
    equipment = models.CharField("putter length, loft and lie", max_length=120, blank=True)
    practice_place = models.CharField("where and how much they can practise", max_length=200, blank=True)
    limits = models.CharField("pain or limits they told of", max_length=200, blank=True)
    history = HistoricalRecords()

    objects = StudentQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="student_sides_known",
                condition=sides_known(),
            ),
            models.CheckConstraint(name="student_has_a_name", condition=~Q(name="")),
        ]

    def __str__(self) -> str:
        return self.name

    def is_junior(self, on: date, adult_at: int = 18) -> bool:
        """Whether somebody else decides for them: until the year in which they come of age is over."""
        return self.birth_year is not None and on.year - self.birth_year <= adult_at


class Guardianship(models.Model):
    """A parent or other guardian of a student; a child may have two, a guardian several children."""

    guardian = models.ForeignKey(User, on_delete=models.PROTECT, related_name="guardianships")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="guardianships")
    history = HistoricalRecords()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["guardian", "student"], name="guardian_once")]

    def __str__(self) -> str:
        return f"{self.guardian} for {self.student}"


class CareQuerySet(models.QuerySet["Care"]):
    """Care by the day."""

    def in_force(self, on: date) -> Self:
        """The care that holds on a day; both its first and its last day count."""
        return self.filter(Q(until=None) | Q(until__gte=on), since__lte=on)


class Care(Areas):
    """A coach's charge of a student, for some areas, from a day until a day."""

    class Role(models.TextChoices):
        MAIN = "main"
        COVER = "cover"
        ASSISTANT = "assistant"

    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, related_name="cares")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="cares")
    role = models.CharField(max_length=9, choices=Role, default=Role.MAIN)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    history = HistoricalRecords()

    objects = CareQuerySet.as_manager()

    class Meta:
        ordering = ["-since"]
        constraints = [
            models.CheckConstraint(
                name="care_ends_after_it_begins", condition=Q(until=None) | Q(until__gte=F("since"))
            ),
            models.CheckConstraint(name="care_covers_an_area", condition=some_area()),
        ] + [
            models.UniqueConstraint(
                fields=["student"],
                name=f"one_main_coach_for_{area}",
                condition=Q(role="main", until=None, **{area: True}),
            )
            for area in Area.values
        ]

    def __str__(self) -> str:
        return f"{self.coach} ({self.role}) for {self.student}"
