"""Fills the database of DATA_DIR with the cast, and prints for each who may sign in the key of a session."""

import json

import django
from django.conf import settings
from django.core.management import call_command


class WithoutMigrations:
    """Tables straight from the models: what a test needs in a second."""

    def __contains__(self, app: str) -> bool:
        return True

    def __getitem__(self, app: str) -> None:
        return None


def main() -> None:
    settings.MIGRATION_MODULES = WithoutMigrations()
    django.setup()
    call_command("migrate", run_syncdb=True, verbosity=0)

    from django.test import Client

    from lessons.log import open_focus
    from tests import make
    from tests.conftest import make_cast

    cast = make_cast()
    fault = make.make_fault(make.make_skill("grip"), "apart")
    lesson = make.make_lesson(
        cast.student, cast.coach, keep="Calm rhythm", status="complete", completed_at="2026-06-01T11:00Z", putting=True
    )
    focus = open_focus(lesson=lesson, key=make.fresh_key(), values={"area": "putting", "fault": fault})
    given = make.make_prescription(lesson, focus, begins=make.academy_today())
    other = make.make_student("Rosalind Tuftle", coach=cast.coach)
    sessions = {}
    for actor in ("coach", "manager", "student", "guardian"):
        client = Client()
        client.force_login(cast.user(actor))
        sessions[actor] = client.cookies[settings.SESSION_COOKIE_NAME].value
    keys = {"student": str(cast.student.key), "other": str(other.key), "prescription": str(given.key)}
    print(json.dumps({"sessions": sessions, "keys": keys}))


if __name__ == "__main__":
    main()
