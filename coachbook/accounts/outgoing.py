"""Whether mail goes out at all: without a mail server it is kept in files, which nobody receives."""

from django.conf import settings

KEPT_IN_FILES = "django.core.mail.backends.filebased.EmailBackend"


def has_mail_server() -> bool:
    """Whether a mail reaches anybody."""
    backend: str = settings.EMAIL_BACKEND
    return backend != KEPT_IN_FILES
