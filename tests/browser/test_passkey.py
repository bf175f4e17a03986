"""Passkeys in a real Chromium with a virtual authenticator (CDP, domain WebAuthn); an app with codes, no script."""

import re
import time
from collections.abc import Callable

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from coachbook.accounts.models import User
from coachbook.demo import people
from tests.browser.conftest import DESK, PHONE, broken_rules

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]


@pytest.fixture
def odile(academy: None) -> User:
    """The manager, who has no second factor yet."""
    Authenticator.objects.all().delete()
    return User.objects.get(username="odile")


def local(live_server: LiveServer) -> str:
    """The address of the server under the name for which browsers allow passkeys without TLS."""
    return live_server.url.replace("127.0.0.1", "localhost")


def type_password(page: Page, origin: str, username: str = "odile") -> None:
    page.goto(f"{origin}/account/login/")
    page.get_by_label("E-mail or user name").fill(username)
    page.get_by_label("Password", exact=True).fill(people.PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def with_authenticator(page: Page) -> None:
    """Give the window a device that holds passkeys and says yes."""
    device = page.context.new_cdp_session(page)
    device.send("WebAuthn.enable")
    device.send("WebAuthn.addVirtualAuthenticator", {"options": {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
        "isUserVerified": True, "automaticPresenceSimulation": True,
    }})  # fmt: skip


def own_problems(page: Page) -> list[str]:
    """What axe finds on a page, on a phone and on a desk, and whether it scrolls sideways."""
    found = []
    for size in (PHONE, DESK):
        page.set_viewport_size(size)
        found += broken_rules(page)
        if page.evaluate("document.documentElement.scrollWidth") > size["width"]:
            found.append("scrolls sideways")
    return found


def test_a_manager_adds_a_passkey_and_signs_in_with_it(
    odile: User, open_window: Window, live_server: LiveServer
) -> None:
    origin = local(live_server)
    page, found = open_window(watched=False), []
    refused: list[str] = []
    page.on("console", lambda said: refused.append(said.text) if said.type == "error" else None)
    with_authenticator(page)
    type_password(page, origin)
    expect(page.get_by_role("heading", name="Second factor")).to_be_visible()
    found += own_problems(page)
    page.get_by_role("link", name="Add a passkey").click()
    found += own_problems(page)
    page.get_by_label("Name of the passkey").fill("My phone")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    found += own_problems(page)
    assert Authenticator.objects.get(type="webauthn").wrap().name == "My phone"
    page.get_by_role("link", name="I have kept them").click()
    page.wait_for_url("**/caseload/")
    page.goto(f"{origin}/account/logout/")
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/account/login/**")  # what this phone keeps is erased first
    type_password(page, origin)
    found += own_problems(page)
    page.get_by_role("button", name="Use a passkey").click()
    page.wait_for_url("**/caseload/")
    for path in ("/account/", "/account/factor/", "/account/devices/"):
        page.goto(origin + path)
        found += [f"{path}: {problem}" for problem in own_problems(page)]
    assert found == [] and refused == []


def test_a_device_that_gives_no_passkey_is_said_on_the_page(
    odile: User, open_window: Window, live_server: LiveServer
) -> None:
    page = open_window(watched=False)
    type_password(page, local(live_server))
    page.get_by_role("link", name="Add a passkey").click()
    page.evaluate("() => { navigator.credentials.create = () => Promise.reject(new Error('no')); }")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_text("Your device gave no passkey.")).to_be_visible()
    assert not Authenticator.objects.exists()


def code_for(secret: str, later: int = 0) -> str:
    return format_hotp_value(hotp_value(secret, int(time.time()) // 30 + later))


def test_an_app_is_added_and_signs_in_without_a_script(
    odile: User, open_window: Window, live_server: LiveServer
) -> None:
    page = open_window(script=False)
    type_password(page, live_server.url)
    page.get_by_role("link", name="Add an app").click()
    assert page.get_by_role("img", name="A code to scan").bounding_box()
    secret = page.locator("ol strong").inner_text()
    page.get_by_label("Code", exact=True).fill(code_for(secret))
    page.get_by_role("button", name="Add this app").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    codes = re.findall(r"\b\d{8}\b", page.get_by_role("main").inner_text())
    assert len(codes) == 10
    page.get_by_role("link", name="I have kept them").click()
    page.wait_for_url("**/caseload/")
    page.goto("/account/logout/")
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    type_password(page, live_server.url)
    expect(page.get_by_role("button", name="Use a passkey")).to_be_hidden()
    page.get_by_label("Code", exact=True).fill("000000")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("This code is not right.").first).to_be_visible()
    page.get_by_label("Code", exact=True).fill(code_for(secret))
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/caseload/")
