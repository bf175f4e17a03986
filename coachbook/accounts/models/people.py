"""People: users who sign in, coaches, students."""

import math
import re
from datetime import date
from typing import ClassVar, Self

from django.contrib.auth import models as auth
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.base import Area, KeyedModel, PlayingSides, sides_are_valid

NAME_LENGTH = 120
PHONE = re.compile(r"\+?[0-9 ()./-]+", re.ASCII)


def check_phone(words: str) -> None:
    """Refuse what is no telephone number: from 5 digits to the 15 of ITU-T E.164, and what is written between them."""
    if not PHONE.fullmatch(words) or not 5 <= len(re.sub(r"\D", "", words)) <= 15:
        raise ValidationError("Type a telephone number, such as +44 1632 960017.")


class UserManager(auth.UserManager["User"]):
    """Users, as their pages list them."""

    def for_list(self) -> models.QuerySet["User"]:
        """Everybody by name, with their profiles and the children they are guardians of."""
        return self.select_related("coach", "student").prefetch_related("guardianships__student").order_by("name")


class User(KeyedModel, auth.AbstractUser):
    """Someone who signs in, by e-mail or user name; a coach, student or guardian is a user with such a row."""

    first_name = last_name = None  # type: ignore[assignment]  # people have one name, in the order they say it
    name = models.CharField(max_length=NAME_LENGTH)
    is_manager = models.BooleanField(default=False)
    # Sessions that began before this moment are over: it is part of the hash that each of them holds.
    sessions_ended_at = models.DateTimeField(null=True, blank=True, editable=False)
    has_factor: bool  # whether there is a second factor, read by accounts/backend.py together with the user
    # Null where the owner alone saw it: it came by mail, or the password was chosen anew by a mailed link.
    link_seen_by = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
        verbose_name="who else saw the link that opened the account",
    )
    large_text = models.BooleanField(default=False)
    # The last address that was added from within the account: whoever saw the link that opened it could have done so.
    added_address = models.EmailField(blank=True, editable=False)
    history = HistoricalRecords(excluded_fields=["password", "last_login"])

    objects: ClassVar[UserManager] = UserManager()

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("username"), name="one_user_a_username"),
            models.UniqueConstraint(Lower("email"), name="one_user_an_email", condition=~Q(email="")),
        ]

    def __str__(self) -> str:
        return self.name or self.username

    def _get_session_auth_hash(self, secret: str | bytes | None = None) -> str:
        """What a session must hold: it changes with the password, and whenever all sessions are ended."""
        ended = self.sessions_ended_at.isoformat() if self.sessions_ended_at else ""
        salt = "coachbook.accounts.models.User.get_session_auth_hash"
        return salted_hmac(salt, f"{self.password} {ended}", secret=secret, algorithm="sha256").hexdigest()

    @property
    def is_coach(self) -> bool:
        """Whether this person teaches here."""
        return hasattr(self, "coach")

    @property
    def is_opened(self) -> bool:
        """Whether somebody has chosen a password or signed in: from then on a new link is a way into a used account."""
        return self.last_login is not None or self.has_usable_password()

    @property
    def has_added_address(self) -> bool:
        """Whether the address was added from within the account, so that a mail there proves no more than a sign-in."""
        return bool(self.email) and self.email.casefold() == self.added_address.casefold()

    @property
    def role(self) -> str:
        """What this person is at the academy, in one or two words."""
        roles = [
            ("manager", self.is_manager),
            ("coach", self.is_coach),
            ("student", hasattr(self, "student")),
        ]
        return ", ".join(word for word, holds in roles if holds) or "guardian"


class CoachQuerySet(models.QuerySet["Coach"]):
    """Coaches by account and name."""

    def teaching(self) -> Self:
        """Coaches whose accounts are open."""
        return self.filter(user__is_active=True)

    def named(self) -> Self:
        """By name, with their accounts."""
        return self.select_related("user").order_by("user__name", "pk")


class Coach(models.Model):
    """Someone who teaches at the academy."""

    user = models.OneToOneField(User, on_delete=models.PROTECT, related_name="coach")

    objects = CoachQuerySet.as_manager()

    def __str__(self) -> str:
        return self.user.name


class StudentQuerySet(models.QuerySet["Student"]):
    """Students by name, without merged duplicates."""

    def present(self) -> Self:
        """Without the duplicates that were merged into another student."""
        return self.filter(merged_into=None)

    def named(self, words: str) -> Self:
        """The students whose name holds every one of the words; more words than a name has letters are in none."""
        parts = words.replace("\0", " ").split()
        if len(parts) > NAME_LENGTH:
            return self.none()
        return self.filter(*(Q(name__icontains=part) for part in parts))


