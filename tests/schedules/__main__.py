"""`manage.py test --schedules [N]`: random schedules of the outbox, and what was lost, doubled or turned round."""

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

from tests.kills.__main__ import set_up
from tests.schedules.faults import FAULTS


def main() -> int:
    """Make an academy of its own, serve it, run the schedules, tell; 0 where nothing is wrong."""
    options = read_options()
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="schedules-") as folder:
        set_up(folder)
        tally = run(Path(folder), options)
    print(*tally.told(), sep="\n")
    print(f"seed {options.seed}, {time.monotonic() - began:.0f} s")
    return 1 if tally.problems else 0


def run(folder: Path, options: argparse.Namespace):  # type: ignore[no-untyped-def]  # what became of all, once Django is set up
    from playwright.sync_api import sync_playwright

    from tests.kills.server import Server, free_port
    from tests.schedules.academy import make_academy
    from tests.schedules.phone import Phone
    from tests.schedules.run import run_all, seen_at

    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # the driver leaves an event loop in this thread
    academy = make_academy()
    server = Server(free_port(), 1, folder / "server.log")
    server.start()
    try:
        with sync_playwright() as playwright:
            address = f"http://127.0.0.1:{server.port}"
            numbers = range(options.many) if options.only is None else [options.only]
            if options.faults:
                phones = {
                    fault: Phone(playwright, folder / fault, address, options.chromium, fault) for fault in FAULTS
                }
                return seen_at(academy, phones, numbers, options.seed)
            phone = Phone(playwright, folder / "profile", address, options.chromium, options.fault)
            return run_all(academy, phone, numbers, options.seed, stop=options.stop, server=server, kills=options.kills)
    finally:
        server.kill()


def read_options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="manage.py test --schedules", description=__doc__)
    parser.add_argument("many", type=int, nargs="?", default=1000, help="how many")
    parser.add_argument("--seed", type=int, default=1, help="which ones")
    parser.add_argument("--only", type=int, help="the one of this number")
    parser.add_argument("--kills", type=int, default=0, help="kill the server in every schedule of so many")
    parser.add_argument("--stop", action="store_true", help="stop at the first problem")
    parser.add_argument("--fault", default="", help="a fault of faults.py, put into the outbox")
    parser.add_argument("--faults", action="store_true", help="each of them in turn, until one of so many sees it")
    parser.add_argument("--chromium", default=os.environ.get("CHROMIUM") or "/usr/bin/chromium")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
