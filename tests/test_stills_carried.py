"""Pictures go where their rows go: into the file of a student, the academy's file, and away with an erasure."""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.rights.academy_file.reading import FileProblem
from coachbook.rights.academy_file.take_in import take_in_academy
from coachbook.rights.erasure.carry_out import erase_student
from lessons.models import Still
from tests.conftest import Cast
from tests.make import make_consent, make_lesson, make_still
from tests.test_academy_file import empty_place, pack, save, unpack

Clients = Callable[[str], Client]
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


@pytest.fixture
def still(cast: Cast) -> Still:
    """A still of a finished lesson, with a guardian's consent."""
    make_consent(cast.student, cast.guardian, "photos")
    return make_still(make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now()))


def stored() -> dict[str, bytes]:
    """Every picture that is kept, by its name."""
    try:
        names = default_storage.listdir("stills")[1]
    except FileNotFoundError:
        return {}
    found = {}
    for name in names:
        with default_storage.open(f"stills/{name}") as file:
            found[f"stills/{name}"] = file.read()
    return found


def pictures_in(client: Client, cast: Cast) -> dict[str, bytes]:
    answer = client.post(reverse("student_export", args=[cast.student.key]))
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        return {name: packed.read(name) for name in packed.namelist() if name.startswith("pictures/")}


def test_the_file_of_a_student_holds_their_pictures(still: Still, cast: Cast, as_: Clients) -> None:
    """The family's what is stored, a manager's what may be shown."""
    draft = make_still(make_lesson(cast.student, cast.coach))  # the family does not read it yet
    expected = {f"pictures/{still.key}.jpg": stored()[still.path]}
    assert pictures_in(as_("guardian"), cast) == expected
    assert pictures_in(as_("manager"), cast).keys() == expected.keys() | {f"pictures/{draft.key}.jpg"}
    cast.student.consents.filter(purpose="photos").update(withdrawn_at=timezone.now())
    assert pictures_in(as_("guardian"), cast) == expected and pictures_in(as_("manager"), cast) == {}


def test_an_erasure_takes_the_files(still: Still, cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
    other = make_still(make_lesson(cast.other_student, cast.other_coach))
    with django_capture_on_commit_callbacks(execute=True):
        erase_student(cast.student, timezone.now())
    assert set(stored()) == {other.path, other.thumbnail_path}
    assert list(Still.history.values_list("name", flat=True).distinct()) == [other.name]


def test_the_file_of_the_academy_brings_its_pictures_along(still: Still, tmp_path: Path, settings: Any) -> None:
    before, path = stored(), save(tmp_path / "academy.zip")
    files = unpack(path)
    assert len(before) == 2 and {name: files[name] for name in before} == before
    empty_place()
    settings.MEDIA_ROOT = tmp_path / "other"
    take_in_academy(path)
    assert stored() == before and Still.objects.get().name == still.name


def test_nothing_but_pictures_of_its_rows_comes_out_of_the_file_of_an_academy(
    still: Still, tmp_path: Path, settings: Any
) -> None:
    saved = save(tmp_path / "academy.zip")
    files = unpack(saved)
    empty_place()
    settings.MEDIA_ROOT = tmp_path / "other"
    for name in ("stills/../outside.jpg", f"stills/{'0' * 32}.html", f"stills/{'0' * 32}.jpg/x"):
        with pytest.raises(FileProblem, match="is no file of an academy"):
            take_in_academy(pack({**files, name: b"x"}, tmp_path / "bad.zip"))
        assert stored() == {}
    damaged = bytearray(saved.read_bytes())
    damaged[damaged.index(files[still.thumbnail_path]) + 100] ^= 0xFF  # behind the picture, which is stored before it
    (tmp_path / "worse.zip").write_bytes(damaged)
    with pytest.raises(FileProblem, match="no whole ZIP"):
        take_in_academy(tmp_path / "worse.zip")
    assert stored() == {} and not Still.objects.exists()
    files |= {still.path: b"<script>", f"stills/{'0' * 32}.jpg": files[still.thumbnail_path]}
    take_in_academy(pack(files, tmp_path / "odd.zip"))
    assert list(stored()) == [still.thumbnail_path]
