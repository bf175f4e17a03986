"""The table of the cache, so that `migrate` makes it."""

from django.db import models


class CacheEntry(models.Model):
    """What `coachbook.cache.LastingCache` keeps, in the columns that Django's database cache reads and writes."""

    cache_key = models.CharField(max_length=255, primary_key=True)
    value = models.TextField()
    expires = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return self.cache_key
