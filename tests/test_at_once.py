"""Several people at the same moment: one wins, and the others see that."""

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Invitation, User
from coachbook.corrections.approvals.asking import age_request, ask
from coachbook.corrections.models import ApprovalRequest, Correction
from lessons.models import Still
from tests.make import (
    academy_today,
    fresh_key,
    make_academy,
    make_checkpoint,
    make_coach,
    make_factor,
    make_guardian,
    make_picture,
    make_picture_consent,
    make_student,
    make_user,
)

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(number: int, work: Callable[[int], object]) -> list[Any]:
    """What several threads come to that begin at the same moment."""
    results: list[Any] = [None] * number
    gate = threading.Barrier(number)

    def run(place: int) -> None:
        gate.wait()
        try:
            results[place] = work(place)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(place,)) for place in range(number)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results


def test_six_accept_an_invitation_at_once_and_one_wins() -> None:
    make_academy()
    user, manager = make_user("Wren Alderjay"), make_user("Odile Bramblewing", is_manager=True)
    link = reverse("invitation", args=[Invitation.issue(user, by=manager, at=timezone.now())])

    def accept(number: int) -> int:
        words = f"three dry bunkers {number}"
        return Client().post(link, {"new_password1": words, "new_password2": words}).status_code

    answers = at_once(6, accept)
    assert sorted(answers) == [302, 404, 404, 404, 404, 404]
    winner = answers.index(302)
    fits = [User.objects.get(pk=user.pk).check_password(f"three dry bunkers {number}") for number in range(6)]
    assert fits == [number == winner for number in range(6)]


def test_one_approves_while_another_refuses_and_one_of_them_decides() -> None:
    academy, coach = make_academy(), make_coach("Ida Fernkettle")
    child = make_student("Alder Quimble", coach=coach, birth_year=academy_today().year - 10)
    guardian, manager = make_guardian("Maud Plumsilk", child), make_user("Odile Bramblewing", is_manager=True)
    make_factor(manager)
    values = {"birth_year": 1980, "age_group": ""}
    row, _ = ask(age_request(child, by=coach.user, values=values), academy, timezone.now())
    clients = [Client(), Client()]
    for client, person in zip(clients, (guardian, manager), strict=True):
        client.force_login(person)

    def decide(number: int) -> str:
        data = {"decision": ("approve", "refuse")[number]}
        return clients[number].post(reverse("approval_decide", args=[row.key]), data, follow=True).content.decode()

    pages = at_once(2, decide)
    row = ApprovalRequest.objects.get()
    child.refresh_from_db()
    assert (row.outcome, child.birth_year == 1980, Correction.objects.count()) in [
        ("approved", True, 1),
        ("refused", False, 0),
    ]
    words = {"approved": "Approved by Maud Plumsilk", "refused": "Refused by Odile Bramblewing"}[row.outcome]
    assert all(words in page for page in pages)
    assert sum("decided already" in page for page in pages) == 1


def test_two_uploads_of_one_still_are_one_row(media: Path) -> None:
    make_academy()
    coach = make_coach("Ida Fernkettle")
    student = make_student("Alder Quimble", coach=coach, birth_year=1980)
    make_picture_consent(student)
    lesson_key, key, checkpoint = fresh_key(), fresh_key(), make_checkpoint()
    clients = [Client(), Client()]
    for client in clients:
        client.force_login(coach.user)

    def send(number: int) -> int:
        picture = SimpleUploadedFile("still.jpg", make_picture(), "image/jpeg")
        typed = {"picture": picture, "checkpoint": checkpoint.pk, "moment": "arrival", "view": "face_on"}
        return clients[number].post(reverse("still", args=[student.key, lesson_key, key]), typed).status_code

    assert at_once(2, send) == [302, 302]
    assert Still.objects.get().key == key
    assert len(list((media / "stills").iterdir())) == 2