class Student(KeyedModel, PlayingSides):
    """Someone who is taught, with or without an account."""

    class Status(models.TextChoices):
        ACTIVE = "active"
        LEFT = "left", "has left"

    class AgeGroup(models.TextChoices):
        CHILD = "child"
        ADULT = "adult"

    user = models.OneToOneField(User, on_delete=models.PROTECT, null=True, blank=True, related_name="student")
    name = models.CharField(max_length=NAME_LENGTH)
    birth_year = models.PositiveSmallIntegerField("year of birth", null=True, blank=True)
    # What somebody said who knows no year; a year of birth decides in its place.
    age_group = models.CharField("child or adult", max_length=5, choices=AgeGroup, blank=True)
    status = models.CharField(max_length=6, choices=Status, default=Status.ACTIVE)
    # Read by the student, guardians, the coaches who teach them and managers; never on a sheet or in a calendar.
    phone = models.CharField("telephone", max_length=30, blank=True, validators=[check_phone])
    phone_of = models.CharField("whose number it is", max_length=40, blank=True)
    # Details, each of which may stay empty.
    goal = models.CharField("what they want to reach", max_length=200, blank=True)
    event = models.CharField("next event", max_length=120, blank=True)
    event_on = models.DateField("day of the event", null=True, blank=True)
    putting_grip = models.CharField("usual grip when putting", max_length=80, blank=True)
    chipping_grip = models.CharField("usual grip when chipping", max_length=80, blank=True)
    pitching_grip = models.CharField("usual grip when pitching", max_length=80, blank=True)
    bunker_grip = models.CharField("usual grip in bunkers", max_length=80, blank=True)
    putter_length = models.DecimalField("putter length, inches", max_digits=4, decimal_places=2, null=True, blank=True)
    putter_loft = models.DecimalField("putter loft, degrees", max_digits=3, decimal_places=1, null=True, blank=True)
    putter_lie = models.DecimalField("putter lie, degrees", max_digits=3, decimal_places=1, null=True, blank=True)
    equipment = models.CharField("anything else about their clubs", max_length=120, blank=True)
    practice_place = models.CharField("where they can practise", max_length=200, blank=True)
    practice_minutes = models.PositiveSmallIntegerField("minutes a day they can practise", null=True, blank=True)
    practice_days = models.PositiveSmallIntegerField("days a week they can practise", null=True, blank=True)
    limits = models.CharField("pain or limits they reported", max_length=200, blank=True)
    # True for a walk-in, added with a name and a playing side only; false once somebody completed the details.
    walked_in = models.BooleanField("added as a walk-in", default=False, editable=False)
    # While an erasure is planned: its day stands on the page of the student, which asks no further table.
    erase_from = models.DateField("day from which everything is to be erased", null=True, editable=False)
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, editable=False, related_name="merged"
    )
    history = HistoricalRecords()

    objects = StudentQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="student_sides_known",
                condition=sides_are_valid(),
            ),
            models.CheckConstraint(name="age_group_known", condition=Q(age_group__in=("", "child", "adult"))),
            models.CheckConstraint(name="student_has_a_name", condition=~Q(name="")),
            models.CheckConstraint(name="owner_of_a_phone", condition=Q(phone_of="") | ~Q(phone="")),
            models.CheckConstraint(name="day_of_an_event", condition=Q(event_on=None) | ~Q(event="")),
            models.CheckConstraint(name="not_merged_into_itself", condition=~Q(merged_into=models.F("id"))),
        ]

    def __str__(self) -> str:
        return self.name

    def is_junior(self, on: date, adult_at: int = 18) -> bool:
        """Whether guardians decide for them: until the end of the year in which they reach the age of `adult_at`.

        Of whom nobody knows the year of birth is a junior, unless somebody said that they are an adult.
        """
        return on.year <= self.last_year_as_junior(adult_at)

    def last_year_as_junior(self, adult_at: int) -> float:
        """The year at whose end they come of age; infinite where no year of birth says so."""
        if self.birth_year is None:
            return -math.inf if self.age_group == self.AgeGroup.ADULT else math.inf
        return self.birth_year + adult_at

    def is_known_junior(self, on: date, adult_at: int) -> bool:
        """Whether they are known to be a junior: only then do pages and sheets speak to somebody young."""
        return self.is_junior(on, adult_at) and bool(self.birth_year or self.age_group)

    def is_child(self, on: date, until: int) -> bool:
        """Whether they get the sheet for a child: until the end of the year in which they reach this age."""
        return self.birth_year is not None and on.year - self.birth_year <= until

    @property
    def phone_link(self) -> str:
        """The telephone as a link by RFC 3966: digits alone, and after a country's code no nought in brackets."""
        number = self.phone.replace("(0)", "") if self.phone.startswith("+") else self.phone
        return f"tel:{re.sub(r'[^+0-9]', '', number)}"

    @property
    def grips(self) -> list[tuple[Area, str]]:
        """The usual grip of every area for which one is recorded."""
        return [(area, grip) for area in Area if (grip := getattr(self, f"{area.value}_grip"))]
