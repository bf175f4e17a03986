"""Runs a schedule: somebody writes while the network, the browser and the sign-in fail, and all is sent in the end."""

import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from random import Random

from django.db import connection
from playwright.sync_api import Page

from coachbook.outbox.models import Receipt
from tests.kills.server import Server
from tests.schedules import phone as phones
from tests.schedules.academy import Academy, Writer
from tests.schedules.deeds import BY_HAND, Deed, make_deed, value
from tests.schedules.faults import PROVOKED_BY
from tests.schedules.phone import Phone

STEPS = (4, 9)
ENDS_WITHIN = 30  # seconds
NETWORKS = ["online", "online", "offline", "offline", "slow", "lost", "lost", "busy", "portal", "late portal"]
SHIFT = "(shift) => { const now = Date.now; Date.now = () => now() + shift; }"


@dataclass
class Tally:
    """What became of all schedules."""

    schedules: int = 0
    kept: int = 0
    posts: int = 0
    done: Counter[str] = field(default_factory=Counter)
    written: Counter[str] = field(default_factory=Counter)
    problems: list[str] = field(default_factory=list)

    def told(self) -> Iterator[str]:
        """The figures, a line each."""
        yield f"{self.schedules} schedules, {self.kept} forms kept on the phone, {self.posts} requests sent with them"
        for counted in (self.written, self.done):
            yield ", ".join(f"{what} {count}" for what, count in sorted(counted.items()))
        yield from self.problems
        yield f"{len(self.problems)} problems: lost, doubled, out of order or sent by two at once"


@dataclass
class Schedule:
    """One of them: a person, their phone, and what they have written so far."""

    number: int
    random: Random
    academy: Academy
    phone: Phone
    writer: Writer
    other: Writer
    deeds: list[Deed] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)
    before_the_end: Callable[[], object] = list  # nothing, unless it is set

    def run(self) -> list[str]:
        """Take the steps, then let all be sent; the problems."""
        receipts = Receipt.objects.count()
        self.phone.sign_in(self.writer)
        self.phone.tab()
        self.write()
        for _ in range(self.random.randint(*STEPS)):
            step = self.random.choice([*[self.write] * 5, *[self.change_network] * 4, *RARE])
            name = step.__name__ if hasattr(step, "__name__") else str(step)
            self.steps.append(name)
            step(self) if step in RARE else step()  # type: ignore[call-arg]
        self.before_the_end()
        self.recover()
        return [f"schedule {self.number}: {problem} ({' '.join(self.steps)})" for problem in self.look(receipts)]

    @property
    def page(self) -> Page:
        return self.random.choice(self.phone.tabs)

    def write(self) -> None:
        """Put the next form in, of what was begun or of something new, and have it sent without waiting."""
        open_deeds = [deed for deed in self.deeds if deed.next]
        if not open_deeds or self.random.random() < 0.3:
            open_deeds = [make_deed(self.academy, self.writer, self.random)]
            self.deeds += open_deeds
        deed = self.random.choice(open_deeds)
        form, page = deed.next, self.page
        assert form
        if deed.kind == BY_HAND:
            self.phone.sign_in(self.writer)
            self.phone.type_log(page, form.address, value(form, "keep"), lambda: bool(deed.read()))
        else:
            form.key = phones.put(page, form.as_put())
        deed.kept.append(form)
        phones.start_sending(page)

    def change_network(self) -> None:
        word = self.random.choice(NETWORKS)
        self.steps[-1] = word
        self.phone.set_network(word)

    def recover(self) -> None:
        """All is well again, and whatever waits is sent."""
        self.phone.set_network("online")
        self.phone.sign_in(self.writer)
        for tab in self.phone.tabs[1:]:
            tab.close()
        page = self.phone.tabs[0]
        self.phone.reload(page)
        deadline = time.monotonic() + ENDS_WITHIN
        phones.send(page)
        while phones.pending(page) and time.monotonic() < deadline and not refused(page):
            phones.send(page)

    def look(self, receipts: int) -> Iterator[str]:
        """What is wrong in the end."""
        waiting = {entry["key"]: entry for entry in phones.pending(self.phone.tabs[0])}
        yield from (f"not sent: {e['address']} {e['problem']}" for e in waiting.values())
        yield from filter(None, (deed.problem() for deed in self.deeds))
        found = list(Receipt.objects.order_by("pk")[receipts:])
        keys = [str(receipt.key) for receipt in found]
        if others := sum(receipt.person_id != self.writer.user.pk for receipt in found):
            yield f"{others} forms were sent in another person's name"
        known = {form.key for deed in self.deeds for form in deed.kept}
        by_hand = {form.address for deed in self.deeds if deed.kind == BY_HAND for form in deed.kept}
        if unknown := {str(receipt.key) for receipt in found if receipt.to not in by_hand} - known:
            yield f"doubled: {len(unknown)} forms took effect that nobody wrote"
        for deed in self.deeds:
            sent = [form.key for form in deed.kept if form.key in keys]
            if sent != [key for key in keys if key in set(sent)]:
                yield f"out of order: {deed.kind}"
        if self.phone.most_in_flight > 1:
            yield f"{self.phone.most_in_flight} forms were on their way at once"
        connection.close()


def refused(page: Page) -> bool:
    return all(entry["problem"] for entry in phones.pending(page))


# --- What goes wrong now and then -----------------------------------------------------------------


def kill_browser(schedule: Schedule) -> None:
    """The battery is empty; later the same page is opened again."""
    network = schedule.phone.network
    schedule.phone.kill()
    schedule.phone.open()
    schedule.phone.sign_in(schedule.writer)
    schedule.phone.tab_when(network)


