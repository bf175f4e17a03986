"""Where messages for a person's next page wait: in a cookie under a name that browsers guard."""

from django.conf import settings
from django.contrib.messages.storage.cookie import CookieStorage
from django.contrib.messages.storage.fallback import FallbackStorage
from django.contrib.messages.storage.session import SessionStorage


class MessageCookie(CookieStorage):
    """The cookie; over TLS its name says that no other host may set it (ASVS v5.0.0-3.3.3)."""

    cookie_name = "__Host-messages" if settings.SESSION_COOKIE_SECURE else "messages"


class MessageStorage(FallbackStorage):
    """The cookie, and the session for what is too long for it."""

    storage_classes = (MessageCookie, SessionStorage)
