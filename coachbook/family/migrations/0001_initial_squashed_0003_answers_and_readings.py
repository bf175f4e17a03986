"""The tables as they are, in one step for a new database: to make each change in turn takes longer."""

import django.db.models.deletion
import django.utils.timezone
import simple_history.models
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True
    replaces = [  # a database that has run them all has run this
        ("family", "0001_initial"),
        ("family", "0002_message_text"),
        ("family", "0003_answers_and_readings"),
    ]

    dependencies = [
        ("accounts", "0001_initial_squashed_0010_goal_event_phone"),
        ("drills", "0001_initial_squashed_0006_aims"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalMessage",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("written_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("text", models.CharField(max_length=2000)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "answers",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="drills.practiceentry",
                        verbose_name="the report from home that it answers",
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.student",
                    ),
                ),
                (
                    "written_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical message",
                "verbose_name_plural": "historical messages",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Message",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("written_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("text", models.CharField(max_length=2000)),
                (
                    "answers",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="drills.practiceentry",
                        verbose_name="the report from home that it answers",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="messages", to="accounts.student"
                    ),
                ),
                (
                    "written_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["student", "-written_at"], name="thread_of_a_student")],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("text", ""), _negated=True), name="message_has_text")
                ],
            },
        ),
        migrations.CreateModel(
            name="ThreadReading",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("last_message", models.BigIntegerField(default=0, verbose_name="the row number of a message")),
                ("last_note", models.BigIntegerField(default=0, verbose_name="the row number of a practice entry")),
                (
                    "reader",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="thread_readings",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="thread_readings",
                        to="accounts.student",
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("reader", "student"), name="one_reading_a_reader")],
            },
        ),
    ]