def second_tab(schedule: Schedule) -> None:
    """One more tab, which sends by itself; or one of two is closed."""
    if len(schedule.phone.tabs) > 1:
        schedule.phone.flying.clear()
        schedule.phone.tabs.pop(0).close()
    else:
        schedule.phone.sign_in(schedule.writer)
        schedule.phone.online_tab()


def sign_out(schedule: Schedule) -> None:
    """The session has ended: what is sent now is answered by a page to sign in."""
    schedule.phone.sign_in(None)
    phones.start_sending(schedule.page, again=True)


def sign_in(schedule: Schedule) -> None:
    schedule.phone.sign_in(schedule.writer)
    phones.start_sending(schedule.page)


def other_person(schedule: Schedule) -> None:
    """Somebody else signs in while something waits: sees nothing, sends nothing, and the first person comes back."""
    network = schedule.phone.network
    schedule.phone.set_network("offline")
    schedule.write()
    schedule.phone.sign_in(schedule.other)
    schedule.phone.set_network(network)
    phones.start_sending(schedule.page, again=True)
    tab = schedule.phone.online_tab()
    if seen := phones.pending(tab):
        raise AssertionError(f"another person sees {len(seen)} entries")
    phones.send(tab)
    schedule.phone.tabs.remove(tab)
    tab.close()
    schedule.phone.sign_in(schedule.writer if schedule.random.random() < 0.5 else None)


def wrong_clock(schedule: Schedule) -> None:
    """The phone's clock jumps by a day."""
    schedule.page.evaluate(SHIFT, schedule.random.choice([-1, 1]) * 86_400_000)


def update(schedule: Schedule) -> None:
    """The program is brought up to date while something waits that its version before had kept."""
    for tab in schedule.phone.tabs[1:]:
        tab.close()
    schedule.phone.tabs = schedule.phone.tabs[:1]
    page, network = schedule.phone.tabs[0], schedule.phone.network
    schedule.phone.sign_in(schedule.writer)
    schedule.phone.set_network("offline")
    page.evaluate(
        "() => import('/static/js/outbox/page.js').then(({ outbox }) => outbox.send().then(() => outbox.store.close()))"
    )
    phones.to_version_1(page, schedule.writer)
    schedule.phone.reload_when(network, page)


RARE: list[Callable[[Schedule], None]] = [
    kill_browser, second_tab, second_tab, sign_out, sign_in, other_person, wrong_clock, update,
]  # fmt: skip


def kill_server(schedule: Schedule, server: Server) -> None:
    """The served site dies with all its processes while something is on its way, and is started again."""
    schedule.phone.set_network("slow")
    for _ in range(3):
        schedule.write()
    schedule.phone.set_network("online")
    schedule.phone.tabs[0].wait_for_timeout(schedule.random.uniform(0, 300))  # ms; nothing, a part or all was answered
    server.kill()
    schedule.phone.tabs[0].wait_for_timeout(50)
    server.start()
    schedule.steps.append("kill_server")


def provoke(schedule: Schedule, what: str) -> None:
    """Let this go wrong while something waits."""
    schedule.phone.sign_in(schedule.writer)
    schedule.phone.set_network("offline")
    schedule.write()
    if what in NETWORKS:
        schedule.phone.set_network(what)
        phones.send(schedule.page)
    else:
        next(step for step in RARE if step.__name__ == what)(schedule)
    schedule.steps.append(what)


def run_all(
    academy: Academy,
    phone: Phone,
    numbers: Iterable[int],
    seed: int | str,
    *,
    stop: bool = False,
    server: Server | None = None,
    kills: int = 0,
    provoked_by: str = "",
) -> Tally:
    """These schedules; `stop` at the first problem, the server killed in each `kills`-th, or what is named provoked."""
    tally = Tally()
    phone.open()
    for number in numbers:
        random = Random(f"{seed} {number}")
        people = random.choice([academy.coaches, academy.students])
        writer, other = (people[(number + at) % len(people)] for at in (0, 1))
        phone.most_in_flight = 0
        schedule = Schedule(number, random, academy, phone, writer, other)
        if server and kills and number % kills == 0:
            schedule.before_the_end = partial(kill_server, schedule, server)
        elif provoked_by:
            schedule.before_the_end = partial(provoke, schedule, provoked_by)
        try:
            tally.problems += schedule.run()
        except AssertionError as wrong:
            tally.problems.append(f"schedule {number}: {wrong} ({' '.join(schedule.steps)})")
        tally.schedules += 1
        tally.kept += sum(len(deed.kept) for deed in schedule.deeds)
        tally.done.update(schedule.steps)
        tally.written.update(deed.kind for deed in schedule.deeds)
        phone.start_anew()
        if stop and tally.problems:
            break
    tally.posts = phone.posts
    phone.close()
    return tally


@dataclass
class Seen:
    """At which schedule each fault was seen, and as what; None where it never was."""

    found: dict[str, str | None]

    @property
    def problems(self) -> list[str]:
        """The faults that no schedule sees."""
        return [fault for fault, problem in self.found.items() if problem is None]

    def told(self) -> Iterator[str]:
        """A line for each fault."""
        yield from (f"{fault}: {problem or 'not seen'}" for fault, problem in self.found.items())
        yield f"{len(self.problems)} of {len(self.found)} faults not seen"


def seen_at(academy: Academy, phones: dict[str, Phone], numbers: Sequence[int], seed: int) -> Seen:
    """Let each fault run until a schedule sees it."""
    found: dict[str, str | None] = {}
    for fault, phone in phones.items():  # schedules of its own: two walk-ins of one name would be a problem, too
        what = PROVOKED_BY.get(fault, "")
        problems = run_all(academy, phone, numbers, f"{seed} {fault}", stop=True, provoked_by=what).problems
        found[fault] = problems[0] if problems else None
    return Seen(found)
