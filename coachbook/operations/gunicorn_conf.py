"""A sample for gunicorn: `gunicorn --config coachbook/operations/gunicorn_conf.py coachbook.wsgi`."""

from typing import Any

from coachbook.logs import WithoutSecrets

bind = "127.0.0.1:8000"
accesslog = "-"


def post_worker_init(worker: Any) -> None:
    """Clean what is logged of each request."""
    worker.log.access_log.addFilter(WithoutSecrets())
