"""Consent: not given until somebody who decides gives it, stored with the text shown, withdrawn at once."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Academy, Consent
from coachbook.family import consents
from tests.conftest import Cast
from tests.make import academy_today, make_consent, make_student

Clients = Callable[[str], Client]
ASKED = ["photos", "sharing"]  # of whoever decides for a junior


def give(client: Client, cast: Cast, purpose: str) -> int:
    """Give consent to the text that the page shows."""
    shown = {"text": consents.consent_text(purpose, cast.student)}
    return client.post(reverse("consent_give", args=[cast.student.key, purpose]), shown).status_code


def withdraw(client: Client, cast: Cast, purpose: str) -> int:
    return client.post(reverse("consent_withdraw", args=[cast.student.key, purpose])).status_code


def page(client: Client, cast: Cast) -> str:
    return client.get(reverse("consents", args=[cast.student.key])).content.decode()


def of_age(cast: Cast) -> None:
    """The student has come of age: the year in which they did is over."""
    cast.student.birth_year = academy_today().year - Academy.current().adult_at - 1
    cast.student.save()


def test_no_consent_is_given_until_somebody_gives_it(cast: Cast, as_: Clients) -> None:
    student = make_student("Wilf Tarkle", coach=cast.coach)
    html = as_("coach").get(reverse("consents", args=[student.key])).content.decode()
    assert html.count("<b>Not given</b>") == len(ASKED) and "<b>Given</b>" not in html


@pytest.mark.parametrize("purpose", ASKED)
def test_a_guardian_gives_consent_in_one_tap_and_the_page_says_who_when_and_to_what(
    purpose: str, cast: Cast, as_: Clients
) -> None:
    cast.student.consents.all().delete()
    assert give(as_("guardian"), cast, purpose) == 302
    consent = Consent.objects.get()
    assert consent.given_by == cast.guardian and consent.text_shown == consents.consent_text(purpose, cast.student)
    for actor in ("student", "guardian", "coach", "manager"):
        html = page(as_(actor), cast)
        assert "<b>Given</b> by Maud Plumsilk" in html and consent.text_shown in html


def test_the_text_that_was_shown_stays_when_the_text_changes_later(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    give(as_("guardian"), cast, "photos")
    before = cast.student.consents.get(purpose="photos").text_shown
    monkeypatch.setitem(consents.TEXTS, Consent.Purpose.PHOTOS, "Quite another text.")
    give(as_("guardian"), cast, "photos")
    assert cast.student.consents.get(purpose="photos").text_shown == before
    assert before in page(as_("guardian"), cast) and "Quite another text." not in page(as_("guardian"), cast)


def test_nobody_consents_to_a_text_that_they_were_not_shown(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(consents.TEXTS, Consent.Purpose.PHOTOS, "Quite another text.")
    for typed in ({"text": "The text of yesterday."}, {}):
        answer = as_("guardian").post(reverse("consent_give", args=[cast.student.key, "photos"]), typed)
        html = answer.content.decode()
        assert answer.status_code == 422 and "This text has changed." in html and "Quite another text." in html
    assert not cast.student.consents.filter(purpose="photos").exists()


def test_giving_consent_twice_is_harmless(cast: Cast, as_: Clients) -> None:
    for _ in range(2):
        assert give(as_("guardian"), cast, "photos") == 302
    assert cast.student.consents.filter(purpose="photos").count() == 1


def test_withdrawn_at_once_and_given_again_and_all_of_it_is_kept(cast: Cast, as_: Clients) -> None:
    client = as_("guardian")
    for tap in (give, withdraw, withdraw, give):
        assert tap(client, cast, "photos") == 302
    rows = cast.student.consents.filter(purpose="photos").order_by("pk")
    assert [row.withdrawn_at is None for row in rows] == [False, True]
    assert "withdrawn on" in page(client, cast)
    assert rows[0].history.first().history_user == cast.guardian


def test_a_covering_coach_is_out_at_the_next_request_once_sharing_is_withdrawn(cast: Cast, as_: Clients) -> None:
    cover, address = as_("cover"), reverse("student", args=[cast.student.key])
    assert cover.get(address).status_code == 200
    withdraw(as_("guardian"), cast, "sharing")
    assert cover.get(address).status_code == 404 and as_("coach").get(address).status_code == 200
    give(as_("guardian"), cast, "sharing")
    assert cover.get(address).status_code == 200


@pytest.mark.parametrize(
    ("actor", "status"),
    [("student", 403), ("coach", 403), ("cover", 403), ("manager", 403), ("other_coach", 404), ("past_guardian", 404)],
)
def test_nobody_else_decides_for_a_junior(actor: str, status: int, cast: Cast, as_: Clients) -> None:
    assert give(as_(actor), cast, "photos") == withdraw(as_(actor), cast, "sharing") == status
    assert not cast.student.consents.filter(purpose="photos").exists()
    assert cast.student.consents.get().withdrawn_at is None


def test_who_came_of_age_decides_alone(cast: Cast, as_: Clients) -> None:
    of_age(cast)
    assert give(as_("student"), cast, "photos") == 302
    assert withdraw(as_("student"), cast, "sharing") == 302
    assert give(as_("guardian"), cast, "photos") == 404
    assert as_("guardian").get(reverse("consents", args=[cast.student.key])).status_code == 404


def test_in_the_year_of_the_birthday_a_guardian_still_decides(cast: Cast, as_: Clients) -> None:
    cast.student.birth_year = academy_today().year - Academy.current().adult_at
    cast.student.save()
    assert give(as_("student"), cast, "photos") == 403
    assert give(as_("guardian"), cast, "photos") == 302


@pytest.mark.parametrize("purpose", ["weather", "Photos", "photos%20", "%00"])
def test_a_purpose_that_there_is_not_is_not_there(purpose: str, cast: Cast, as_: Clients) -> None:
    for what in ("give", "withdraw"):
        address = f"{reverse('consents', args=[cast.student.key])}{purpose}/{what}/"
        assert as_("guardian").post(address).status_code == 404


def test_the_buttons_are_shown_only_where_they_work(cast: Cast, as_: Clients) -> None:
    assert "Give consent" in page(as_("guardian"), cast) and "Withdraw<" in page(as_("guardian"), cast)
    for actor in ("student", "coach", "manager"):
        assert "Give consent" not in page(as_(actor), cast) and "Withdraw<" not in page(as_(actor), cast)


def test_many_earlier_consents_cost_no_more_queries(
    cast: Cast, as_: Clients, django_assert_max_num_queries: Callable[..., object]
) -> None:
    for _ in range(10):
        give(as_("guardian"), cast, "photos")
        withdraw(as_("guardian"), cast, "photos")
    with django_assert_max_num_queries(12):  # type: ignore[attr-defined]
        page(as_("guardian"), cast)


# --- What is asked is what the site does ----------------------------------------------------------


def test_an_adult_is_not_asked_what_would_change_nothing(cast: Cast, as_: Clients) -> None:
    """A second coach reads an adult's record in any case, so nobody consents to it, and the page says so."""
    cast.student.consents.all().delete()
    of_age(cast)
    assert as_("cover").get(reverse("student", args=[cast.student.key])).status_code == 200
    html = page(as_("student"), cast)
    assert html.count("<b>Not given</b>") == 1 and "reads the record of an adult while they teach them" in html
    assert give(as_("student"), cast, "sharing") == 404 and not cast.student.consents.exists()


