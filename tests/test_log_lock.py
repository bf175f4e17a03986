"""A save holds the lock for its writing alone, and what was stored meanwhile is met as it is. No time is asserted."""

import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, connections
from django.test import Client
from django.test.utils import CaptureQueriesContext

from coachbook.loop.log import views
from drills.models import Prescription
from lessons.models import Focus, Lesson, Observation, SeenFault
from tests.conftest import Cast
from tests.make import academy_today, make_drill, make_fault, make_skill

Clients = Callable[[str], Client]
FOCUS = uuid.uuid4()
DRILL = {"drill": "ladder", "amount": "20", "unit": "balls", "per_week": "3", "days": "30"}


class Log:
    """One page of a log that is posted again and again."""

    def __init__(self, client: Client, address: str, page: str = "a page") -> None:
        self.client, self.address, self.count = client, address, 0
        self.typed = {"putting": "on", "day": academy_today().isoformat(), "note_reader": "coach", "page": page}

    def post(self, **typed: str) -> int:
        self.count += 1
        self.typed |= typed
        data = self.typed | {"count": str(self.count)}
        return self.client.post(self.address, data, headers={"HX-Request": "true"}).status_code

    def statements(self, **typed: str) -> list[str]:
        """What one post sends to the database between BEGIN and COMMIT."""
        with CaptureQueriesContext(connection) as captured:
            assert self.post(**typed) in (200, 201)
        words = [query["sql"] for query in captured.captured_queries]
        begins = [index for index, sql in enumerate(words) if sql.startswith("BEGIN")]
        ends = [index for index, sql in enumerate(words) if sql.startswith("COMMIT")]
        assert len(begins) == len(ends) == 1
        return words[begins[0] + 1 : ends[0]]


@pytest.fixture
def log(transactional_db: None, cast: Cast, as_: Clients) -> Log:
    skill = make_skill("grip")
    make_fault(skill, "apart")
    make_fault(skill, "tight")
    return Log(as_("coach"), f"/students/{cast.student.key}/lessons/{uuid.uuid4()}/")


def test_a_save_writes_what_changed_and_reads_nothing_while_others_wait(log: Log) -> None:
    """Each row and its history; beside them the version, by which a save finds out that it was overtaken.

    Only a focus that changes, or its drill, is read again.
    """
    make_drill("ladder")
    focus = {"focus": str(FOCUS), f"focus-{FOCUS}-fault": "apart", f"focus-{FOCUS}-kind": "fix"}
    most = {"a new lesson": 4, "words": 3, "a look": 5, "a second fault": 3, "a degree": 3, "nothing": 1}
    typed = {
        "a new lesson": {},
        "words": {"keep": "Calm rhythm"},
        "a look": {"a.grip.measure": "two fingers"},
        "a fault": {"a.apart": "clear"},
        "a second fault": {"a.tight": "slight"},
        "a degree": {"a.tight": "clear"},
        "a focus": focus,
        "a drill": {f"focus-{FOCUS}-{name}": value for name, value in DRILL.items()},
        "nothing": {},
    }
    found = {name: log.statements(**values) for name, values in typed.items()}
    assert {name: len(found[name]) for name in most} == most
    assert len(found["a fault"]) <= 5 and len(found["a focus"]) <= 12
    read = {name: [sql for sql in sent if sql.startswith("SELECT")] for name, sent in found.items()}
    assert {name for name, sent in read.items() if sent} <= {"a focus", "a drill"}
    assert Focus.objects.get().fault.code == "apart" and SeenFault.objects.count() == 2
    assert Prescription.objects.get().drill.code == "ladder"


def test_many_rows_are_written_by_as_few_statements_as_one(log: Log) -> None:
    log.post()
    codes = [make_fault(make_skill()).code for _ in range(8)]
    assert len(log.statements(**{f"a.{code}": "clear" for code in codes})) == 7
    assert len(log.statements(**{f"a.{code}": "slight" for code in codes})) == 3
    assert Observation.objects.count() == SeenFault.objects.filter(degree="slight").count() == 8


