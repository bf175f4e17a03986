"""Storing all new students of a file, or none."""

from datetime import date

from django.db import transaction
from simple_history.utils import bulk_create_with_history

from coachbook.accounts.models import Academy, Care, Student, User
from coachbook.loop.students_file.plan import Plan, Reader, Row, make_plan


class Changed(Exception):
    """The plan is another one by now; nothing was stored. Holds the new plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        super().__init__()


@transaction.atomic
def save_students(table: list[list[str]], reader: Reader, *, previewed: int) -> Plan:
    """Store the new students of a table, with their accounts, their care, and the history of all of it.

    `previewed` is how many the person saw as new; raises Changed where there are others now.
    """
    list(Academy.objects.select_for_update())  # one file at a time: the second one finds what the first one stored
    plan = make_plan(table, reader)
    if plan.problems or len(plan.new) != previewed:
        raise Changed(plan)
    store_accounts(plan.new, reader.user)
    bulk_create_with_history([row.student for row in plan.new], Student, default_user=reader.user)
    cares = [care_of(row, reader.today) for row in plan.new]
    bulk_create_with_history(cares, Care, default_user=reader.user)
    return plan


def store_accounts(rows: list[Row], by: User) -> None:
    """An account for each row with an address; nobody can sign in to it before an invitation."""
    with_address = [row for row in rows if row.email]
    users = [User(name=row.student.name, email=row.email, username=row.username) for row in with_address]
    for user in users:
        user.set_unusable_password()
    bulk_create_with_history(users, User, default_user=by)
    for row, user in zip(with_address, users, strict=True):
        row.student.user = user


def care_of(row: Row, today: date) -> Care:
    """The care of a new student, from today."""
    assert row.coach
    return Care(coach=row.coach, student=row.student, since=today)