def test_without_sharing_the_main_coach_and_the_managers_read_the_record_as_the_text_says(
    cast: Cast, as_: Clients
) -> None:
    cast.student.consents.all().delete()
    address = reverse("student", args=[cast.student.key])
    reading = {actor: as_(actor).get(address).status_code for actor in ("coach", "manager", "cover", "assistant")}
    assert reading == {"coach": 200, "manager": 200, "cover": 404, "assistant": 404}
    text = consents.consent_text("sharing", cast.student)
    assert "no coach but the main coach reads it" in text and "The managers of the academy read it in any case" in text


def test_a_consent_to_e_mail_of_before_stays_to_be_read_and_withdrawn_and_is_asked_of_nobody(
    cast: Cast, as_: Clients
) -> None:
    assert "sending e-mail" not in page(as_("guardian"), cast).casefold()
    make_consent(cast.student, cast.guardian, "email")
    html = page(as_("guardian"), cast)
    assert "people choose their own e-mail" in html and html.count("The words shown.") == 2
    assert withdraw(as_("guardian"), cast, "email") == 302
    address = reverse("consent_give", args=[cast.student.key, "email"])
    assert as_("guardian").post(address, {"text": "The words shown."}).status_code == 404
    assert not cast.student.consents.filter(purpose="email", withdrawn_at=None).exists()
