"""The cache: rows of the database, each of which stays until its own time is over."""

from datetime import datetime
from typing import Any

from django.core.cache.backends.base import DEFAULT_TIMEOUT
from django.core.cache.backends.db import DatabaseCache
from django.utils import timezone

from coachbook.accounts.models import CacheEntry


class LastingCache(DatabaseCache):
    """Django's database cache, which would also drop entries that still count once it holds 300 of them."""

    def __init__(self, table: str, params: dict[str, Any]) -> None:
        super().__init__(table, {**params, "max_entries": 0})  # so that it asks `_cull` whenever it keeps something

    def _base_set(self, mode: str, key: str, value: Any, timeout: Any = DEFAULT_TIMEOUT) -> bool:
        """Keep a value. Django passes over every error here; that the database takes no writes must be heard."""
        kept: bool = super()._base_set(mode, key, value, timeout)  # type: ignore[misc]  # the stubs lack it
        if not kept and not CacheEntry.objects.filter(cache_key=key).exists():
            CacheEntry(cache_key=key, value="", expires=timezone.now()).save(force_insert=True)
        return kept

    def _cull(self, db: str, cursor: Any, now: datetime, num: int) -> None:
        """Delete what has expired, and nothing else: counts hold addresses, kept no longer than they serve."""
        CacheEntry.objects.using(db).filter(expires__lt=now).delete()
