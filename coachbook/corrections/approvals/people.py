"""Who is concerned by a change that waits, who may approve it, and who may refuse it."""

from dataclasses import dataclass
from datetime import date

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX
from django.db.models import Exists, OuterRef, Q, QuerySet

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.links import link_chains
from coachbook.accounts.models import Academy, Care, Student, User
from coachbook.accounts.relationships import Viewer, relationship_conditions
from coachbook.corrections.models import ApprovalRequest, ApprovalRequestQuerySet


@dataclass(frozen=True)
class Concerned:
    """Everybody whom a change concerns, with an open account, without the person who asked for it."""

    deciding: list[User]  # the second persons: any of them approves or refuses
    family: list[User]  # guardians, the student if adult, the owner of the account: they may refuse
    managers: list[User]
    coaches: list[User]

    @property
    def notified(self) -> list[User]:
        """Each person once."""
        return list(dict.fromkeys([*self.deciding, *self.family, *self.managers, *self.coaches]))

    @property
    def refusing(self) -> list[User]:
        """Those who may refuse: coaches may not, since a change may protect a child from one."""
        return list(dict.fromkeys([*self.deciding, *self.family, *self.managers]))


def people_concerned(request: ApprovalRequest, academy: Academy, on: date) -> Concerned:
    """Whom a change concerns on a day."""
    others = User.objects.filter(is_active=True).exclude(pk=request.asked_by_id).order_by("name", "pk")
    students = [student for student in (request.student, request.other_student) if student]
    juniors = [student for student in students if student.is_junior(on, academy.adult_at)]
    owners = [request.person_id, *(student.user_id for student in students if student not in juniors)]
    guardians = [list(guardians_of(others, student, on)) for student in juniors]
    managers = list(others.filter(is_manager=True))
    cares = Care.objects.filter(student__in=students, role=Care.Role.MAIN).in_force(on)
    candidates = managers if request.person_id else [*next(filter(None, guardians), []), *managers]
    return Concerned(
        deciding=second_persons(candidates, request.asked_by),
        family=[
            *(guardian for of_one in guardians for guardian in of_one),
            *others.filter(pk__in=filter(None, owners)),
        ],
        managers=managers,
        coaches=list(others.filter(coach__in=cares.values("coach"))),
    )


def readable_requests(user: User, academy: Academy, on: date) -> ApprovalRequestQuerySet:
    """The requests that a person may read on a day; who had to do with one as a coach alone, while they teach them."""
    rows = ApprovalRequest.objects.readable_by(user)
    if user.is_manager or not user.is_coach:
        return rows
    taught = gate.students_with(relationship_conditions(Viewer.of(user), academy, on), Permission.READ_RECORD)
    concerned = Student.objects.present().filter(
        Q(pk=OuterRef("student")) | Q(pk=OuterRef("other_student")) | Q(user=OuterRef("person"))
    )
    own = concerned.filter(Q(user=user) | Q(guardianships__guardian=user))
    return rows.filter(Exists(own) | ~Exists(concerned.exclude(pk__in=taught.values("pk"))))


def guardians_of(people: QuerySet[User], student: Student, on: date) -> QuerySet[User]:
    """Those of the people who are guardians of a student."""
    return people.filter(pk__in=student.guardianships.in_force(on).values("guardian"))


def second_persons(candidates: list[User], first: User) -> list[User]:
    """Those whose accounts are in use, and were not opened by the first person's doing, nor the other way round."""
    chains = link_chains([first, *candidates])
    return [
        person
        for person in dict.fromkeys(candidates)
        if chains[person.pk].isdisjoint(chains[first.pk]) and not person.password.startswith(UNUSABLE_PASSWORD_PREFIX)
    ]
