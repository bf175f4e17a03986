"""How often somebody may try to sign in.

On a device from which this account was signed in before, wrong tries are counted for the device alone; from all others
they are counted by address, by name and address, and, more slowly, by name. So a stranger who types wrong passwords,
even on the same Wi-Fi, never locks the owner out of a device that they use.

The idea: OWASP, "Slow Down Online Guessing Attacks with Device Cookies".
"""

import unicodedata
from collections.abc import Iterator
from typing import NamedTuple

from allauth.core.internal import ratelimit
from django.http import HttpRequest

from coachbook.accounts.devices import known_device


class Limit(NamedTuple):
    """How many tries in how long, as allauth writes rates, and how long to wait when there were more."""

    counted_by: str
    rate: str
    wait: str


KNOWN_DEVICE = Limit("device", "5/5m/key", "five minutes")
ADDRESS = Limit("address", "20/m/ip", "a minute")
NAME_AND_ADDRESS = Limit("name_and_address", "5/5m/key", "five minutes")
NAME = Limit("name", "30/h/key", "an hour")


class TooManyTries(Exception):
    """There were too many tries; its text says how long to wait."""

    def __init__(self, wait: str) -> None:
        super().__init__(f"Too many tries. Wait {wait}, then try again.")


def normalise_name(name: str) -> str:
    """One spelling for all that sign in the same account."""
    return unicodedata.normalize("NFKC", name).strip().casefold()


def limits_for(request: HttpRequest, name: str) -> Iterator[tuple[Limit, str]]:
    """The limits that hold for a try, each with the key under which it is counted."""
    if device := known_device(request, name):
        yield KNOWN_DEVICE, f"{name} {device}"
        return
    yield ADDRESS, ""
    yield NAME_AND_ADDRESS, f"{name} {ratelimit.get_ip(request)}"
    yield NAME, name


def count_try(request: HttpRequest, purpose: str, name: str) -> list[ratelimit.RateLimitUsage]:
    """Count one try; what it returns can take it off again. TooManyTries where a limit is reached."""
    counted = []
    for limit, key in limits_for(request, normalise_name(name)):
        action = f"{purpose}_{limit.counted_by}"
        usage = ratelimit.consume(request, app="", action=action, config={action: limit.rate}, key=key)
        if usage is None:
            raise TooManyTries(limit.wait)
        counted.append(usage)
    return counted


def forget_tries(request: HttpRequest, purpose: str, name: str) -> None:
    """Begin to count anew: for somebody who proved by mail that the account is theirs."""
    for limit, key in limits_for(request, normalise_name(name)):
        if limit is not ADDRESS:
            action = f"{purpose}_{limit.counted_by}"
            ratelimit.clear(request, app="", action=action, config={action: limit.rate}, key=key)
