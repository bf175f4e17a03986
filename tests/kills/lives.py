"""The lives of a server: people write, it is killed at a random moment, and what is stored is looked through."""

import sqlite3
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from random import Random

from django.db import connection

from tests.kills.academy import Academy
from tests.kills.deeds import Deed, deeds_of, rows_for, rows_of_all
from tests.kills.server import Person, Server

LONGEST = 2.0  # seconds from the start of the writing to the kill, at most


@dataclass
class Writer:
    """A person who writes one deed after the other, and sends again what was not answered."""

    person: Person
    coming: Iterator[Deed]
    deeds: list[Deed] = field(default_factory=list)
    touched: list[Deed] = field(default_factory=list)  # in this life
    refused: list[str] = field(default_factory=list)

    def write(self, stop: threading.Event) -> None:
        """Write until the server is gone, or until told to stop, and then to the end of the deed."""
        while not self.refused:
            if not self.deeds or self.deeds[-1].is_over:
                if stop.is_set():
                    return
                self.deeds.append(next(self.coming))
            try:
                self.send(self.deeds[-1])
            except OSError:
                return

    def send(self, deed: Deed) -> None:
        """Send the next post of a deed."""
        if deed not in self.touched[-1:]:
            self.touched.append(deed)
        post, deed.is_waiting = deed.next, True
        answer = self.person.ask("POST", post.address, post.typed)
        deed.is_waiting = False
        if answer.is_yes:
            deed.said += 1
        else:
            self.refused.append(f"{deed.kind} at {post.address}: {answer}")


@dataclass
class Tally:
    """What became of all that was sent."""

    kills: int = 0
    said: Counter[str] = field(default_factory=Counter)  # answered with yes, by kind
    stored_unsaid: Counter[str] = field(default_factory=Counter)  # in flight at a kill, and stored
    not_stored: Counter[str] = field(default_factory=Counter)  # in flight at a kill, and not stored
    problems: list[str] = field(default_factory=list)

    def told(self) -> Iterator[str]:
        """The figures, a line each."""
        yield f"{self.kills} kills, {sum(self.said.values())} posts answered: {in_words(self.said)}"
        yield f"in flight at a kill and stored {sum(self.stored_unsaid.values())}: {in_words(self.stored_unsaid)}"
        yield f"in flight at a kill and not stored {sum(self.not_stored.values())}: {in_words(self.not_stored)}"
        yield from self.problems
        yield f"{len(self.problems)} problems: lost, doubled, half stored, refused or damaged"


def in_words(counts: Counter[str]) -> str:
    return ", ".join(f"{kind} {count}" for kind, count in sorted(counts.items()))


def live_and_die(academy: Academy, server: Server, kills: int, seed: int) -> Tally:
    """So many lives, and a last one in which everybody finishes; stops at the first life with a problem."""
    random, tally, before = Random(seed), Tally(), rows_of_all()
    writers = [Writer(Person(name, server.port), deeds) for name, deeds in deeds_of(academy).items()]
    server.start()
    try:
        for writer in writers:
            writer.person.sign_in()
        while tally.kills < kills and not tally.problems:
            write_for(writers, random.uniform(0.02, LONGEST), server)
            tally.kills += 1
            server.start()
            look_through(writers, tally)
            random.choice(writers).person.sign_in()  # the others go on with the session they have
        write_for(writers, 0.2)
        look_at_all(writers, tally, before)
    finally:
        server.kill()
    return tally


def write_for(writers: list[Writer], seconds: float, server: Server | None = None) -> None:
    """Have all write at once for so long, until the server, if one is given, is killed."""
    stop = threading.Event()
    threads = [threading.Thread(target=writer.write, args=(stop,)) for writer in writers]
    for thread in threads:
        thread.start()
    stop.wait(seconds)
    if server:
        server.kill()
    else:
        stop.set()
    for thread in threads:
        thread.join()


def look_through(writers: list[Writer], tally: Tally) -> None:
    """Compare what is stored of the deeds of a life with what was answered, and count what was in flight."""
    for writer in writers:
        tally.problems += filter(None, (deed.problem() for deed in writer.touched))
        tally.problems += writer.refused
        for deed in writer.touched:
            if deed.is_waiting:
                (tally.stored_unsaid if deed.is_stored_unsaid() else tally.not_stored)[deed.kind] += 1
        writer.touched.clear()
    tally.problems += damage()
    connection.close()


def look_at_all(writers: list[Writer], tally: Tally, before: dict[str, int]) -> None:
    """Compare every deed since the beginning, and the number of all rows, so that no double lies anywhere else."""
    look_through(writers, tally)
    deeds = [deed for writer in writers for deed in writer.deeds]
    tally.problems += filter(None, (deed.problem() for deed in deeds))
    for deed in deeds:
        tally.said[deed.kind] += deed.said
    found = {name: count - before[name] for name, count in rows_of_all().items()}
    expected = rows_for([deed for deed in deeds if deed.is_over])
    tally.problems += [
        f"{name}: {count} rows, not {expected[name]}" for name, count in found.items() if count != expected[name]
    ]
    connection.close()


def damage() -> list[str]:
    """What SQLite finds wrong inside its file; PostgreSQL's server was never killed and holds its own keys."""
    if connection.vendor != "sqlite":
        return []
    with closing(sqlite3.connect(connection.settings_dict["NAME"])) as database:
        found = [row for row in database.execute("PRAGMA integrity_check") if row != ("ok",)]
        return [f"damaged: {row}" for row in [*found, *database.execute("PRAGMA foreign_key_check")]]