def test_what_is_written_at_once_keeps_who_and_when(log: Log, cast: Cast) -> None:
    log.post(**{"a.apart": "clear"})
    log.post(**{"a.apart": "slight"})
    for model, kinds in ((Observation, "+"), (SeenFault, "~+")):
        rows = model.objects.get().history.all()
        assert "".join(row.history_type for row in rows) == kinds
        assert {row.history_user for row in rows} == {cast.coach.user} and all(row.history_date for row in rows)


@pytest.fixture
def between(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], object]], None]:
    """Let something happen once between the reading of a log and its writing."""

    def arrange(happen: Callable[[], object]) -> None:
        waiting, load = [happen], views.load

        def load_then_happen(*words: object) -> object:
            form = load(*words)
            if waiting:
                waiting.pop()()
            return form

        monkeypatch.setattr(views, "load", load_then_happen)

    return arrange


def test_a_save_that_the_same_page_overtook_is_made_again_on_what_it_stored(log: Log, between: Callable) -> None:
    log.post()
    earlier = Log(log.client, log.address)
    earlier.count = 1
    between(lambda: earlier.post(keep="Calm", **{"a.apart": "clear"}))
    log.count = 2
    assert log.post(keep="Calm rhythm", **{"a.apart": "slight"}) == 200
    assert Lesson.objects.get().keep == "Calm rhythm" and Lesson.objects.get().version == 3
    assert SeenFault.objects.get().degree == "slight" and Observation.objects.count() == 1


def test_a_save_that_another_page_overtook_is_refused_and_changes_nothing(log: Log, between: Callable) -> None:
    log.post(keep="Calm")
    other = Log(log.client, log.address, page="another page")
    other.typed["base"] = "1"
    between(lambda: other.post(keep="Theirs"))
    log.typed["page"] = "a page that was not the last"
    log.typed["base"] = "1"
    assert log.post(keep="Mine", **{"a.apart": "clear"}) == 422
    assert Lesson.objects.get().keep == "Theirs" and not Observation.objects.exists()


def test_a_lesson_that_was_made_between_is_met(log: Log, between: Callable) -> None:
    between(lambda: Log(log.client, log.address).post(keep="Calm"))
    log.count = 1
    assert log.post(keep="Calm rhythm") == 200
    assert Lesson.objects.get().keep == "Calm rhythm"


def test_many_taps_of_one_page_at_once_are_all_answered_and_stored_once(log: Log) -> None:
    log.post()

    def tap(number: int) -> int:
        page = Log(Client(), log.address)
        page.client.cookies = log.client.cookies
        page.count = 1
        try:
            return page.post(**{"a.apart": "clear"})
        finally:
            connections.close_all()

    with ThreadPoolExecutor(6) as threads:
        assert set(threads.map(tap, range(6))) == {200}
    assert Lesson.objects.get().version == 7
    assert Observation.objects.count() == SeenFault.objects.count() == 1


def test_a_log_that_an_outbox_sends_keeps_others_waiting_no_longer(log: Log, cast: Cast) -> None:
    """Its receipt is a transaction of its own, after the save: reading the log is in neither."""
    log.post(keep="Calm")
    alone = log.statements(keep="Calm rhythm")
    headers = {"Outbox-Key": str(uuid.uuid4()), "Outbox-Person": str(cast.coach.user.key)}
    data = log.typed | {"keep": "Calm rhythm, soft hands", "count": "3"}
    with CaptureQueriesContext(connection) as captured:
        assert log.client.post(log.address, data, headers=headers).status_code == 201
    words = [query["sql"] for query in captured.captured_queries]
    begins = [index for index, sql in enumerate(words) if sql.startswith("BEGIN")]
    ends = [index for index, sql in enumerate(words) if sql.startswith("COMMIT")]
    save, receipt = (words[begin + 1 : end] for begin, end in zip(begins, ends, strict=True))
    assert len(save) == len(alone) and all("outbox_receipt" in sql for sql in receipt)
