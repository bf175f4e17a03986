"""The server: `gunicorn --config coachbook/operations/gunicorn_conf.py coachbook.wsgi`; units/ holds its unit."""

import os
from multiprocessing import cpu_count
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachbook.settings")

from coachbook.checks import sqlite_is_recent
from coachbook.logs import WithoutSecrets

bind = "127.0.0.1:8000"
accesslog = "-"
control_socket_disable = True  # it would lie in the home of whoever runs the site
# Several processes, but for an SQLite that several might damage: see checks.py.
workers = 1 if sqlite_is_recent() else 2 * cpu_count() + 1
threads = 4


def post_worker_init(worker: Any) -> None:
    """Clean what is logged of each request."""
    worker.log.access_log.addFilter(WithoutSecrets())
