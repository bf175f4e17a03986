"""The academy's settings, which apply at once."""

from collections.abc import Callable
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Academy, Student
from drills.load import load_drills
from lessons.load import load_catalogue
from lessons.progress.focus_states import HOLDING_BELOW, READY_BELOW
from lessons.progress.sentences import seldom_words
from tests.conftest import Cast
from tests.make import academy_today

Clients = Callable[[str], Client]
GOOD = {
    "name": "Sedge Hollow",
    "time_zone": "Europe/Dublin",
    "units": "m",
    "paper": "A4",
    "adult_at": "18",
    "child_until": "12",
    "not_seen_days": "60",
    "keep_years": "3",
    "state_new_looks": "2",
    "state_lost": "2",
    "state_holding": "2",
    "state_ready": "3",
    "state_ready_days": "28",
    "state_returned": "2",
}


def test_a_manager_changes_the_settings_and_history_says_who(cast: Cast, as_: Clients) -> None:
    answer = as_("manager").post(reverse("academy"), {**GOOD, "name": "Sedge End", "paper": "Letter"})
    assert answer.status_code == 302
    stored = Academy.current()
    assert (stored.name, stored.paper) == ("Sedge End", "Letter")
    assert stored.history.first().history_user == cast.manager  # type: ignore[attr-defined]
    assert "Sedge End" in as_("coach").get(reverse("students")).content.decode()


def test_lengths_are_shown_in_feet_from_then_on(cast: Cast, as_: Clients) -> None:
    load_catalogue()
    load_drills()
    as_("manager").post(reverse("academy"), {**GOOD, "units": "ft"})
    page = as_("coach").get(reverse("test_new", args=[cast.student.key]), follow=True).content.decode()
    assert "20 balls from 20 ft" in page


def test_the_age_of_deciding_alone_applies_at_the_next_request(cast: Cast, as_: Clients) -> None:
    born = academy_today().year - 17
    Student.objects.filter(pk=cast.student.pk).update(birth_year=born)
    page = reverse("student", args=[cast.student.key])
    assert as_("guardian").get(page).status_code == 200
    answer = as_("manager").post(reverse("academy"), {**GOOD, "adult_at": "16"})
    assert answer.status_code == 422 and "1 student would decide alone at once" in answer.content.decode()
    assert as_("guardian").get(page).status_code == 200, "no manager alone makes adults of children"
    with pytest.raises(CommandError, match="from 14 to 25"):
        call_command("adult_at", "13")
    call_command("adult_at", "16", stdout=StringIO())
    assert as_("guardian").get(page).status_code == 404
    as_("manager").post(reverse("academy"), {**GOOD, "adult_at": "18"})
    assert as_("guardian").get(page).status_code == 200, "to protect them longer needs nobody else"


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "", "required"),
        ("time_zone", "Europe/Nowhere", "time zone by its name"),
        ("units", "cubits", "valid choice"),
        ("paper", "A7", "valid choice"),
        ("adult_at", "3", "14"),
        ("adult_at", "old", "whole number"),
        ("child_until", "40", "17"),
        ("not_seen_days", "0", "1"),
        ("state_new_looks", "0", "1"),
        ("state_returned", "twice", "whole number"),
        ("state_ready", "1", "Holding takes 2 arrivals in a row: type 2 or more."),
        ("state_ready_days", "9999", "365"),
    ],
)
def test_an_invalid_value_says_why_and_changes_nothing(
    field: str, typed: str, message: str, cast: Cast, as_: Clients
) -> None:
    answer = as_("manager").post(reverse("academy"), {**GOOD, "name": "Not yet", field: typed})
    page = answer.content.decode()
    assert answer.status_code == 422 and message in page and f'id="id_{field}_error"' in page
    assert Academy.current().name == "Sedge Hollow"


def test_only_a_manager_sees_and_changes_the_settings(as_: Clients) -> None:
    assert as_("coach").get(reverse("academy")).status_code == 403
    assert as_("student").post(reverse("academy"), GOOD).status_code == 403


def test_the_settings_say_what_no_academy_changes(as_: Clients) -> None:
    page = as_("manager").get(reverse("academy")).content.decode()
    for below in (HOLDING_BELOW, READY_BELOW):
        assert f"It takes this as well: {seldom_words(below)}." in page
