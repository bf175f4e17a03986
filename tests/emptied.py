"""How a test that commits leaves the tables empty: only rows are deleted, and only where there are any.

Django's own way truncates all tables, which on PostgreSQL writes a new file for each of them and each index, and then
makes every content type and permission again. These stay here: they follow from the models and no test changes them.

PostgreSQL must not count the tables meanwhile: where it found one empty, it would plan for none of the thousands of
rows that the next test stores, and a query of milliseconds takes minutes.
"""

from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test import TransactionTestCase

STAYS = {"django_content_type", "auth_permission"}
UNCOUNTED = """
DO $$ DECLARE name text; BEGIN
  FOR name IN SELECT tablename FROM pg_tables WHERE schemaname = current_schema() LOOP
    EXECUTE format('ALTER TABLE %I SET (autovacuum_enabled = false)', name);
  END LOOP;
END $$
"""


def leave_uncounted(connection: BaseDatabaseWrapper) -> None:
    """Keep PostgreSQL's own cleaning from counting the tables of the tests."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(UNCOUNTED)


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
