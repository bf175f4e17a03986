"""A form that another site sends is refused, and the answer repeats nothing of it: it would speak in our name."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from tests.conftest import Cast

CANARY = "Your account is blocked, ring this number"
NEVER = uuid.UUID(int=0)


@pytest.fixture
def address(request: pytest.FixtureRequest, cast: Cast) -> str:
    return {
        "unknown": "/nowhere/",
        "of no student": f"/students/{NEVER}/details/",
        "unused page": reverse("account_signup"),
        "public": reverse("account_login"),
        "public, too": reverse("one_time_code"),
        "invitation": reverse("invitation", args=["x"]),
        "sheet": reverse("shared_sheet", args=["x"]),
        "known": reverse("messages", args=[cast.student.key]),
        "not theirs": reverse("person_invite"),
        "home": "/",
    }[request.param]


ADDRESSES = ["unknown", "of no student", "unused page", "public", "public, too", "invitation", "sheet", "known",
             "not theirs", "home"]  # fmt: skip


@pytest.mark.parametrize("actor", ["anonymous", "coach"])
@pytest.mark.parametrize("address", ADDRESSES, indirect=True)
def test_nothing_of_a_foreign_form_is_repeated(address: str, actor: str, cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    if actor != "anonymous":
        client.force_login(cast.user(actor))
    for origin in ({"Origin": "https://elsewhere.example"}, {"Origin": "null"}, {}):
        for fragment in ({}, {"HX-Request": "true"}):
            answer = client.post(
                address, {"text": CANARY, CANARY: "1", "login": CANARY}, headers={**origin, **fragment}
            )
            assert answer.status_code in (403, 404), (origin, fragment)
            assert CANARY not in answer.content.decode(), (origin, fragment)


def with_token(client: Client) -> dict[str, str]:
    client.get(reverse("account_login"))
    return {"csrfmiddlewaretoken": client.cookies["csrftoken"].value}


def test_who_typed_it_here_keeps_it(cast: Cast) -> None:
    """A page of our own that is gone by now, or that the person may no longer see."""
    for path in ("/nowhere/", reverse("message_write", args=[NEVER, NEVER]), reverse("person_invite")):
        client = Client(enforce_csrf_checks=True)
        token = with_token(client)
        client.force_login(cast.coach.user)
        answer = client.post(path, {**token, "text": CANARY}, headers={"Origin": "http://testserver"})
        assert answer.status_code in (403, 404) and CANARY in answer.content.decode(), path
