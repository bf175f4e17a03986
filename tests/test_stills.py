"""Stills of a lesson: taken without a script, kept once, shown through the gate alone, and only with consent."""

import errno
import io
import itertools
import os
import uuid
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import FileSystemStorage, default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from coachbook.accounts.models import Academy, Coach, Consent, Student
from coachbook.accounts.pictures import Answer, picture_consent
from coachbook.accounts.relationships import KEEPS_NONE
from coachbook.loop.log.save import finish_lesson
from lessons.models import Checkpoint, Lesson, Still
from lessons.stills.rows import shown_stills
from tests import hostile
from tests.make import (
    academy_today,
    fresh_key,
    make_academy,
    make_checkpoint,
    make_coach,
    make_consent,
    make_guardian,
    make_lesson,
    make_manager,
    make_picture,
    make_picture_consent,
    make_still,
    make_student,
    make_user,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


@pytest.fixture
def coach() -> Coach:
    make_academy()
    return make_coach("Ida Fernkettle")


@pytest.fixture
def junior(coach: Coach) -> Student:
    """A junior with a guardian who has not consented yet."""
    student = make_student("Emeka Larkwren", coach=coach, birth_year=academy_today().year - 11)
    make_guardian("Ngozi Larkwren", student)
    return student


@pytest.fixture
def adult(coach: Coach) -> Student:
    return make_student("Alder Quimble", coach=coach, birth_year=1980)


def client_of(user: Any) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(user)
    return client


def sent(data: bytes | None = None, name: str = "IMG_0001.jpg", **values: Any) -> dict[str, Any]:
    """What the form sends."""
    picture = SimpleUploadedFile(name, make_picture() if data is None else data, "image/jpeg")
    shows = {"checkpoint": make_checkpoint().pk, "moment": "arrival", "view": "face_on", "caption": "Ball too far up."}
    return {"picture": picture, **shows, **values}


def take(client: Client, student: Student, lesson: Any, **values: Any) -> HttpResponse:
    """Send a still to a fresh address."""
    return client.post(reverse("still", args=[student.key, lesson, fresh_key()]), sent(**values))  # type: ignore[return-value]


def page(client: Client, name: str, *args: Any) -> str:
    return client.get(reverse(name, args=args)).content.decode()


def done_lesson(student: Student, coach: Coach, **values: Any) -> Lesson:
    return make_lesson(student, coach, status="complete", completed_at=timezone.now(), **values)


# --- Taking ---------------------------------------------------------------------------------------


def test_a_still_is_taken_before_anything_else_of_the_log(coach: Coach, junior: Student) -> None:
    make_picture_consent(junior)
    client, lesson_key, key = client_of(coach.user), fresh_key(), fresh_key()
    log = page(client, "lesson", junior.key, lesson_key)
    assert reverse("stills", args=[junior.key, lesson_key]) in log  # one tap, and the form is there with the second
    assert client.get(reverse("stills", args=[junior.key, lesson_key])).status_code == 200
    assert not Lesson.objects.exists()  # reading begins nothing
    address = reverse("still", args=[junior.key, lesson_key, key])
    for _ in range(2):  # a double tap keeps one
        answer = client.post(address, sent())
        assert answer.status_code == 302 and answer["Location"] == reverse("stills", args=[junior.key, lesson_key])
    still = Still.objects.get()
    assert (still.key, still.lesson.key, still.lesson.status) == (key, lesson_key, "draft")
    assert (still.width, still.height, still.caption) == (480, 640, "Ball too far up.")
    assert len(default_storage.listdir("stills")[1]) == 2
    assert "Address, face-on, on arrival: Ball too far up." in page(client, "stills", junior.key, lesson_key)
    typed = {"putting": "on", "day": "2026-06-01", "keep": "Calm.", "page": "a", "count": "1", "base": "0"}
    log_address = reverse("lesson", args=[junior.key, lesson_key])
    assert client.post(log_address, typed).status_code == 302  # the log that was open goes on as if nothing were


def test_arrival_stands_before_departure_and_the_two_of_a_checkpoint_together(coach: Coach, junior: Student) -> None:
    make_picture_consent(junior)
    lesson = make_lesson(junior, coach)
    for moment in ("departure", "arrival"):
        for view in ("down_line", "face_on"):
            make_still(lesson, moment=moment, view=view)
    answer: Any = client_of(coach.user).get(reverse("stills", args=[junior.key, lesson.key]))
    shown = [(row.view, row.moment) for row in answer.context["stills"]]
    assert shown == [(view, moment) for view in ("face_on", "down_line") for moment in ("arrival", "departure")]


def test_its_files_are_sent_as_pictures_and_as_nothing_else(coach: Coach, junior: Student) -> None:
    make_picture_consent(junior)
    still = make_still(done_lesson(junior, coach))
    client, keys = client_of(coach.user), [junior.key, still.lesson.key, still.key]
    for name, edge in (("still_picture", 640), ("still_thumbnail", 320)):
        file = client.get(reverse(name, args=keys))
        image = Image.open(io.BytesIO(file.content))
        assert (image.format, max(image.size)) == ("JPEG", edge) and file["Content-Type"] == "image/jpeg"
        assert file["Cache-Control"] == "private, no-store" and file["X-Content-Type-Options"] == "nosniff"
        assert file["Content-Security-Policy"] == "default-src 'none'; sandbox"
        assert file["Cross-Origin-Resource-Policy"] == "same-origin"
        assert file["Content-Disposition"].startswith(f'inline; filename="still-{still.key}')
    for path in (still.path, still.thumbnail_path):
        assert client.get(f"/media/{path}").status_code == client.get(f"/static/{path}").status_code == 404
    default_storage.delete(still.path)  # gone by a fault of the disk
    assert client.get(reverse("still_picture", args=keys)).status_code == 404


def test_what_is_refused_says_why_and_loses_nothing_that_was_typed(coach: Coach, junior: Student) -> None:
    make_picture_consent(junior)
    client = client_of(coach.user)
    many = bytes(40 * 10**6)
    for data, words in (
        (hostile.REFUSED["HEIC"]()[1], "This file is HEIC."),
        (b"", "The file is empty."),
        (b"\xff\xd8\xff" + many, "The file has 40 MB; a picture may have 12."),
    ):
        answer = take(client, junior, fresh_key(), data=data, caption="Ball up", club="putter", moment="departure")
        text = answer.content.decode()
        assert answer.status_code == 422 and words in text and 'value="Ball up"' in text and 'value="putter"' in text
    answer = client.post(reverse("still", args=[junior.key, fresh_key(), fresh_key()]), {"caption": "Ball up"})
    assert answer.status_code == 422 and "Choose a picture." in answer.content.decode()
    for name in ("a name that climbs", "a name of 255 letters", "a name with a line of its own"):
        file_name, data = hostile.REDRAWN[name]()
        assert take(client, junior, fresh_key(), data=data, name=file_name).status_code == 302, name
    assert not Lesson.objects.exclude(stills__isnull=False).exists()  # no draft of what was refused
    assert {len(still.name) for still in Still.objects.all()} == {32}


def test_a_still_that_was_said_wrongly_is_said_again_taken_away_and_put_back(
    coach: Coach, junior: Student, django_capture_on_commit_callbacks: Any
) -> None:
    make_picture_consent(junior)
    still = make_still(done_lesson(junior, coach))
    client, keys = client_of(coach.user), [junior.key, still.lesson.key, still.key]
    finish = make_checkpoint("Finish", position=3)
    words = {"checkpoint": finish.pk, "moment": "departure", "view": "down_line", "club": "wedge", "caption": "Better"}
    assert client.post(reverse("still_change", args=keys), words).status_code == 302
    still.refresh_from_db()
    assert still.words == "Finish, down the line, on departure: Better"
    client.post(reverse("still_hide", args=keys))
    assert client.get(reverse("still", args=keys)).status_code == 404
    assert "Taken away: 1" in page(client, "stills", *keys[:2])
    client.post(reverse("still_show", args=keys))
    assert client.get(reverse("still", args=keys)).status_code == 200
    client.post(reverse("still_erase", args=keys))  # what is not taken away is not erased
    assert Still.objects.exists()
    client.post(reverse("still_hide", args=keys))
    for _ in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            assert client.post(reverse("still_erase", args=keys)).status_code == 302
    assert not Still.objects.exists() and not Still.history.exists() and default_storage.listdir("stills")[1] == []


def test_a_picture_still_to_come_keeps_nobody_from_finishing(coach: Coach, junior: Student) -> None:
    make_picture_consent(junior)
    client, lesson_key = client_of(coach.user), fresh_key()
    assert client.post(reverse("stills_to_come", args=[junior.key, lesson_key]), {"to_come": "1"}).status_code == 302
    lesson = Lesson.objects.get(key=lesson_key)
    assert lesson.stills_to_come and "to come" in page(client, "lesson", junior.key, lesson_key)
    finish_lesson(lesson=lesson, academy=Academy.current(), at=timezone.now())
    assert "Stills, to come" in page(client, "lesson", junior.key, lesson_key)
    assert take(client, junior, lesson_key).status_code == 302
    lesson.refresh_from_db()
    assert not lesson.stills_to_come and lesson.status == "complete"


def test_pictures_take_no_more_room_than_they_may(coach: Coach, junior: Student, settings: Any) -> None:
    make_picture_consent(junior)
    still = make_still(done_lesson(junior, coach))
    for who, words in (("student", "one student"), ("academy", "of the academy")):
        settings.MOST_PICTURES = {"student": 10**9, "academy": 10**9, who: still.bytes + 100}
        answer = take(client_of(coach.user), junior, fresh_key())
        assert answer.status_code == 422 and words in answer.content.decode() and Still.objects.count() == 1


@pytest.mark.parametrize(("code", "status"), [(errno.ENOSPC, 507), (errno.EROFS, 503), (errno.EHOSTUNREACH, 503)])
def test_where_a_file_cannot_be_written_there_is_no_row(
    code: int, status: int, coach: Coach, junior: Student, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the first file fails or the second one; sent once more, it is kept."""
    make_picture_consent(junior)
    client, lesson = client_of(coach.user), done_lesson(junior, coach)
    save = FileSystemStorage.save
    for fails_at in (1, 2):
        calls = itertools.count(1)

        def full(self: Any, name: str, content: Any, calls: Any = calls, fails_at: int = fails_at) -> str:
            if next(calls) == fails_at:
                raise OSError(code, "no room")
            return save(self, name, content)

        address = reverse("still", args=[junior.key, lesson.key, fresh_key()])
        with monkeypatch.context() as patched:
            patched.setattr(FileSystemStorage, "save", full)
            answer = client.post(address, sent())
        assert answer.status_code == status and "Ball too far up." in answer.content.decode()
        assert not Still.objects.exists()
        folder = Path(default_storage.path("stills"))
        assert not folder.exists() or list(folder.iterdir()) == []
    assert client.post(address, sent()).status_code == 302 and Still.objects.count() == 1


# --- Consent --------------------------------------------------------------------------------------


def test_no_picture_of_a_junior_without_a_guardians_consent(coach: Coach, junior: Student) -> None:
    lesson, client = done_lesson(junior, coach), client_of(coach.user)
    guardian = junior.guardianships.get().guardian
    text = page(client, "stills", junior.key, lesson.key)
    assert "Ngozi Larkwren can, signed in" in text and 'name="picture"' not in text
    make_consent(junior, junior.user, "photos")  # a junior's own does not count
    assert take(client, junior, lesson.key).status_code == 422 and not Still.objects.exists()
    Consent.objects.all().delete()
    make_consent(junior, coach.user, "photos")  # nor what was said to a coach before they were known to be a junior
    assert take(client, junior, lesson.key).status_code == 422
    Consent.objects.all().delete()
    old = make_consent(junior, guardian, "photos")
    Consent.objects.filter(pk=old.pk).update(text_shown=f"The coaches may take photos. {KEEPS_NONE}")
    assert take(client, junior, lesson.key).status_code == 422  # to keep them is more than was asked then
    old.delete()
    make_consent(junior, guardian, "photos")
    assert take(client, junior, lesson.key).status_code == 302
    junior.guardianships.update(ended_on=academy_today() - timedelta(days=1))
    assert picture_consent(junior, Academy.current(), academy_today()) == Answer.NO_GUARDIAN
    assert "there is none here" in page(client, "stills", junior.key, lesson.key)
    assert not shown_stills(junior, Academy.current(), academy_today()).exists()


def test_a_withdrawal_hides_all_at_once_and_asks_what_becomes_of_them(
    coach: Coach, junior: Student, django_capture_on_commit_callbacks: Any
) -> None:
    consent = make_picture_consent(junior)
    still = make_still(done_lesson(junior, coach))
    guardian, keys = client_of(consent.given_by), [junior.key, still.lesson.key, still.key]
    readers = [guardian, client_of(coach.user), client_of(junior.user)]
    pictures = [reverse(name, args=keys) for name in ("still", "still_picture", "still_thumbnail")]
    assert {client.get(path).status_code for client in readers for path in pictures} == {200}
    answer = guardian.post(reverse("consent_withdraw", args=[junior.key, "photos"]), follow=True)
    assert "1 picture of Emeka Larkwren is hidden" in answer.content.decode()
    assert {client.get(path).status_code for client in readers for path in pictures} == {404}
    assert still.words not in page(readers[1], "stills", *keys[:2])
    make_consent(junior, consent.given_by, "photos")
    assert guardian.post(reverse("pictures", args=[junior.key])).status_code == 302 and Still.objects.exists()
    assert readers[1].get(pictures[1]).status_code == 200  # kept hidden, and shown again
    Consent.objects.update(withdrawn_at=timezone.now())
    with django_capture_on_commit_callbacks(execute=True):
        guardian.post(reverse("pictures", args=[junior.key]))
    assert not Still.objects.exists() and default_storage.listdir("stills")[1] == []


def test_an_adult_is_asked_once(coach: Coach, adult: Student) -> None:
    client, lesson = client_of(coach.user), done_lesson(adult, coach)
    assert "Alder Quimble agrees" in page(client, "stills", adult.key, lesson.key)
    answer = take(client, adult, lesson.key)
    assert answer.status_code == 422 and "Ask first, and tick this" in answer.content.decode()
    assert not Consent.objects.exists()
    assert take(client, adult, lesson.key, agrees="on").status_code == 302
    consent = Consent.objects.get()
    assert consent.given_by == coach.user and "whether this site may keep single pictures" in consent.text_shown
    assert "Alder Quimble agrees</" not in page(client, "stills", adult.key, lesson.key)
    assert take(client, adult, lesson.key).status_code == 302
    own = client_of(adult.user)
    own.post(reverse("consent_withdraw", args=[adult.key, "photos"]))
    text = page(client, "stills", adult.key, lesson.key)
    assert "withdrew the consent" in text and 'name="picture"' not in text  # who withdrew is not asked again by a coach
    assert take(client, adult, lesson.key, agrees="on").status_code == 422


def test_an_adult_may_take_back_in_a_lesson_what_they_said_there(coach: Coach, adult: Student) -> None:
    client, lesson = client_of(coach.user), done_lesson(adult, coach)
    take(client, adult, lesson.key, agrees="on")
    assert "agrees no more" in page(client, "stills", adult.key, lesson.key)
    client.post(reverse("pictures_no_more", args=[adult.key]))
    assert not shown_stills(adult, Academy.current(), academy_today()).exists()
    Consent.objects.all().delete()
    make_consent(adult, adult.user, "photos")  # what they gave themselves, only they take back
    client.post(reverse("pictures_no_more", args=[adult.key]))
    assert shown_stills(adult, Academy.current(), academy_today()).exists()


def test_the_family_sees_pictures_of_finished_lessons(coach: Coach, junior: Student) -> None:
    consent = make_picture_consent(junior)
    drafted, finished = make_still(make_lesson(junior, coach)), make_still(done_lesson(junior, coach, keep="x"))
    guardian = client_of(consent.given_by)
    for still, status in ((drafted, 404), (finished, 200)):
        for name in ("still", "still_picture", "still_thumbnail"):
            assert guardian.get(reverse(name, args=[junior.key, still.lesson.key, still.key])).status_code == status
        assert guardian.get(reverse("stills", args=[junior.key, still.lesson.key])).status_code == status
    assert guardian.get(reverse("stills", args=[junior.key, uuid.uuid4()])).status_code == 404


def test_the_family_reads_plain_words_of_a_picture_and_a_coach_those_of_the_trade(
    coach: Coach, junior: Student
) -> None:
    consent = make_picture_consent(junior)
    still = make_still(done_lesson(junior, coach), view="down_line")
    keys = [junior.key, still.lesson.key]
    for name, args in (("stills", keys), ("still", [*keys, still.key])):
        family, trade = (page(client_of(user), name, *args) for user in (consent.given_by, coach.user))
        assert "Address, seen along the line of the ball, on arrival" in family and "down the line" not in family
        assert "Address, down the line, on arrival" in trade


def test_a_manager_who_sees_a_picture_of_a_junior_leaves_a_row(coach: Coach, junior: Student) -> None:
    make_picture_consent(junior)
    still = make_still(done_lesson(junior, coach))
    manager = make_user("Odile Bramblewing")
    make_manager(manager)
    manager.refresh_from_db()
    client_of(manager).get(reverse("still_picture", args=[junior.key, still.lesson.key, still.key]))
    assert junior.record_views.get().page == "still_picture"
    assert "read the picture of a still" in page(client_of(coach.user), "changes", junior.key)


def test_a_moved_lesson_takes_its_stills_along_or_asks(
    coach: Coach, junior: Student, adult: Student, django_capture_on_commit_callbacks: Any
) -> None:
    make_picture_consent(junior)
    client, lesson = client_of(coach.user), done_lesson(junior, coach, putting=True)
    make_still(lesson)
    address = reverse("lesson_move", args=[junior.key, lesson.key])
    answer = client.post(address, {"to": adult.pk})
    assert answer.status_code == 422 and "no consent to keep pictures of Alder" in answer.content.decode()
    assert client.post(address, {"to": adult.pk, "stills": "hide"}).status_code == 302
    on = (Academy.current(), academy_today())
    assert not shown_stills(adult, *on).exists() and not shown_stills(junior, *on).exists()
    make_picture_consent(adult)
    assert shown_stills(adult, *on).exists()
    lesson.refresh_from_db()
    back = reverse("lesson_move", args=[adult.key, lesson.key])
    assert client.post(back, {"to": junior.pk}).status_code == 302  # with consent nothing is asked
    assert shown_stills(junior, *on).exists()
    Consent.objects.filter(student=adult).delete()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {"to": adult.pk, "stills": "erase"})
    assert not Still.objects.exists() and default_storage.listdir("stills")[1] == []


def test_hidden_stills_are_not_moved_to_where_they_would_be_seen(
    coach: Coach, junior: Student, adult: Student, django_capture_on_commit_callbacks: Any
) -> None:
    """Else a coach alone sees again what a guardian withdrew: an adult agrees in a lesson, as the coach says."""
    consent = make_picture_consent(junior)
    client, lesson = client_of(coach.user), done_lesson(junior, coach)
    make_still(lesson)
    client_of(consent.given_by).post(reverse("consent_withdraw", args=[junior.key, "photos"]))
    make_consent(adult, coach.user, "photos")
    address = reverse("lesson_move", args=[junior.key, lesson.key])
    for typed in ({}, {"stills": "hide"}):
        answer = client.post(address, {"to": adult.pk, **typed})
        assert answer.status_code == 422 and "so they cannot go along" in answer.content.decode()
        assert not shown_stills(adult, Academy.current(), academy_today()).exists()
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(address, {"to": adult.pk, "stills": "erase"}).status_code == 302
    assert not Still.objects.exists()


# --- Keeping --------------------------------------------------------------------------------------


def test_cleaning_up_erases_what_was_taken_away_long_ago_and_what_belongs_to_nothing(
    coach: Coach,
    junior: Student,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    django_capture_on_commit_callbacks: Any,
) -> None:
    make_picture_consent(junior)
    kept, away = (make_still(done_lesson(junior, coach)) for _ in range(2))
    away.set_hidden(timezone.now())
    alone = default_storage.save(f"stills/{'0' * 32}.jpg", io.BytesIO(b"x"))  # type: ignore[arg-type]
    for name in default_storage.listdir("stills")[1]:  # the disk's clock is not the one that is set
        os.utime(default_storage.path(f"stills/{name}"), (timezone.now().timestamp(),) * 2)
    assert default_storage.exists(alone)
    call_command("clean_stills")
    assert "0 stills" in capsys.readouterr().out and Still.objects.count() == 2  # one may be waiting for its row
    later = timezone.now() + timedelta(days=31)
    monkeypatch.setattr(timezone, "now", lambda: later)
    call_command("clean_stills", dry_run=True)
    assert Still.objects.count() == 2
    with django_capture_on_commit_callbacks(execute=True):
        call_command("clean_stills")
    assert capsys.readouterr().out.count("1 stills that were taken away, 1 files") == 2
    assert [Still.objects.get().pk, *default_storage.listdir("stills")[0]] == [kept.pk]
    assert sorted(default_storage.listdir("stills")[1]) == sorted([f"{kept.name}.jpg", f"{kept.name}-small.jpg"])


def test_pages_of_stills_ask_the_database_as_often_for_one_as_for_ten(
    coach: Coach, junior: Student, django_assert_max_num_queries: Any
) -> None:
    make_picture_consent(junior)
    lesson = done_lesson(junior, coach)
    for _ in range(10):
        make_still(lesson)
    client, still = client_of(coach.user), Still.objects.all()[0]
    client.get(reverse("stills", args=[junior.key, lesson.key]))
    for name, args in (("stills", []), ("still", [still.key]), ("still_picture", [still.key])):
        with django_assert_max_num_queries(12):
            assert client.get(reverse(name, args=[junior.key, lesson.key, *args])).status_code == 200


def test_managers_edit_the_checkpoints_of_an_area(coach: Coach, junior: Student) -> None:
    manager = make_user("Odile Bramblewing")
    make_manager(manager)
    manager.refresh_from_db()
    client = client_of(manager)
    address = f"{reverse('checkpoint', args=[fresh_key()])}?area=bunker"
    typed = {"name": "Splash", "position": "4", "is_offered": "on"}
    assert client.post(address, typed).status_code == 302
    splash = Checkpoint.objects.get(name="Splash")
    assert (splash.area, splash.name, splash.position, splash.archived) == ("bunker", "Splash", 4, False)
    answer = client.post(f"{reverse('checkpoint', args=[fresh_key()])}?area=bunker", {**typed, "name": "splash"})
    assert answer.status_code == 422 and "already" in answer.content.decode()
    assert client.post(reverse("checkpoint", args=[splash.key]), {"name": "Sand", "position": "1"}).status_code == 302
    assert "Sand" in page(client, "checkpoints") and "no longer offered" in page(client, "checkpoints")
    make_picture_consent(junior)
    lesson = done_lesson(junior, coach, bunker=True)
    assert "Sand" not in page(client_of(coach.user), "stills", junior.key, lesson.key)
    assert client.get(f"{reverse('checkpoint', args=[fresh_key()])}?area=moon").status_code == 404
