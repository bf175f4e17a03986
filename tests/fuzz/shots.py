"""Sending junk, one request after the other, each of which leaves the database as it was."""

import traceback
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from unittest.mock import patch

from django.core.cache import cache
from django.db import transaction
from django.http import HttpResponse
from django.test import Client

from coachbook.accounts.models import Academy
from coachbook.wsgi import Utf8Request
from tests.fuzz.junk import ZONES, body, headers
from tests.fuzz.places import Places, names

ROOT = Path(__file__).resolve().parents[2]
METHODS = [*["POST"] * 14, *["GET"] * 4, "PUT", "DELETE"]
FAR = ZONES[:3]
NOT_BROKEN = 503  # said on purpose, where a machine cannot make PDF
SLOW = ("pdf", "test_result")  # pages that take long: one in eight of their share


@dataclass
class Failure:
    """One cause of server errors: where it was raised, how often, and the first request that met it."""

    where: str
    first: str
    count: int = 0


@dataclass
class Tally:
    """What became of all requests."""

    statuses: dict[int, int] = field(default_factory=dict)
    failures: dict[str, Failure] = field(default_factory=dict)
    refused: set[tuple[str, str]] = field(default_factory=set)  # methods that an address does not take

    def add(self, status: int, where: str, request: str) -> None:
        self.statuses[status] = self.statuses.get(status, 0) + 1
        if status >= 500 and status != NOT_BROKEN:
            if where not in self.failures:
                print(f"{where}\n    {request}", flush=True)
            self.failures.setdefault(where, Failure(where, request)).count += 1


# Django's client makes its requests itself; those of a web server come through our own door.
@patch("django.test.client.WSGIRequest", Utf8Request)
def shoot(people: dict[str, Client], count: int, seed: int, only: str = "") -> Tally:
    """Send so many requests as these people in turn to addresses drawn by chance."""
    random, tally = Random(seed), Tally()
    places, kept = Places.read(), {who: dict(client.cookies) for who, client in people.items()}
    places.read_forms(people.values(), random)
    weighted = [(name, parts) for name, parts in names().items() if name.startswith(only)]
    while sum(tally.statuses.values()) < count:
        name, parts = random.choice(weighted)
        if any(word in name for word in SLOW) and random.random() < 0.88:
            continue
        who = random.choice(list(people))
        people[who].cookies.load({key: morsel.value for key, morsel in kept[who].items()})
        one_shot(people[who], who, name, places.address(name, parts, random), places, random, tally)
    return tally


def one_shot(client: Client, who: str, name: str, address: str, places: Places, random: Random, tally: Tally) -> None:
    """Send one request and take back whatever it wrote."""
    method, sent = method_for(name, random, tally), headers(random)
    data, kind = body(places.forms.get(name, []), random) if method != "GET" else (b"", "")
    cache.clear()
    with transaction.atomic():
        if random.random() < 0.15:
            Academy.objects.update(time_zone=random.choice(FAR))
        answer = client.generic(method, address, data, content_type=kind, headers=sent)
        transaction.set_rollback(True)
    told = f"{method} {address[:300]} as {who}, {kind!r}, {sent}, {data[:600]!r}"
    tally.add(answer.status_code, where_raised(answer), told)
    if answer.status_code == 405:
        tally.refused.add((name, method))


def method_for(name: str, random: Random, tally: Tally) -> str:
    """A method, mostly one that the address takes."""
    method = random.choice(METHODS)
    if (name, method) in tally.refused and random.random() < 0.9:
        return "GET" if (name, "GET") not in tally.refused else "POST"
    return method


def where_raised(answer: HttpResponse) -> str:
    """The exception and the last of our own lines that led to it."""
    if not (raised := getattr(answer, "exc_info", None)):
        return ""
    kind, value, trace = raised
    ours = [f for f in traceback.extract_tb(trace) if f.filename.startswith(str(ROOT)) and ".venv" not in f.filename]
    line = f"{Path(ours[-1].filename).relative_to(ROOT)}:{ours[-1].lineno}" if ours else "outside of our own lines"
    return f"{kind.__name__} at {line}: {str(value)[:200]}"


def told(tally: Tally) -> Iterable[str]:
    """The figures and the causes, one line each."""
    yield ", ".join(f"{status}: {count}" for status, count in sorted(tally.statuses.items()))
    for failure in tally.failures.values():
        yield f"{failure.count} times {failure.where}"
