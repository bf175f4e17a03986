"""Stills of a lesson: taken without a script, kept once, shown through the gate alone, and only with consent."""

import io
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from lessons.models import Lesson, Still
from tests.make import (
    fresh_key,
    make_academy,
    make_checkpoint,
    make_coach,
    make_picture,
    make_picture_consent,
    make_student,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


def client_of(user: Any) -> Client:
    client = Client()
    client.force_login(user)
    return client


def sent(data: bytes | None = None, name: str = "IMG_0001.jpg", **values: Any) -> dict[str, Any]:
    """What the form sends."""
    picture = SimpleUploadedFile(name, make_picture() if data is None else data, "image/jpeg")
    shows = {"checkpoint": make_checkpoint().pk, "moment": "arrival", "view": "face_on", "caption": "Ball too far up."}
    return {"picture": picture, **shows, **values}


def test_a_still_is_taken_before_anything_else_of_the_log() -> None:
    make_academy()
    coach = make_coach("Ida")
    student = make_student("Alder", coach=coach, birth_year=2014)
    make_picture_consent(student)
    client, lesson_key, key = client_of(coach.user), fresh_key(), fresh_key()
    page = client.get(reverse("stills", args=[student.key, lesson_key]))
    assert page.status_code == 200 and not Lesson.objects.exists()  # reading begins nothing
    address = reverse("still", args=[student.key, lesson_key, key])
    for _ in range(2):  # a double tap keeps one
        answer = client.post(address, sent())
        assert answer.status_code == 302 and answer["Location"] == reverse("stills", args=[student.key, lesson_key])
    still = Still.objects.get()
    assert (still.key, still.lesson.key, still.lesson.status) == (key, lesson_key, "draft")
    assert (still.width, still.height, still.caption) == (480, 640, "Ball too far up.")
    assert len(default_storage.listdir("stills")[1]) == 2
    page = client.get(reverse("stills", args=[student.key, lesson_key]))
    assert "Address, face-on, on arrival: Ball too far up." in page.content.decode()
    for name in ("still_picture", "still_thumbnail"):
        file = client.get(reverse(name, args=[student.key, lesson_key, key]))
        assert Image.open(io.BytesIO(file.content)).format == "JPEG" and file["Content-Type"] == "image/jpeg"
        assert file["Cache-Control"] == "private, no-store" and "sandbox" in file["Content-Security-Policy"]
        assert file["X-Content-Type-Options"] == "nosniff" and file["Cross-Origin-Resource-Policy"] == "same-origin"
        assert str(key) in file["Content-Disposition"] and "IMG" not in file["Content-Disposition"]
    for path in (still.path, still.thumbnail_path):
        assert client.get(f"/media/{path}").status_code == 404
    assert client.get(reverse("lesson", args=[student.key, lesson_key])).status_code == 200
