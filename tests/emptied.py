"""How a test that commits leaves the tables empty: only rows are deleted, and only where there are any.

Django's own way truncates all tables, which on PostgreSQL writes a new file for each of them and each index, and then
makes every content type and permission again. These stay here: they follow from the models and no test changes them.
"""

from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test import TransactionTestCase

STAYS = {"django_content_type", "auth_permission"}


def empty_tables(connection: BaseDatabaseWrapper) -> None:
    """Delete the rows of every table that has some; in one transaction, at whose end the keys are checked."""
    tables = sorted(set(connection.introspection.django_table_names(only_existing=True)) - STAYS)
    quote = connection.ops.quote_name
    looks = [f"SELECT '{table}' WHERE EXISTS (SELECT 1 FROM {quote(table)})" for table in tables]
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(looks))
        for (table,) in cursor.fetchall():
            cursor.execute(f"DELETE FROM {quote(table)}")


def teardown(case: TransactionTestCase) -> None:
    for alias in case._databases_names(include_mirrors=False):
        empty_tables(connections[alias])
